// SPDX-License-Identifier: GPL-3.0-or-later
// A rig of the tests' own: streams 100 readings a second to whoever connects to PORT. Its load follows
// what it is told: rig.pull([[to, in_s], ...]) goes from load to load, in newtons, and resolves at the end.
import net from 'node:net';

export async function open_rig(port) {
  let load = 0;
  let way = [];
  let done = () => {};
  const step = () => {
    if (!way.length) return;
    const [to, steps] = way[0];
    load += (to - load) / steps;
    way[0] = [to, steps - 1];
    if (steps > 1) return;
    load = to;
    way.shift();
    if (!way.length) done(performance.now());
  };
  const server = net.createServer((socket) => {
    const stream = setInterval(() => {
      step();
      socket.write(`${(load + 0.3 + 0.04 * Math.sin(37 * performance.now())).toFixed(2)} N\r\n`);
    }, 10);
    socket.on('close', () => clearInterval(stream));
    socket.on('error', () => {});
  });
  await new Promise((listening) => server.listen(Number(port), '127.0.0.1', listening));
  return {
    pull(stages) {
      way = stages.map(([to, in_s]) => [to, Math.max(1, Math.round(in_s * 100))]);
      return new Promise((resolve) => { done = resolve; });
    },
    close: () => server.close(),
  };
}

// SPDX-License-Identifier: GPL-3.0-or-later
// The bench by JSON alone: a rig that streams to RIG_PORT, one pull from plan to book, and all that is refused.
import net from 'node:net';

const PATH = '/api/1/bench';
const JSON_TYPE = { 'Content-Type': 'application/json' };

function open_rig(port) {
  const rig = { load: 0, breaks: 0 };
  rig.server = net.createServer((socket) => {
    const stream = setInterval(() => {
      if (rig.breaks) rig.load += 2;
      if (rig.breaks && rig.load > rig.breaks) rig.load = rig.breaks = 0;
      socket.write(`${(rig.load + 0.3 + 0.04 * Math.sin(37 * performance.now())).toFixed(2)} N\r\n`);
    }, 10);
    socket.on('close', () => clearInterval(stream));
    socket.on('error', () => {});
  });
  return new Promise((done) => rig.server.listen(Number(port), '127.0.0.1', () => done(rig)));
}

// The first event of each name.
async function hear(site, names) {
  const stop = new AbortController();
  const reply = await fetch(`${site}${PATH}/news`, { signal: stop.signal });
  const events = {};
  let text = '';
  for await (const chunk of reply.body) {
    text += Buffer.from(chunk).toString();
    for (const [, name, data] of text.matchAll(/event: (\w+)\ndata: (.*)\n\n/g)) events[name] ??= JSON.parse(data);
    if (names.every((name) => events[name])) break;
  }
  stop.abort();
  return { events, reply };
}

export async function bench_walk({ site, rig_port, away, judge, faults_against, schemas }) {
  const found = [];
  const rig = await open_rig(rig_port);
  const look = async () => (await (await fetch(site + PATH)).json()).bench;
  const send = (body, headers = JSON_TYPE) => fetch(site + PATH, { method: 'POST', headers, body: typeof body === 'string' ? body : JSON.stringify(body) });
  const post = async (body, want, headers) => judge('post', PATH, await send(body, headers), want);
  const see = async () => judge('get', PATH, await fetch(site + PATH), 200);
  const until = async (done) => {
    for (let view = await look(); ; view = await look()) {
      if (done(view)) return view;
      await new Promise((next) => setTimeout(next, 20));
    }
  };
  const at = (view, step) => (view.at === step ? [] : [`at ${view.at}, not ${step}`]);

  let view = await look();
  const first = view.waiting[0];
  found.push(['the bench waits for a specimen', [...(await see()), ...at(view, 'choose'), ...(view.waiting.length ? [] : ['none waits'])]]);

  const wrong = [
    ['{"do":"choose"', 400], ['[]', 400], ['"choose"', 400], ['', 400], ['{"do":"choose","do":"guard","step":0}', 400], [{ step: view.step }, 400], [{ do: 'dance', step: view.step }, 400],
    [{ do: 'guard' }, 400], [{ do: 'guard', step: '0' }, 400], [{ do: 'guard', step: -1 }, 400], [{ do: 'guard', step: 1.5 }, 400],
    [{ do: 'choose', step: view.step, specimen: 7 }, 400], [{ do: 'choose', step: view.step, specimen: null }, 400],
    [{ do: 'choose', step: view.step, specimen: 'a\nb' }, 400], [{ do: 'choose', step: view.step, specimen: first, weight: '1' }, 400],
    [{ do: 'guard', step: view.step }, 409], [{ do: 'choose', step: view.step + 9, specimen: first }, 409], ['x'.repeat(70000), 413],
  ];
  const refused = [];
  for (const [body, status] of wrong) refused.push(...(await post(body, status)));
  refused.push(...(await post('do=guard', 415, { 'Content-Type': 'application/x-www-form-urlencoded' })), ...(await post('{}', 415, { 'Content-Type': 'text/plain' })));
  refused.push(...(await post('{}', 403, { ...JSON_TYPE, Origin: 'http://elsewhere.example' })), ...(await post('{}', 403, { ...JSON_TYPE, ...away })));
  refused.push(...(await judge('post', PATH, await fetch(`${site}${PATH}?unit=ft`, { method: 'POST', headers: JSON_TYPE, body: '{}' }), 404)));
  if ((await look()).step !== view.step) refused.push('something was done');
  found.push(['what is wrong is refused, and nothing is done', refused]);

  const taken = [];
  for (const form of schemas.bench_does.oneOf)
    for (const name of Object.keys(form.properties).filter((one) => one !== 'do' && one !== 'step'))
      for (const what of form.properties.do.enum ?? [form.properties.do.const])
        if (what !== 'again') taken.push(...(await post({ do: what, step: view.step + 9, [name]: 'x' }, 409)).map((fault) => `${name}: ${fault}`));
  found.push(['every field that is described is taken', taken]);

  const steps = [...(await post({ do: 'choose', step: view.step, specimen: first }, 200))];
  view = await look();
  steps.push(...at(view, 'guard'), ...(await see()), ...(await post({ do: 'leave', step: view.step }, 200)));
  view = await look();
  steps.push(...at(view, 'choose'), ...(await post({ do: 'choose', step: view.step, specimen: first }, 200)));
  view = await look();
  steps.push(...(await post({ do: 'guard', step: view.step }, 200)));
  view = await until((one) => one.phase === 'ready');
  steps.push(...at(view, 'pull'), ...(await see()));
  const { events, reply } = await hear(site, ['step', 'load']);
  steps.push(...(await judge('get', `${PATH}/news`, new Response('', { status: reply.status, headers: reply.headers }), 200)));
  for (const name of ['step', 'load']) steps.push(...faults_against(`#/components/schemas/news_${name}`, events[name]));
  rig.breaks = 57;
  view = await until((one) => one.at === 'answer');
  steps.push(...(await see()));
  if (view.suggestion?.what !== 'broke' || !(Math.abs(view.suggestion.load_N - 57) < 4)) steps.push(`suggested: ${JSON.stringify(view.suggestion)}`);
  if (!view.points.length) steps.push('no points of the pull');
  steps.push(...(await post({ do: 'answer', step: view.step, what: 'exploded' }, 400)), ...(await post({ do: 'answer', step: view.step, what: 'broke', where: 'in the knot', note: 'by \u00e9vening' }, 200)));
  view = await look();
  if (view.last !== first || view.waiting.includes(first)) steps.push(`${first} is not kept, or still waits`);
  steps.push(...(await post({ do: 'again', what: 'slipped out', where: 'in the knot' }, 200)));
  const { rows } = await (await fetch(`${site}/api/1/record?of=pulls`)).json();
  const kept = rows.find((row) => row.specimen === first);
  if (kept?.what !== 'slipped out' || kept.corrections !== 1 || !kept.trace) steps.push(`kept: ${JSON.stringify(kept)}`);
  found.push(['a pull goes from plan to book', steps]);

  view = await look();
  const stopped = [...(await post({ do: 'choose', step: view.step, specimen: view.waiting[0] }, 200)), ...(await post({ do: 'guard', step: view.step + 1 }, 200))];
  view = await until((one) => one.phase === 'ready');
  rig.load = 29; // held there
  view = await until((one) => one.peak_N > 25);
  stopped.push(...(await post({ do: 'stop', step: view.step }, 200)));
  found.push(['a pull can be stopped', [...stopped, ...at(await look(), 'answer'), ...(await see())]]);
  rig.server.close();
  return found;
}

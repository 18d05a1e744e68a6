// SPDX-License-Identifier: GPL-3.0-or-later
// A page with a view in space and a pad, in the place of one of the site: with the site's own head, scripts,
// sheet and headers, and lines that are worked out here.
export const REEF = `tie reef
also square knot
kind bend
line A
  -9,-2.5 -3,-1 o -1,1 u 1,-1 o 3,1
  3.6,2.5 3,4 o 1,6 u -1,4 o -3,6 -9,7.5
line B thick 0.7
  9,-2.5 3,-1 u 1,1 o -1,-1 u -3,1 -3.6,2.5 -3,4 u -1,6 o 1,4 u 3,6 9,7.5
pulled A first, B first
`;

const steps = (from, to, count, point) =>
  Array.from({ length: count + 1 }, (_, i) => point(from + ((to - from) * i) / count));

// A wraps three times round B, and a ring hangs beside.
const lines = [
  { name: 'A', tone: 'nylon', diameter: 1, closed: false, hardware: false, loaded: [true, false],
    points: [
      ...steps(-24, -3, 60, (x) => [x, 1.1, 0]),
      ...steps(0, 6 * Math.PI, 200, (t) => [-3 + (6 * t) / (6 * Math.PI), 1.1 * Math.cos(t), 1.1 * Math.sin(t)]).slice(1),
      ...steps(3, 5, 6, (x) => [x, 1.1, 0]).slice(1),
    ] },
  { name: 'B', tone: 'braid', diameter: 0.8, closed: false, hardware: false, loaded: [false, true],
    points: steps(-5, 24, 90, (x) => [x, 0, 0]) },
  { name: 'R', tone: 'muted', diameter: 0.6, closed: true, hardware: true,
    points: steps(0, 2 * Math.PI, 40, (t) => [2 * Math.cos(t), 2.6 + 2 * Math.sin(t), 0.6]).slice(1) },
  { name: 'C', tone: 'fluorocarbon', diameter: 0.8, closed: false, hardware: false, loaded: [false, false],
    points: steps(-6, 6, 40, (x) => [x, -2.3, Math.sin(x)]) },
];
const view = { right: [1, 0, 0], up: [0, 1, 0], eye: [0, 0, 1] };

const main = (tie) => `<main id="main" tabindex="-1"><h1>Wrapped three times</h1><p>A and B cross six times.</p>
<figure class="space" data-tie="/trial-lines" data-name="The wrapped tie"><div class="still"><svg class="figure" role="img"
aria-label="The tie, still" viewBox="0 0 40 30" width="640" height="480"><path class="stroke-nylon" fill="none" stroke-width="2"
d="M2 15C12 2 20 28 38 12"/></svg></div></figure><h2>Draw it</h2><form method="post">
<div class="pad" data-text="tie" data-name="weaver" data-kind="bend"></div>
<div class="written"><label for="tie">The tie as text</label><textarea id="tie" name="tie" rows="12" spellcheck="false">${tie}</textarea></div>
<button name="do" value="look">Look</button> <button type="submit" name="do" value="keep">Keep</button></form></main>`;

// Serves it at /trial, with `tie` in the text area.
export async function offer(page, site, tie = '') {
  await page.route('**/trial-lines', (route) => route.fulfill({ json: { lines, view } }));
  await page.route('**/trial', async (route) => {
    let reply = await route.fetch({ url: `${site}/knots` });
    while (reply.status() === 202) reply = await route.fetch({ url: `${site}/knots` });
    const body = (await reply.text())
      .replace(/<main[\s\S]*<\/main>/, () => main(tie))
      .replace('</head>', '<script src="/knots.js" defer></script></head>');
    await route.fulfill({ response: reply, body });
  });
  await page.goto(`${site}/trial`);
}

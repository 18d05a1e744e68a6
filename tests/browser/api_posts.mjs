// SPDX-License-Identifier: GPL-3.0-or-later
// What the pages take from their forms, sent by JSON: all that is refused, and each done once, to the demonstration.
// What listens to an instrument listens on RIG_PORT too.
import net from 'node:net';

const JSON_TYPE = { 'Content-Type': 'application/json' };
const BENCH = '/api/1/bench';

export async function posts_walk({ demo, rig_port, away, judge, description, resolve }) {
  const found = [];
  const paths = Object.keys(description.paths).filter((path) => description.paths[path].post && path !== BENCH);
  const examples = { '/api/1/line': '?at=0', '/api/1/pull/{id}': '' };
  const address_of = (path) => path.replace('{id}', '1') + (examples[path] ?? '');
  const send = (address, body, headers = JSON_TYPE) =>
    fetch(demo + address, { method: 'POST', headers, body: typeof body === 'string' ? body : JSON.stringify(body) });
  const post = async (address, body, want, headers) => judge('post', address, await send(address, body, headers), want);
  const read = async (address) => (await fetch(demo + address)).json();
  const see = async (address) => judge('get', address, await fetch(demo + address), 200);
  const forms_of = (path) => {
    const schema = resolve(description.paths[path].post.requestBody.content['application/json'].schema);
    return schema.oneOf ?? [schema];
  };

  for (const path of paths) {
    const address = address_of(path);
    const before = await read('/api/1/record');
    const faults = [];
    for (const [body, status] of [['{"', 400], ['[]', 400], ['', 400], [{ colour: 'green' }, 400], [{ name: 7 }, 400], ['x'.repeat(70000), 413]])
      faults.push(...(await post(address, body, status)));
    const other = await (await send(address, { colour: 'green' })).json();
    if (!other.error.what.includes('"colour"')) faults.push(`${path} does not name what it does not take: ${other.error.what}`);
    faults.push(...(await post(address, 'name=x', 415, { 'Content-Type': 'application/x-www-form-urlencoded' })));
    faults.push(...(await post(address, '{}', 403, { ...JSON_TYPE, ...away })), ...(await post(address, '{}', 403, { ...JSON_TYPE, Origin: 'http://elsewhere.example' })));
    faults.push(...(await post(`${address}${address.includes('?') ? '&' : '?'}unit=ft`, '{}', 404)));
    for (const form of forms_of(path))
      for (const name of Object.keys(form.properties)) {
        const reply = await send(address, { [name]: name === 'do' ? '~' : '' });
        const { error } = await reply.clone().json();
        if (!error || error.what.includes('is nothing it takes')) faults.push(`${path} with ${name} alone: ${error?.what}`);
        faults.push(...(await judge('post', address, reply)));
      }
    if (JSON.stringify(await read('/api/1/record')) !== JSON.stringify(before)) faults.push('something was done');
    found.push([`what is wrong is refused by ${path}`, faults]);
  }

  const line = [...(await post('/api/1/line', { 'on-hand': '3' }, 404)), ...(await post('/api/1/line?at=0', { 'on-hand': 'much' }, 400))];
  line.push(...(await post('/api/1/line?at=0', { 'on-hand': '41.5', counted: '2026-04-19' }, 200)));
  const [spool] = (await read('/api/1/record?of=lines&count=1')).rows;
  if (spool.counted_m !== 41.5 || spool.counted !== '2026-04-19') line.push(JSON.stringify(spool));
  found.push(['line is counted', line]);

  const pull = async () => (await read('/api/1/record?of=pulls&count=1')).rows[0];
  const first = await pull();
  const answer = await read(`/api/1/pull/${first.id}`);
  const result = { corrects: answer.facts.corrects, correction: 'the pen slipped', load: '71.3 N', what: 'slipped out', where: 'at its entry', 'judged by': 'AB', note: 'by \u00e9vening' };
  const corrected = [...(await post('/api/1/pull/99999', result, 404)), ...(await post('/api/1/pull/1', { ...result, load: 'much' }, 400))];
  corrected.push(...(await post('/api/1/pull/1', result, 200)), ...(await post('/api/1/pull/1', { ...result, load: '70 N' }, 409)), ...(await see('/api/1/pull/1')));
  const now = await pull();
  if (answer.facts.corrects !== String(first.result_id)) corrected.push(`corrects ${answer.facts.corrects}, not ${first.result_id}`);
  if (now.corrections !== 1 || now.judged_by !== 'AB' || now.note !== result.note || !(Math.abs(now.load_N - 71.3) < 1e-9)) corrected.push(JSON.stringify(now));
  found.push(['a pull is corrected, and not over a newer result', corrected]);

  const weight = { bench: 'bench one', date: '2026-03-30T18:07', weight: '5 kg', reading: '49.4 N', session: 'late', note: 'after the move' };
  const rig = [...(await post('/api/1/rig', { ...weight, weight: 'heavy' }, 400)), ...(await post('/api/1/rig', weight, 200)), ...(await post('/api/1/rig', weight, 400))];
  const { rows: weights } = await read('/api/1/record?of=check_weights');
  const logged = weights.find((row) => row.date === weight.date);
  if (logged?.note !== weight.note || logged.reading !== 49.4 || logged.bench !== 0) rig.push(JSON.stringify(logged));
  found.push(['a check weight is logged once', rig]);

  const asks = { name: 'leader two', knots: 'grinner; half blood', on: 'N12-1 + ring', specimens: '3', 'metres-each': '1.5', question: 'which is the stronger?' };
  const proposal = await read(`/api/1/plan?${new URLSearchParams(asks)}`);
  const plan = [...(await post('/api/1/plan', { ...asks, shown: 'before' }, 409)), ...(await post('/api/1/plan', { ...asks, shown: proposal.facts.shown }, 200))];
  const { rows: trials } = await read('/api/1/record?of=trials');
  const fixed = trials.find((row) => row.name === asks.name);
  if (fixed?.planned.length !== Number(proposal.facts.specimens)) plan.push(`${fixed?.planned.length} of ${proposal.facts.specimens} specimens`);
  plan.push(...(await see(`/api/1/plan?trial=${fixed?.row}`)), ...(await see(`/api/1/labels?trial=${fixed?.row}`)));
  found.push(['a trial is fixed as it was proposed', plan]);

  const run = '-12,0 -6,0 ou 4,0 6,3 o 2,6 0,3\n  u -1,-3 2,-4 3,-1 o 3,2 u 3,9';
  const tie = { do: 'keep', knot: 'thumb knot', version: '', turns: '', tie: `tie thumb, or "wind" knot\nline A\n  ${run}\n` };
  const ties = [...(await post('/api/1/tie', { ...tie, tie: 'clynch' }, 404)), ...(await post('/api/1/tie', { ...tie, tie: 'gauss 1 2' }, 400))];
  ties.push(...(await post('/api/1/tie', tie, 200)), ...(await post('/api/1/tie', { ...tie, tie: 'overhand' }, 400)));
  const { rows: knots } = await read('/api/1/record?of=knots');
  const kept = knots.find((row) => row.name === tie.knot);
  if (kept?.tie !== tie.tie) ties.push(JSON.stringify(kept));
  found.push(['a tie is kept, and not over another', ties]);

  const listen = '/api/1/rig/listen';
  const heard = async (body) => {
    const faults = await post(listen, { do: 'listen', ...body }, 200);
    for (;;) {
      const reply = await fetch(demo + listen);
      const { sentences } = await reply.clone().json();
      faults.push(...(await judge('get', listen, reply, 200)));
      if (!sentences[0].startsWith('Listening')) return faults;
      await new Promise((next) => setTimeout(next, 50));
    }
  };
  const save = { do: 'save', way: '0', name: 'by the window' };
  const seeking = [...(await post(listen, save, 409)), ...(await post(listen, { do: 'listen', source: 'string' }, 409))];
  const noise = net.createServer((socket) => {
    const hum = setInterval(() => socket.write('lorem ipsum\r\n'), 10);
    socket.on('close', () => clearInterval(hum));
    socket.on('error', () => {});
  });
  await new Promise((done) => noise.listen(Number(rig_port), '127.0.0.1', done));
  seeking.push(...(await heard({ source: 'tcp', settings: `address=127.0.0.1 port=${rig_port}` })));
  noise.close();
  seeking.push(...(await heard({ source: 'simulated', settings: 'seed=7 speed=0' })), ...(await post(listen, save, 200)));
  const { rows: rigs } = (await read(listen)).tables.find((table) => table.name === 'rigs');
  if (rigs[0]?.name !== save.name || rigs[0].source !== 'simulated') seeking.push(JSON.stringify(rigs));
  found.push(['an instrument is listened to, and saved as a rig', seeking]);
  return found;
}

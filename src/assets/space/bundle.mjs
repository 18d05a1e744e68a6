// SPDX-License-Identifier: GPL-3.0-or-later
// bundle.mjs PACKAGES SCRIPT OUT: one file of the script and what it takes from the packages of npm in that
// folder, with the licence that goes with them. Runs at build time.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const [packages, script, outfile] = process.argv.slice(2);
const { buildSync } = createRequire(`${packages}/package.json`)('esbuild');
const licence = readFileSync(`${packages}/node_modules/three/LICENSE`, 'utf8').trim();
buildSync({
  entryPoints: [script],
  outfile,
  bundle: true,
  minify: true,
  format: 'esm',
  nodePaths: [`${packages}/node_modules`],
  banner: { js: `/*! GPL-3.0-or-later, with three.js, whose licence is:\n\n${licence} */` },
  legalComments: 'none',
  logLevel: 'warning',
});

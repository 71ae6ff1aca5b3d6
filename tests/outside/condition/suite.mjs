// Cases of an open conformance suite of the language, where they lie beside the project (../shared/suites/feel or
// $KITGAP_FEEL_SUITE); without them it says so and passes. Numbers agree within 1e-8, durations by their length.
import { execFileSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const tree = join(dirname(fileURLToPath(import.meta.url)), '../../..');
const suite = process.env.KITGAP_FEEL_SUITE ?? join(tree, '../shared/suites/feel');
const kitgap = process.env.KITGAP ?? join(tree, '.build/bin/kitgap');
if (!existsSync(join(suite, 'expressions.json'))) {
  console.log('skipped: the conformance suite of the condition language is not here');
  process.exit(0);
}
const read = (file) => JSON.parse(readFileSync(join(suite, file), 'utf8'));
const lines = (...words) => execFileSync(kitgap, words, { maxBuffer: 1 << 28 }).toString().trimEnd().split('\n').map((line) => JSON.parse(line));
const isNothing = (text) => /^-?P(0[YMD])*(T(0[HMS])*)?$/.test(text);
const short = (text) => text.replace(/(?<=P|Y)0M$/, '').replace(/^(-?P)(\d+Y)$/, '$1$2');
const same = (a, b) => {
  if (typeof a === 'number' && typeof b === 'number') return Math.abs(a - b) <= 1e-8 * Math.max(1, Math.abs(a));
  if (a === null || b === null || typeof a !== 'object' || typeof b !== 'object') return a === b;
  if (Array.isArray(a)) return Array.isArray(b) && a.length === b.length && a.every((item, at) => same(item, b[at]));
  if (typeof a.duration === 'string' && typeof b.duration === 'string') {
    return short(a.duration) === short(b.duration) || (isNothing(a.duration) && isNothing(b.duration));
  }
  const keys = Object.keys(a);
  return keys.length === Object.keys(b).length && keys.every((key) => key in b && same(a[key], b[key]));
};
let failed = 0;
const check = (name, is) => {
  if (!is) ++failed;
  console.log(`${is ? 'ok' : 'not ok'} ${name}`);
};
const expressions = read('expressions.json');
lines('eval', '--batch', join(suite, 'expressions.json')).forEach((line, at) => check(`${expressions[at].tag} ${expressions[at].id}`, same(expressions[at].expected, line.value)));
const unary = read('unary.json');
lines('eval', '--tests', join(suite, 'unary.json')).forEach((line, at) => check(`unary ${unary[at].id}`, unary[at].expected === line.match));
const decided = lines('rules', 'try', '--tables', join(suite, 'tables.json'));
for (const table of read('tables.json')) {
  for (const one of table.cases) {
    const line = decided.shift();
    check(`table ${table.id} ${one.case}`, line.id === table.id && same(one.expected, line.value));
  }
}
process.exitCode = failed === 0 ? 0 : 1;

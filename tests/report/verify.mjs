// Every report of the golden cases and the demonstration is proven by `verify`, and none that a hand changed in any
// figure. Run from the top of the tree with KITGAP set; prints `ok NAME` or `not ok NAME`.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, writeFileSync, existsSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const kitgap = process.env.KITGAP ?? '.build/bin/kitgap';
const folder = mkdtempSync(join(tmpdir(), 'kitgap-verify-'));
const file = join(folder, 'report.json');

function say(isRight, name, why) {
  console.log(`${isRight ? 'ok' : 'not ok'} ${name}${isRight ? '' : `\n${why}`}`);
}

function report(words) {
  const run = spawnSync(kitgap, [...words, '--format', 'json'], { encoding: 'utf8', maxBuffer: 1 << 28 });
  return run.stdout.startsWith('{') && run.stdout.includes('"check/1"') ? run.stdout : null;
}

function rulesOf(words) {
  return words.flatMap((word, at) => (word === '--rules' ? ['--rules', words[at + 1]] : []));
}

function verify(text, rules) {
  writeFileSync(file, text);
  return spawnSync(kitgap, ['verify', file, ...rules], { encoding: 'utf8' });
}

// The first command of a case as words, without what changes the face.
function wordsOf(command) {
  const words = (command.split(/[;|>]/)[0].match(/'[^']*'|"[^"]*"|\S+/g) ?? []).map((word) => word.replace(/^(['"])(.*)\1$/, '$2'));
  const kept = [];
  for (let at = 0; at < words.length; ++at) {
    if (['--format', '--only', '--against'].includes(words[at])) ++at;
    else if (words[at] !== '--reading' && words[at] !== 'kitgap') kept.push(words[at]);
  }
  return kept;
}

const demo = 'data/demo/home';
const scenes = [
  ['demo home', ['check', `${demo}/car.json`, `${demo}/list.csv`, '--stock', `${demo}/stock.csv`, '--order', `${demo}/order.csv`, '--found', `${demo}/found.csv`, '--rules', 'rules/demo']],
  ['demo without a list', ['check', `${demo}/car.json`, '--rules', 'rules/demo']],
];
for (const car of readdirSync('data/demo/shop').filter((name) => name.endsWith('.json'))) {
  const list = `data/demo/shop/${car.replace('.json', '-list.csv')}`;
  scenes.push([`demo ${car}`, ['check', `data/demo/shop/${car}`, list, '--stock', 'data/demo/shop/stock.csv', '--rules', 'rules/demo']]);
}
for (const name of readdirSync('tests/golden/check')) {
  const command = join('tests/golden/check', name, 'command');
  if (!existsSync(command)) continue;
  const words = wordsOf(readFileSync(command, 'utf8'));
  if (words[0] === 'check') scenes.push([`case ${name}`, words]);
}

let proven = 0;
for (const [name, words] of scenes) {
  const text = report(words);
  if (text === null) continue;  // a case of refused input
  const run = verify(text, rulesOf(words));
  say(run.status === 0, `verify ${name}`, run.stdout + run.stderr);
  ++proven;
}
say(proven > 40, 'verify finds reports to prove', `only ${proven}`);

// Seeded: a figure of the report made greater or smaller, wherever it stands.
let seed = 20261125;
const random = (below) => (seed = (seed * 1103515245 + 12345) % 2147483648) % below;
const [, words] = scenes[0];
const text = report(words);
const figures = [...text.matchAll(/(?<=[:[,]\s)-?\d+(\.\d+)?(?=[,\n\]}])/g)];
const unnoticed = [];
for (let trial = 0; trial < 60; ++trial) {
  const figure = figures[random(figures.length)];
  const changed = String(Number(figure[0]) + (random(2) === 0 && Number(figure[0]) > 0 ? -1 : 1));
  const run = verify(text.slice(0, figure.index) + changed + text.slice(figure.index + figure[0].length), rulesOf(words));
  if (run.status !== 1) unnoticed.push(`${text.slice(figure.index - 60, figure.index + 20)} -> ${changed}: exit ${run.status}`);
}
say(unnoticed.length === 0, 'verify notices each of 60 figures changed by hand (seed 20261125)', unnoticed.join('\n'));

// Without its seals a changed figure is found by the proof itself.
const bare = JSON.parse(text);
const strip = (value) => (Array.isArray(value) ? value.map(strip) : value && typeof value === 'object' ? Object.fromEntries(Object.entries(value).filter(([key]) => key !== 'seal').map(([key, of]) => [key, strip(of)])) : value);
const known = strip(bare).lines.filter((line) => line.rivals && line.basis === 'table');
const named = (line, says) => {
  const copy = strip(bare);
  Object.assign(copy.lines.find((of) => of.id === line.id), says);
  const run = verify(JSON.stringify(copy), rulesOf(words));
  return run.stdout.split('\n').some((row, at, rows) => row === line.id && rows.slice(at + 1, at + 3).join(' ').includes('does not follow'));
};
for (const line of known.slice(0, 3)) {
  const need = { ...line.need, lo: line.need.lo + 1, hi: line.need.hi + 1 };
  say(named(line, { need, gap: { lo: line.gap.lo + 1, hi: line.gap.hi + 1 } }), `verify derives the need of ${line.id}`, 'not named');
  say(named(line, { gap: { lo: line.gap.lo - 0.5, hi: line.gap.hi } }), `verify derives the gap of ${line.id}`, 'not named');
}
rmSync(folder, { recursive: true });

// The whole process of `check` on the demonstration against `sqlite3 :memory: 'select 1'` in the same run, and a pack of
// 100,000 need rows. Prints ratios and figures; asserts nothing of time.
// usage: node tests/bench/check/check.mjs [PROGRAM]
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { timed } from '../timed.mjs';

const program = process.argv[2] ?? process.env.KITGAP ?? '.build/bin/kitgap';

function seconds(command, args) {
  const run = timed([command, ...args], 41, { most: 1 });
  if (Number.isNaN(run.seconds)) throw new Error(`${command} failed`);
  return run.seconds;
}

const demo = 'data/demo/home';
const whole = ['check', `${demo}/car.json`, `${demo}/list.csv`, '--rules', 'rules/demo', '--stock', `${demo}/stock.csv`, '--order', `${demo}/order.csv`, '--found', `${demo}/found.csv`];
const known = ['check', 'data/demo/shop/blue-saloon.json', 'data/demo/shop/blue-saloon-list.csv', '--rules', 'rules/demo'];
const peer = seconds('sqlite3', [':memory:', 'select 1']);
for (const [name, args] of [['home car, 6 facts unknown', whole], ['blue saloon, all facts known', known]]) {
  const time = seconds(program, args);
  console.log(`${name}: ${(time * 1000).toFixed(1)} ms, ${(time / peer).toFixed(1)} times sqlite3 (${(peer * 1000).toFixed(1)} ms)`);
}

// 2,000 parts at 50 places, conditions on three facts; a linear congruential generator with a fixed seed.
const folder = mkdtempSync(path.join(tmpdir(), 'kitgap-bench-'));
let state = 12345;
const next = (bound) => (state = (state * 1103515245 + 12345) % 2147483648) % bound;
const positions = Object.fromEntries(Array.from({ length: 50 }, (_, index) => [`p${index}`, {}]));
writeFileSync(path.join(folder, 'datapackage.json'), JSON.stringify({
  name: 'big', version: '1',
  kitgap: { format: 1, positions, facts: [{ name: 'model year', type: 'number', range: '[1966..1974]' }, { name: 'body', type: 'text', allowed: ['a', 'b', 'c', 'd'] }, { name: 'serial', type: 'number', range: '[1..60000]' }] },
  resources: [{ path: 'parts.csv', kitgap: { kind: 'parts' } }, { path: 'needs.csv', kitgap: { kind: 'needs' } }],
}));
writeFileSync(path.join(folder, 'parts.csv'), 'part\n' + Array.from({ length: 2000 }, (_, index) => `part-${index}\n`).join(''));
const years = ['[1966..1969]', '>= 1970', '-', '1971', '[1970..1974]'];
const bodies = ['a', 'b', '-', '"a, c"'];
const serials = ['-', '>= 30500', '[1..30499]'];
let rows = 'parent,at,part,model year,body,serial,quantity,source\n';
for (let part = 0; part < 2000; ++part) {
  for (let place = 0; place < 50; ++place) rows += `car,p${place},part-${part},${years[next(5)]},${bodies[next(4)]},${serials[next(3)]},${1 + next(9)},generated\n`;
}
writeFileSync(path.join(folder, 'needs.csv'), rows);
// All of its facts known, and one not: then most lines are to settle.
for (const serial of [30600, null]) {
  writeFileSync(path.join(folder, 'car.json'), JSON.stringify({ name: 'x', facts: { 'model year': 1971, body: 'a', serial } }));
  // Each run reads the text, for its cache is empty; the median of three, as the first one may find memory that the
  // machine beneath has to bring.
  const runs = [1, 2, 3].map((run) => {
    const cache = path.join(folder, `cache-${serial}-${run}`);
    const measured = spawnSync('/usr/bin/time', ['-f', '%U %S %M', program, 'check', path.join(folder, 'car.json'), '--rules', folder, '--format', 'csv'], { encoding: 'utf8', maxBuffer: 1 << 30, env: { ...process.env, XDG_CACHE_HOME: cache } });
    rmSync(cache, { recursive: true, force: true });
    const [user, system, peak] = measured.stderr.trim().split('\n').at(-1).split(' ').map(Number);
    return { cpu: user + system, peak, lines: measured.stdout.split('\n').length - 2 };
  });
  const { cpu, peak, lines } = runs.sort((a, b) => a.cpu - b.cpu)[1];
  console.log(`100,000 need rows, ${serial === null ? 'a fact unknown' : 'all facts known'}: ${cpu.toFixed(2)} s of CPU, peak ${(peak / 1024).toFixed(0)} MB with the report of ${lines} lines`);
}

// What a row takes beyond its text: packs of rows that no line of the car comes of, one twice as long as the other.
function loaded(count) {
  let table = 'parent,at,part,model year,body,serial,quantity,source\n';
  for (let row = 0; row < count; ++row) table += `car,p${row % 50},part-${(row / 50 | 0) % 2000},${years[next(5)]},${['a', '"a, c"'][next(2)]},${serials[next(3)]},${1 + next(9)},generated\n`;
  writeFileSync(path.join(folder, 'needs.csv'), table);
  writeFileSync(path.join(folder, 'car.json'), JSON.stringify({ name: 'x', facts: { 'model year': 1971, body: 'd', serial: 30600 } }));
  // Read from its text, and then as it is kept: in a cache of its own, for an earlier run of the bench kept the same rows.
  return [1, 2].map(() => {
    const run = spawnSync('/usr/bin/time', ['-f', '%M', program, 'check', path.join(folder, 'car.json'), '--rules', folder, '--format', 'csv'], { encoding: 'utf8', env: { ...process.env, XDG_CACHE_HOME: path.join(folder, 'cache') } });
    return Number(run.stderr.trim().split('\n').at(-1)) * 1024 - table.length;
  });
}
const [fewer, more] = [loaded(100_000), loaded(300_000)];
const [read, kept] = [0, 1].map((which) => ((more[which] - fewer[which]) / 200_000).toFixed(0));
console.log(`a need row takes ${read} bytes beyond its text when it is read, ${kept} when it comes from the cache (must: under 200)`);
rmSync(folder, { recursive: true });

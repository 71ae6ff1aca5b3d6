// 100,000 unary tests as the cells of a pack hold them: read and worked out by the whole of `kitgap eval --tests`
// (start, reading the file and writing the answers with it) and by the npm package feelin in a warm loop, which is given
// 10,000 of them, spread evenly, and its time counted ten times: all would take it minutes.
// Prints both times and the ratio. Wants feelin in tests/outside/node_modules; the program is $KITGAP.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, writeFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const here = dirname(fileURLToPath(import.meta.url));
const { unaryTest } = createRequire(join(here, '../../outside/package.json'))('feelin');
const kitgap = process.env.KITGAP ?? '.build/bin/kitgap';
const cases = [];
for (let id = 0; id < 100_000; ++id) {
  const year = 1960 + (id * 7) % 20;
  const serial = 30_000 + (id * 31) % 9_000;
  const tests = [`[${year}..${year + 3}]`, `>= ${serial}`, `${year}, ${year + 2}`, `"estate", "saloon"`, `not("drophead")`, `(${serial}..${serial + 500}]`, '-'];
  const test = tests[id % tests.length];
  cases.push({ id, test, input: test.includes('"') ? ['estate', 'van'][id % 2] : id % 2 ? year + 1 : serial + 7, context: {} });
}
const folder = mkdtempSync(join(tmpdir(), 'kitgap-bench-'));
const file = join(folder, 'cases.json');
writeFileSync(file, JSON.stringify(cases));

const seconds = (work) => {
  const start = process.hrtime.bigint();
  const result = work();
  return [Number(process.hrtime.bigint() - start) / 1e9, result];
};
const [ours, text] = seconds(() => execFileSync(kitgap, ['eval', '--tests', file], { maxBuffer: 1 << 28 }).toString());
const kEach = 10;
const some = cases.filter((_, at) => Math.floor(at / 7) % kEach === 0);  // all seven kinds of test alike
for (const one of some.slice(0, 500)) unaryTest(one.test, { '?': one.input });
const [sampled, answers] = seconds(() => some.map((one) => unaryTest(one.test, { '?': one.input })));
const theirs = (sampled * cases.length) / some.length;
rmSync(folder, { recursive: true });

const plain = (answer) => (answer !== null && typeof answer === 'object' && 'value' in answer ? answer.value : answer) ?? false;
const lines = text.trimEnd().split('\n');
const same = some.every((one, at) => JSON.parse(lines[one.id]).match === plain(answers[at]));
console.log(`kitgap ${ours.toFixed(2)} s, feelin ${theirs.toFixed(2)} s: ${(theirs / ours).toFixed(1)} times as fast`);
console.log(same ? 'ok the answers are the same' : 'not ok the answers differ');
const enough = theirs >= 20 * ours;
console.log(enough ? 'ok at least 20 times as fast' : 'not ok less than 20 times as fast');
process.exit(same && enough ? 0 : 1);

// kill -9 at random moments while a report is written over another: the file is the old one or the new one, whole, never
// half, mixed or empty. 200 trials, 2,000 with KITGAP_TIER=full (seeded). Prints `ok NAME` or `not ok NAME`.
import { spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';

const kitgap = resolve(process.env.KITGAP ?? '.build/bin/kitgap');
const trials = (process.env.KITGAP_TIER === 'full' ? 2000 : 200) / 4;
const folder = mkdtempSync(join(tmpdir(), 'kitgap-killed-'));
const say = (isRight, name, why = '') => console.log(`${isRight ? 'ok' : 'not ok'} ${name}${isRight ? '' : `\n${why}`}`);
let seed = 20261126;
const random = () => (seed = (seed * 1103515245 + 12345) % 2147483648) / 2147483648;
const demo = 'data/demo/home';
const car = ['check', `${demo}/car.json`, `${demo}/list.csv`, '--rules', 'rules/demo'];
const wait = (milliseconds) => new Promise((done) => setTimeout(done, milliseconds));

for (const format of ['csv', 'json', 'html', 'xlsx']) {
  const path = join(folder, `report.${format}`);
  spawnSync(kitgap, [...car, '--out', path]);
  const whole = readFileSync(path);
  const old = Buffer.from('the old file\n'.repeat(1000));
  const started = process.hrtime.bigint();
  spawnSync(kitgap, [...car, '--out', path]);
  const length = Number(process.hrtime.bigint() - started) / 1e6;
  const ends = { old: 0, new: 0 };
  const torn = [];
  for (let trial = 0; trial < trials; ++trial) {
    writeFileSync(path, old);
    const child = spawn(kitgap, [...car, '--out', path], { stdio: 'ignore' });
    const ended = new Promise((done) => child.on('exit', done));
    // The file is written at the end of the run, so three in four kills come there.
    const moment = length * (trial % 4 ? 0.7 + 0.5 * random() : random());
    // Close to the moment the writing begins: when the file beside it comes up.
    if (trial % 4 === 3) {
      for (let waited = 0; waited < 2000 && !readdirSync(folder).some((name) => name.includes('.part-')) && child.exitCode === null; ++waited) await wait(0);
    } else {
      await wait(moment);
    }
    child.kill('SIGKILL');
    await ended;
    const now = readFileSync(path);
    if (now.equals(old)) ++ends.old;
    else if (now.equals(whole)) ++ends.new;
    else torn.push(`trial ${trial}: ${now.length} bytes`);
    for (const name of readdirSync(folder)) if (name.includes('.part-')) rmSync(join(folder, name));
  }
  say(torn.length === 0, `${format}: ${trials} kills, ${ends.old} ended with the old file, ${ends.new} with the new one, none else`, torn.join('\n'));
  say(ends.old > 0 && ends.new > 0, `${format}: the kills fell on both sides of the change`, JSON.stringify(ends));
}
rmSync(folder, { recursive: true });

// A job file of 200 cars and 100,000 records against one that holds a single car with the same records of its own: what
// does it cost to open and check one car? Prints seconds of CPU and their ratio; the aim is at most twice an empty job
// plus that car's own work. Asserts nothing of time.
// usage: node tests/bench/job/job.mjs [PROGRAM]
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';

const program = process.argv[2] ?? process.env.KITGAP ?? '.build/bin/kitgap';
const folder = mkdtempSync(path.join(tmpdir(), 'kitgap-job-'));
const runs = 15;

function run(...args) {
  const done = spawnSync(program, args, { encoding: 'utf8', maxBuffer: 1 << 28 });
  if (done.status > 1) throw new Error(`${args.join(' ')}: ${done.stderr}`);
  return done;
}

// User and system seconds of the quickest of some runs: the machine is shared.
function cpu(...args) {
  let best = Infinity;
  for (let at = 0; at < runs; ++at) {
    const done = spawnSync('/usr/bin/time', ['-f', '%U %S', program, ...args], { encoding: 'utf8', maxBuffer: 1 << 28 });
    if (done.status > 1) throw new Error(done.stderr);
    const [user, system] = done.stderr.trim().split('\n').at(-1).split(' ').map(Number);
    best = Math.min(best, user + system);
  }
  return best;
}

// Counts of one car: rows of FOUND, over the lines that the demonstration's doors have.
function counts(rows) {
  const parts = ['panel-clip', 'clip-hole', 'clip-seal-7', 'bottom-hook', 'top-rail'];
  const places = ['front.left', 'front.right', 'rear.left', 'rear.right'];
  let text = 'parent,position,part,count,counted in,condition,bag,date\n';
  for (let row = 0; row < rows; ++row) {
    const day = `2031-${String(1 + (row % 12)).padStart(2, '0')}-${String(1 + (row % 28)).padStart(2, '0')}`;
    text += `door-panel,${places[row % 4]},${parts[(row >> 2) % 5]},${7 + (row % 3)},${row % 2 ? 'shell' : 'old part'},good,bag ${row % 40},${day}\n`;
  }
  return text;
}

const cars = 200;
const each = 500;
const facts = ['--rules', 'rules/demo'];
const one = path.join(folder, 'one.job');
const many = path.join(folder, 'many.job');
const empty = path.join(folder, 'empty.job');
const found = path.join(folder, 'found.csv');
writeFileSync(found, counts(each));
let table = 'name,body style,model year,market\n';
for (let car = 0; car < cars; ++car) table += `car-${car},saloon,${1966 + (car % 9)},home\n`;
writeFileSync(path.join(folder, 'cars.csv'), table);
run('start', '--job', many, '--from', path.join(folder, 'cars.csv'), ...facts);
for (const job of [one, empty]) run('start', '--job', job, '--name', 'car-100', '--answer', 'body style=saloon', '--answer', 'model year=1967', '--answer', 'market=home', '--no-input', ...facts);
run('job', 'take', one, '--car', 'car-100', '--found', found);
for (let car = 0; car < cars; ++car) run('job', 'take', many, '--car', `car-${car}`, '--found', found);
const records = run('job', 'verify', many).stdout.trim();
const at_most = ['--car', 'car-100', '--format', 'csv'];
const time = { empty: cpu('check', '--job', empty, ...at_most), one: cpu('check', '--job', one, ...at_most), many: cpu('check', '--job', many, ...at_most) };
const same = run('check', '--job', one, ...at_most).stdout === run('check', '--job', many, ...at_most).stdout;
console.log(`${records}; ${(statSync(many).size / 1e6).toFixed(1)} MB`);
console.log(`the same answer for car-100 in both: ${same ? 'yes' : 'NO'}`);
for (const [name, seconds] of Object.entries(time)) console.log(`${name}: ${(seconds * 1000).toFixed(0)} ms of CPU`);
const allowed = 2 * time.empty + (time.one - time.empty);
console.log(`one car of ${cars} costs ${(time.many / time.one).toFixed(2)} times the same car alone; at most ${(allowed * 1000).toFixed(0)} ms are asked for`);
rmSync(folder, { recursive: true });

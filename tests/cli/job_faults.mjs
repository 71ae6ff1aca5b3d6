// A command on a job whose calls to the machine fail one by one: the disk errs, is full, the program is killed, memory is
// out. Afterwards the job is whole and holds what it held before, or all of the command; what was said to be saved is there.
// Run from the top of the tree with KITGAP set; prints `ok NAME` or `not ok NAME`. KITGAP_TIER=full tries every call.
import { spawnSync } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync } from 'node:fs';
import { join, resolve } from 'node:path';

const kitgap = resolve(process.env.KITGAP ?? '.build/bin/kitgap');
const isFull = process.env.KITGAP_TIER === 'full';
const folder = mkdtempSync(join(existsSync('/dev/shm') ? '/dev/shm' : '/tmp', 'kitgap-faults-'));
const faults = join(folder, 'faults.so');
const built = spawnSync('cc', ['-shared', '-fPIC', '-O1', '-o', faults, 'tests/cli/faults.c', '-ldl'], { encoding: 'utf8' });
if (built.status !== 0) {
  console.log(`skipped: no C compiler for tests/cli/faults.c: ${built.stderr ?? built.error}`);
  process.exit(0);
}
const say = (isRight, name, why = '') => console.log(`${isRight ? 'ok' : 'not ok'} ${name}${isRight ? '' : `\n${why}`}`);
const run = (args, env = {}) => spawnSync(kitgap, args, { encoding: 'utf8', env: { ...process.env, ...env } });

const first = join(folder, 'first');
const trial = join(folder, 'trial');
const job = join(trial, 'shed.job');
mkdirSync(first);
const pack = resolve('tests/golden/job/pack');
const order = resolve('tests/golden/job/order.csv');
const start = join(first, 'shed.job');
for (const args of [
  ['start', '--job', start, '--rules', pack, '--name', 'amber', '--answer', 'body style=saloon', '--no-input'],
  ['job', 'take', start, '--order', order],
  ['found', '--job', start, 'part=pocket', 'position=front.left', 'count=1', 'condition=good'],
  ['job', 'export', start, join(first, 'export')],
]) {
  const made = run(args);
  if (made.status > 1) throw new Error(`${args.join(' ')}: ${made.stderr}`);
}

// What each does, and the file that it makes where it makes one.
const commands = {
  start: { args: ['start', '--job', join(trial, 'new.job'), '--rules', pack, '--name', 'blue', '--no-input'], makes: 'new.job' },
  take: { args: ['job', 'take', job, '--stock', resolve('tests/golden/job/stock.csv')] },
  found: { args: ['found', '--job', job, 'parent=door-panel', 'position=front.left', 'part=top-rail', 'count=1', 'condition=good'] },
  receive: { args: ['receive', '--job', job, 'part number=C-25', 'counted=25'] },
  step: { args: ['job', 'step', job, 'fit pocket', 'started'] },
  gate: { args: ['job', 'gate', job, 'door-panel', 'front.left', 'laid over'] },
  correct: { args: ['job', 'correct', job, '17', 'condition=broken'] },
  export: { args: ['job', 'export', job, join(trial, 'out')], makes: 'out' },
  import: { args: ['job', 'import', join(trial, 'export'), join(trial, 'new.job')], makes: 'new.job' },
  backup: { args: ['job', 'backup', job, join(trial, 'mine')], makes: 'mine' },
  restore: { args: ['job', 'restore', job] },
  check: { args: ['check', '--job', job] },
};

function prepare() {
  rmSync(trial, { recursive: true, force: true });
  cpSync(first, trial, { recursive: true });
}
function attempt(command, fault) {
  prepare();
  return run(commands[command].args, { LD_PRELOAD: faults, FAULT_UNDER: trial, TMPDIR: trial, ...fault });
}
// `whole: 20 records of 1 car`, or nothing where it is not whole.
const records = (path) => Number(/^whole: (\d+) records/.exec(run(['job', 'verify', path]).stdout)?.[1] ?? NaN);

// What is wrong after the command ended so; nothing when all is right.
function fault_after(command, fault, ended, before, after) {
  const wasKilled = ended.signal === 'SIGKILL';
  if (!wasKilled && ![0, 1, 3].includes(ended.status)) return `status ${ended.status} ${ended.signal}`;
  if (ended.status === 3 && !/kitgap: ./.test(ended.stderr)) return 'no message';
  const now = records(job);
  const hasSaid = /^saved: /m.test(ended.stderr);
  if (now !== before && now !== after) return `${now} records; it had ${before}, and ${after} when done`;
  if ((hasSaid || (!wasKilled && ended.status < 3)) && now !== after) return 'said to be saved, and is not there';
  if (ended.status === 3 && now !== before && !hasSaid && !/history/.test(ended.stderr)) return `told that it failed, and it is saved: ${ended.stderr}`;
  const makes = commands[command].makes && join(trial, commands[command].makes);
  if (makes && existsSync(makes)) {
    const isGood = command === 'export' ? is_whole_export(makes, ended) : Number.isFinite(records(makes));
    if (!isGood) return `${commands[command].makes} is not whole`;
  }
  // Where removing it fails, the next command does.
  if (!wasKilled && fault !== 'EIO' && readdirSync(trial).some((name) => name.includes('.new-') || name.startsWith('kitgap-'))) return `left over: ${readdirSync(trial)}`;
  return '';
}
// Each file of it is there as a whole or not at all.
function is_whole_export(path, ended) {
  if (ended.status === 0 && run(['job', 'import', path, join(trial, 'again.job')]).status !== 0) return false;
  return readdirSync(path).every((name) => (ended.signal && name.includes('.part-')) || readFileSync(join(path, name), 'utf8') === readFileSync(join(first, 'export', name), 'utf8'));
}

// What the program asks for before it can say anything.
prepare();
run(['--version'], { LD_PRELOAD: faults, FAULT_COUNT: join(folder, 'count') });
const before_work = Number(readFileSync(join(folder, 'count'), 'utf8').split(' ')[1]);

let seed = 20261126;
const random = (below) => (seed = (seed * 1103515245 + 12345) % 2147483648) % below;

for (const command of Object.keys(commands)) {
  const count = join(folder, 'count');
  const whole = attempt(command, { FAULT_COUNT: count });
  const before = records(start);
  const after = records(job);
  if (whole.status > 1 || !Number.isFinite(after)) {
    say(false, `${command} does its work`, whole.stderr);
    continue;
  }
  const [calls, requests] = readFileSync(count, 'utf8').split(' ').map(Number);
  for (const [name, fault] of [['an error at the disk', { FAULT: 'EIO' }], ['a disk that is full from then on', { FAULT: 'ENOSPC', FAULT_EVER: '1' }], ['kill -9', { FAULT: 'kill' }]]) {
    const bad = [];
    let trials = 0;
    for (let call = 1 + (isFull ? 0 : random(11)); call <= calls; call += isFull ? 1 : 11) {
      const ended = attempt(command, { ...fault, FAULT_AT: String(call) });
      const why = fault_after(command, fault.FAULT, ended, before, after);
      if (why !== '') bad.push(`call ${call}: ${why}`);
      ++trials;
    }
    say(bad.length === 0, `${command}: ${name}, ${trials} of ${calls} calls`, bad.slice(0, 5).join('\n'));
  }
  const bad = [];
  const trials = isFull ? 200 : 14;
  for (let at = 0; at < trials; ++at) {
    const request = before_work + random(requests - before_work);
    const ended = attempt(command, { FAULT: 'memory', FAULT_AT: String(request), ...(at % 2 ? { FAULT_EVER: '1' } : {}) });
    const why = fault_after(command, 'memory', ended, before, after);
    if (why !== '') bad.push(`request ${request}${at % 2 ? ' and all after' : ''}: ${why}`);
  }
  say(bad.length === 0, `${command}: memory is out, ${trials} of ${requests} requests (seed 20261126)`, bad.slice(0, 5).join('\n'));
}
rmSync(folder, { recursive: true, force: true });

// Where files lie: read-only, missing, no file at all, on a full disk, without a home; and how much memory is taken.
// Every case names the path and what to do, ends with a documented status, and leaves what was there as it was.
// Run from the top of the tree with KITGAP set; prints `ok NAME` or `not ok NAME`.
import { spawnSync } from 'node:child_process';
import { chmodSync, cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, statSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';

const kitgap = resolve(process.env.KITGAP ?? '.build/bin/kitgap');
const folder = mkdtempSync(join(tmpdir(), 'kitgap-places-'));
chmodSync(folder, 0o755);
const say = (isRight, name, why = '') => console.log(`${isRight ? 'ok' : 'not ok'} ${name}${isRight ? '' : `\n${why}`}`);
const run = (args, options = {}) => spawnSync(kitgap, args, { encoding: 'utf8', maxBuffer: 1 << 28, timeout: 20000, ...options });

// Root writes where it may not: these run as nobody, on copies that nobody owns.
const isRoot = process.getuid() === 0;
const nobody = isRoot ? { uid: 65534, gid: 65534 } : {};
const demo = join(folder, 'demo');
for (const path of ['data/demo/home', 'rules/demo', 'tests/golden/job']) cpSync(path, join(demo, path), { recursive: true });
spawnSync('chmod', ['-R', 'a+rX', demo]);
const program = join(folder, 'bin');
mkdirSync(program);
for (const name of readdirSync(join(kitgap, '..')).filter((name) => name.startsWith('kitgap'))) cpSync(join(kitgap, '..', name), join(program, name));
const as_nobody = (args, env = {}) =>
  spawnSync(join(program, 'kitgap'), args, { encoding: 'utf8', maxBuffer: 1 << 28, timeout: 20000, cwd: demo, env: { ...process.env, ...env }, ...nobody });

let count = 0;
const place = (name) => {
  const path = join(folder, `place-${++count}-${name}`);
  mkdirSync(path);
  chmodSync(path, 0o777);
  return path;
};
const make_job = (path) => {
  const made = as_nobody(['start', '--job', path, '--rules', 'tests/golden/job/pack', '--name', 'amber', '--answer', 'body style=saloon', '--no-input']);
  if (made.status !== 0) throw new Error(made.stderr);
};
const write = (job) => ['found', '--job', job, 'part=pocket', 'position=front.left', 'count=1', 'condition=good'];
const read = (job) => ['check', '--job', job];

// `says`: what the message must hold beside the path; `leaves`: a file whose bytes must stay.
function refused(name, ended, path, says, statuses = [2, 3]) {
  const isRight = statuses.includes(ended.status) && ended.stderr.includes(path) && says.test(ended.stderr);
  say(isRight, name, `status ${ended.status} ${ended.signal ?? ''}: ${ended.stderr}`);
}
function answered(name, ended) {
  say([0, 1].includes(ended.status) && ended.stdout.includes('amber'), name, `status ${ended.status}: ${ended.stderr}`);
}

// The job.
{
  const job = join(place('read-only-file'), 'shed.job');
  make_job(job);
  const before = readFileSync(job);
  chmodSync(job, 0o444);
  refused('a read-only job: writing says so', as_nobody(write(job)), job, /may not be written|read-only|not writable/);
  answered('a read-only job: reading works', as_nobody(read(job)));
  say(before.equals(readFileSync(job)), 'a read-only job: its bytes stay');
  chmodSync(job, 0o000);
  refused('a job that may not be read', as_nobody(read(job)), job, /may not be read/);
}
{
  const at = place('read-only-folder');
  const job = join(at, 'shed.job');
  make_job(job);
  const before = readdirSync(at).sort().join();
  chmodSync(at, 0o555);
  refused('a read-only folder: writing says so', as_nobody(write(job)), job, /folder/);
  answered('a read-only folder: reading works', as_nobody(read(job)));
  refused('a read-only folder: no new job', as_nobody(['start', '--job', join(at, 'new.job'), '--rules', 'tests/golden/job/pack', '--no-input']), join(at, 'new.job'), /may not|folder/);
  refused('a read-only folder: no backup', as_nobody(['job', 'backup', job, join(at, 'mine')]), at, /may not|folder|cannot/);
  refused('a read-only folder: no export', as_nobody(['job', 'export', job, join(at, 'out')]), at, /may not|folder|cannot/);
  say(readdirSync(at).sort().join() === before, 'a read-only folder: nothing was left in it', readdirSync(at).join());
}
{
  const at = place('no-folder');
  refused('a job in a missing folder', as_nobody(['start', '--job', join(at, 'gone', 'new.job'), '--rules', 'tests/golden/job/pack', '--no-input']), join(at, 'gone'), /no (such )?folder|no such|missing/);
  refused('a job that is not there', as_nobody(write(join(at, 'none.job'))), join(at, 'none.job'), /kitgap start/);
}
for (const [name, make, says] of [
  ['a folder', (path) => mkdirSync(path), /folder/],
  ['a FIFO', (path) => spawnSync('mkfifo', ['-m', '666', path]), /no (regular|ordinary) file|no job file|FIFO|pipe/i],
  ['a link to nothing', (path) => symlinkSync('/nonexistent/x.job', path), /no such|link|no job/],
  ['a link to itself', (path) => symlinkSync(path, path), /link|cannot|no such|loop/],
  ['an empty file', (path) => writeFileSync(path, ''), /empty|no job/],
  ['a text', (path) => writeFileSync(path, 'clips, 25\n'.repeat(500)), /no job/],
]) {
  const job = join(place('instead'), 'shed.job');
  make(job);
  refused(`${name} in place of the job: reading`, as_nobody(read(job)), job, says);
  refused(`${name} in place of the job: writing`, as_nobody(write(job)), job, says);
  refused(`${name} in place of the job: starting one there`, as_nobody(['start', '--job', job, '--rules', 'tests/golden/job/pack', '--no-input']), job, /there already|no job|folder|link|empty|FIFO|cannot|file/);
}
{
  const at = place('link');
  make_job(join(at, 'shed.job'));
  symlinkSync('shed.job', join(at, 'link.job'));
  answered('a link to a job: reading works', as_nobody(read(join(at, 'link.job'))));
  const ended = as_nobody(write(join(at, 'link.job')));
  say([0, 1].includes(ended.status) && /whole: \d+/.test(as_nobody(['job', 'verify', join(at, 'shed.job')]).stdout), 'a link to a job: writing goes to the job', ended.stderr);
}
{
  const job = join(place('no-home'), 'shed.job');
  make_job(job);
  const env = { HOME: '/nonexistent', TMPDIR: '/nonexistent', XDG_CACHE_HOME: '/nonexistent', USER: '', LOGNAME: '' };
  answered('no home, no temporary folder: reading works', as_nobody(read(job), env));
  say([0, 1].includes(as_nobody(write(job), env).status), 'no home, no temporary folder: writing works');
}

// What is written elsewhere.
const check = ['check', 'data/demo/home/car.json', 'data/demo/home/list.csv', '--rules', 'rules/demo'];
{
  const at = place('out');
  mkdirSync(join(at, 'folder.json'));
  chmodSync(at, 0o555);
  refused('--out in a read-only folder', as_nobody([...check, '--out', join(at, 'gap.json')]), join(at, 'gap.json'), /may not|folder|cannot/, [3]);
  refused('--out in a missing folder', as_nobody([...check, '--out', join(at, 'gone', 'gap.json')]), join(at, 'gone'), /no (such )?folder|no such|cannot/, [2, 3]);
  chmodSync(at, 0o777);
  refused('--out onto a folder', as_nobody([...check, '--out', join(at, 'folder.json')]), join(at, 'folder.json'), /folder|cannot/, [2, 3]);
  refused('start into a missing folder', as_nobody(['start', join(at, 'gone', 'car.json'), '--rules', 'rules/demo', '--no-input']), join(at, 'gone'), /no (such )?folder|no such|cannot/, [2, 3]);
}
// What is read.
{
  const at = place('in');
  spawnSync('mkfifo', ['-m', '666', join(at, 'list.csv')]);
  mkdirSync(join(at, 'list.xlsx'));
  writeFileSync(join(at, 'secret.csv'), 'part number,quantity\nC-25,1\n', { mode: 0o600 });
  chmodSync(join(at, 'secret.csv'), isRoot ? 0o600 : 0o000);
  for (const [name, says] of [['list.csv', /regular|ordinary|no file|pipe|FIFO/i], ['list.xlsx', /folder/], ['secret.csv', /Permission denied|may not be read/], ['gone.csv', /no such file/]]) {
    refused(`a list that is ${name}`, as_nobody(['check', 'data/demo/home/car.json', join(at, name), '--rules', 'rules/demo']), join(at, name), says, [2, 3]);
  }
  chmodSync(at, 0o777);
}

// Disks that are full: the folder of the output, the folder for temporary files. Needs the right to mount.
{
  const disk = place('full');
  const mounted = spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=64k,mode=1777', 'tmpfs', disk]);
  if (mounted.status !== 0) console.log('skipped: full folders: no right to mount a small disk here');
  else {
    spawnSync('dd', ['if=/dev/zero', `of=${join(disk, 'fill')}`, 'bs=4k']);
    for (const [name, args, path] of [
      ['a page', [...check, '--out', join(disk, 'gap.html')], join(disk, 'gap.html')],
      ['JSON', [...check, '--out', join(disk, 'gap.json')], join(disk, 'gap.json')],
      ['a workbook', [...check, '--out', join(disk, 'gap.xlsx')], join(disk, 'gap.xlsx')],
      ['a car file', ['start', join(disk, 'car.json'), '--rules', 'rules/demo', '--no-input'], join(disk, 'car.json')],
    ]) {
      refused(`a full disk: ${name}`, as_nobody(args), path, /space|full/i, [3]);
    }
    say(readdirSync(disk).join() === 'fill', 'a full disk: nothing half written is left', readdirSync(disk).join());
    const out = join(place('temp'), 'gap.xlsx');
    const ended = as_nobody([...check, '--out', out], { TMPDIR: disk });
    say(([0, 1].includes(ended.status) && statSync(out).size > 5000) || (ended.status === 3 && /temporary files is full/i.test(ended.stderr) && !existsSync(out)),
      'a full folder for temporary files: a workbook is whole, or told and not there', `${ended.status} ${ended.stderr}`);
    const job = join(place('temp'), 'shed.job');
    make_job(job);
    say([0, 1].includes(as_nobody(write(job), { TMPDIR: disk, SQLITE_TMPDIR: disk }).status) && /whole/.test(as_nobody(['job', 'verify', job]).stdout),
      'a full folder for temporary files: a job is written');
    spawnSync('umount', [disk]);
  }
}

// Memory: a list of 20,000 rows in 256 MB, and the same rows as counts of a job.
{
  const at = place('memory');
  const limited = (args) => spawnSync('bash', ['-c', 'ulimit -v 262144; exec "$0" "$@"', kitgap, ...args], { encoding: 'utf8', maxBuffer: 1 << 28 });
  let list = 'part number,description,quantity,position,supplier\n';
  const numbers = ['FH-1021-LT', 'OR/7-01/25', 'FH-7031', 'BC 20.110', 'something else'];
  for (let row = 0; row < 20000; ++row) list += `${numbers[row % 5]},row ${row},${1 + (row % 3)},,\n`;
  writeFileSync(join(at, 'list.csv'), list);
  const checked = limited(['check', 'data/demo/home/car.json', join(at, 'list.csv'), '--rules', 'rules/demo', '--format', 'json']);
  say([0, 1].includes(checked.status) && JSON.parse(checked.stdout).lines.length > 100, 'a list of 20,000 rows is checked in 256 MB', `${checked.status} ${checked.stderr.slice(0, 500)}`);
  let found = 'parent,position,part,count,counted in,date\n';
  for (let row = 0; row < 20000; ++row) found += `door-panel,${['front', 'rear'][row % 2]}.${['left', 'right'][(row >> 1) % 2]},panel-clip,${7 + (row % 3)},shell,2031-01-${String(1 + (row % 28)).padStart(2, '0')}\n`;
  writeFileSync(join(at, 'found.csv'), found);
  const job = join(at, 'shed.job');
  run(['start', '--job', job, '--rules', 'rules/demo', '--name', 'amber', '--no-input', '--answer', 'body style=saloon', '--answer', 'model year=1967', '--answer', 'market=home']);
  const taken = limited(['found', join(at, 'found.csv'), '--job', job]);
  say([0, 1].includes(taken.status), 'a job takes 20,000 counts in 256 MB', `${taken.status} ${taken.stderr.slice(0, 500)}`);
  const read_back = limited(read(job));
  say([0, 1].includes(read_back.status), 'a job of 20,000 counts is checked in 256 MB', `${read_back.status} ${read_back.stderr.slice(0, 500)}`);
}
spawnSync('chmod', ['-R', 'u+rwX', folder]);
rmSync(folder, { recursive: true, force: true });

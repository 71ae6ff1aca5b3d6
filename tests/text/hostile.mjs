// Bad and awkward files, made by a seeded generator, through `kitgap check CAR LIST --reading`, and in turn (in `full`:
// every file) through the other commands that take a person's file. Each is refused whole with a code, or every row is
// accounted for; within 5 s of processor time and 512 MB of address space, with no control byte
// on the terminal, and with nothing written. Prints `ok` or `not ok` per file.
//   KITGAP=program node tests/text/hostile.mjs [seed]      KITGAP_TIER=full also makes files of a gigabyte.
import { spawnSync } from 'node:child_process';
import { closeSync, ftruncateSync, mkdtempSync, mkdirSync, openSync, readdirSync, rmSync, symlinkSync, writeFileSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { textFiles } from './hostile_text.mjs';
import { workbookFiles } from './hostile_workbooks.mjs';

const program = process.env.KITGAP ?? join(process.cwd(), '.build/bin/kitgap');
const seed = Number(process.argv[2] ?? 20240229);
const only = process.argv[3];
const folder = mkdtempSync(join(tmpdir(), 'hostile-'));
const work = join(folder, 'work');
mkdirSync(work);
writeFileSync(join(folder, 'car.json'), '{"name": "any", "facts": {}}');
mkdirSync(join(folder, 'rules'));
writeFileSync(join(folder, 'rules/datapackage.json'), JSON.stringify({
  name: 'rules', version: '1.0.0',
  resources: [
    { name: 'parts', path: 'parts.csv', kitgap: { kind: 'parts' } },
    { name: 'needs', path: 'needs.csv', kitgap: { kind: 'needs' } },
    { name: 'offers', path: 'offers.csv', kitgap: { kind: 'offers' } },
  ],
  kitgap: { format: 1, facts: [], positions: { front: { left: {}, right: {} } } },
}));
writeFileSync(join(folder, 'rules/parts.csv'), 'part,name,unit,kind\npanel-clip,panel clip,each,piece\nbulb,bulb,each,piece\n');
writeFileSync(join(folder, 'rules/needs.csv'), 'parent,at,part,quantity\ncar,front.left,panel-clip,9\n');
writeFileSync(join(folder, 'rules/offers.csv'), 'supplier,part number,part\nMarlpit,K-17,panel-clip\nMarlpit,K-18,bulb\n');

// Numbers that repeat from run to run.
function generator(state) {
  return (below) => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) % below;
  };
}

// What is wrong with the answer; empty when nothing is.
function judge(file, run) {
  const out = run.stdout.toString('latin1') + run.stderr.toString('latin1');
  if (run.status === null) return `ended by ${run.signal}`;
  if (/[\x00-\x09\x0b-\x1f\x7f]/.test(out)) return 'a control byte reached the terminal';
  const text = run.stdout.toString('utf8') + run.stderr.toString('utf8');
  if (/[\u0080-\u009f\u202a-\u202e\u2066-\u2069\ufffe]/.test(text)) return 'a control character reached the terminal';
  if (readdirSync(work).length !== 0) return `wrote ${readdirSync(work).join(' ')}`;
  if (run.status === 2) {
    if (file.rows !== undefined) return `refused, but it has ${file.rows} good rows: ${run.stderr.toString().slice(0, 200)}`;
    return /\[[a-z0-9-]+\]\n/.test(run.stderr.toString()) ? '' : `no code: ${run.stderr.toString().slice(0, 200)}`;
  }
  if (run.status !== 0) return `status ${run.status}: ${run.stderr.toString().slice(0, 200)}`;
  if (file.refused) return 'read, but it must be refused';
  const count = /^(\d+) rows? read: (\d+) used, (\d+) set aside$/m.exec(run.stdout.toString());
  if (!count) return 'no count of rows';
  const [all, used, aside] = count.slice(1).map(Number);
  if (all !== used + aside) return `${all} rows are not ${used} and ${aside}`;
  if (file.rows !== undefined && all !== file.rows) return `${all} rows read of ${file.rows}`;
  if (file.used !== undefined && used !== file.used) return `${used} rows used of ${file.used}`;
  return '';
}

// What else takes a person's file: as its stock, what is on its way, what came, what is wanted, what was counted.
const others = [
  (path) => ['check', '../car.json', '../good.csv', '--stock', path],
  (path) => ['check', '../car.json', '--order', path],
  (path) => ['receive', path, '../counts.csv'],
  (path) => ['receive', '../good.csv', path],
  (path) => ['order', '../car.json', path],
  (path) => ['found', '../car.json', path],
  (path) => ['salvage', '../car.json', '--found', path],
];
writeFileSync(join(folder, 'good.csv'), 'id,part number,quantity\n1,K-17,9\n');
writeFileSync(join(folder, 'counts.csv'), 'part number,counted\nK-17,9\n');

// These columns are not all theirs, so any file may be refused; what is said of its rows must add up all the same.
function judgeOther(file, path, run) {
  const out = run.stdout.toString('utf8') + run.stderr.toString('utf8');
  if (run.status === null) return `ended by ${run.signal}`;
  if (/[\x00-\x09\x0b-\x1f\x7f\u0080-\u009f\u202a-\u202e\u2066-\u2069\ufffe]/.test(out)) return 'a control character reached the terminal';
  if (readdirSync(work).length !== 0) return `wrote ${readdirSync(work).join(' ')}`;
  if (run.status === 2) return /\[[a-z0-9-]+\]\n/.test(run.stderr.toString()) ? '' : `no code: ${run.stderr.toString().slice(0, 200)}`;
  if (run.status > 2) return `status ${run.status}: ${run.stderr.toString().slice(0, 200)}`;
  if (file.refused) return 'read, but it must be refused';
  const counts = [...out.matchAll(/^ *(?:(\S+): )?(\d+) rows? read: (\d+) used, (\d+) set aside\.?$/gm)];
  if (!counts.some(([, name]) => name === undefined || name === path)) return 'no count of rows';
  for (const [, name, all, used, aside] of counts) {
    if (+all !== +used + +aside) return `${all} rows are not ${used} and ${aside}`;
    if (name === path && file.rows !== undefined && +all !== file.rows) return `${all} rows read of ${file.rows}`;
  }
  return '';
}

function run(words) {
  // 5 s of processor time and 512 MB of address space, as RELIABILITY asks of any input.
  const script = 'ulimit -t 5; ulimit -v 524288; cd "$1" && shift && exec "$@" --rules ../rules';
  return spawnSync('sh', ['-c', script, 'sh', work, program, ...words], { maxBuffer: 1 << 30, env: { ...process.env, COLUMNS: '80', LC_ALL: 'C.UTF-8' } });
}

let count = 0;
let bad = 0;
function check(file, path) {
  const wrongs = [judge(file, run(['check', '../car.json', path, '--reading']))];
  others.forEach((words, index) => {
    if (process.env.KITGAP_TIER !== 'full' && index !== count % others.length) return;
    const wrong = judgeOther(file, path, run(words(path)));
    wrongs.push(wrong === '' ? '' : `${words('FILE').join(' ')}: ${wrong}`);
  });
  count += 1;
  const wrong = wrongs.filter((each) => each !== '').join('; ');
  if (wrong !== '') bad += 1;
  if (wrong !== '' || file.loud) console.log(`${wrong === '' ? 'ok' : 'not ok'} ${file.name}${wrong === '' ? '' : `: ${wrong}`}`);
}

// Files too large to hold here, written in pieces or with holes.
function* largeFiles() {
  const sparse = (name, size, head) => ({ name, refused: true, write: (path) => {
    const file = openSync(path, 'w');
    writeSync(file, head);
    ftruncateSync(file, size);
    closeSync(file);
  } });
  const repeated = (name, head, unit, bytes, expect) => ({ name, ...expect, write: (path) => {
    const file = openSync(path, 'w');
    writeSync(file, head);
    const block = Buffer.from(unit.repeat(Math.ceil(1_000_000 / unit.length)));
    for (let written = head.length; written < bytes; written += block.length) writeSync(file, block);
    closeSync(file);
  } });
  const header = 'part number,quantity\n';
  const refused = { refused: true };
  yield sparse('a line of 1 GB, all NUL', 1_000_000_000, header);
  yield sparse('a workbook of 1 GB, cut off', 1_000_000_000, 'PK\x03\x04');
  yield sparse('a file of 3 GB', 3_000_000_000, header);
  yield repeated('ten million rows', header, 'K-17,1\n', 70_000_000, refused);
  yield repeated('thirty million short rows', header, '1\n', 60_000_000, refused);
  yield repeated('sixty million blank rows', header, '\n', 60_000_000, refused);
  yield repeated('a line of 60 MB', header, 'x', 60_000_000, refused);
  yield repeated('a quote that never ends, 60 MB', header + '"', 'K-17,1\n', 60_000_000, refused);
  yield repeated('60 MB of quotes', header, '"', 60_000_000, {});
  yield repeated('60 MB of commas', header, ',', 60_000_000, {});
  yield repeated('60 MB of returns', header, '\r', 60_000_000, {});
  yield repeated('60 MB of ditto marks', header, '",do\n', 60_000_000, refused);
  yield repeated('250,000 rows all but one', header, 'K-17,1\n', 1_000_000, { });
  if (process.env.KITGAP_TIER === 'full') {
    yield repeated('a line of 1 GB, all text', header, 'x', 1_000_000_000, refused);
    yield repeated('a hundred million rows', header, 'K-17,1\n', 700_000_000, refused);
  }
}

const random = generator(seed);
for (const file of [...textFiles(random), ...workbookFiles(random)]) {
  if (only && !file.name.includes(only)) continue;
  const path = join(folder, `list${file.ending ?? '.csv'}`);
  writeFileSync(path, file.bytes);
  check(file, path);
}
for (const file of largeFiles()) {
  if (only && !file.name.includes(only)) continue;
  const path = join(folder, 'large.csv');
  file.write(path);
  check({ ...file, loud: true }, path);
  rmSync(path);
}
// What is no file at all.
symlinkSync('loop', join(folder, 'loop'));
for (const [name, path] of [['a folder', folder], ['a device without end', '/dev/zero'], ['an empty device', '/dev/null'],
  ['a link to itself', join(folder, 'loop')], ['nothing', join(folder, 'absent.csv')]]) {
  if (!only || name.includes(only)) check({ name, refused: true, loud: true }, path);
}
rmSync(folder, { recursive: true });
console.log(`${bad === 0 ? 'ok' : 'not ok'} ${count} bad and awkward files (seed ${seed}): ${bad} wrong`);
process.exit(bad === 0 ? 0 : 1);

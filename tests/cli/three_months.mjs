// Three months of a restoration, played from the command line: what a person records, and what the job answers on each day.
// The clock is set by tests/cli/faults.c. All of it is invented. Run from the top of the tree with KITGAP set; prints
// `ok NAME` or `not ok NAME`.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';

const kitgap = resolve(process.env.KITGAP ?? '.build/bin/kitgap');
const folder = mkdtempSync(join(tmpdir(), 'kitgap-months-'));
const clock = join(folder, 'clock.so');
const built = spawnSync('cc', ['-shared', '-fPIC', '-O1', '-o', clock, 'tests/cli/faults.c', '-ldl'], { encoding: 'utf8' });
if (built.status !== 0) {
  console.log(`skipped: no C compiler for tests/cli/faults.c: ${built.stderr ?? built.error}`);
  process.exit(0);
}
const say = (isRight, name, why = '') => console.log(`${isRight ? 'ok' : 'not ok'} ${name}${isRight ? '' : `\n${why}`}`);
const job = join(folder, 'shed.job');
const pack = resolve('tests/golden/job/pack');
let day = '2031-02-01';
// The status and all that was printed.
function on(date, ...args) {
  day = date;
  const at = String(Date.parse(`${date}T10:00:00Z`) / 1000);
  const done = spawnSync(kitgap, args, { encoding: 'utf8', env: { ...process.env, LD_PRELOAD: clock, CLOCK_AT: at, COLUMNS: '80' } });
  // Lines are broken by width: read them as one.
  return { status: done.status, text: (done.stdout + done.stderr).replace(/\s+/g, ' '), out: done.stdout };
}
// Each word or pattern is there; one that begins with `!` is not.
function expect(name, { status, text }, wanted, ...words) {
  const missing = words.filter((word) => (word instanceof RegExp ? !word.test(text) : word.startsWith('!') ? text.includes(word.slice(1)) : !text.includes(word)));
  say(status === wanted && missing.length === 0, `${day}: ${name}`, `status ${status}, wanted ${wanted}; not as wanted: ${missing.join(' | ')}\n${text}`);
}

const list = join(folder, 'list.csv');
writeFileSync(list, 'part number,quantity,position,supplier\nP-1,1,front.left,Pellwick\nP-2,1,front.right,Pellwick\nC-25,1,,Pellwick\n');
const order = join(folder, 'order.csv');
writeFileSync(order, 'id,part number,quantity,supplier,due\nW-1,P-1,1,Pellwick,2031-02-24\nW-1,P-2,1,Pellwick,2031-02-24\nW-1,C-25,1,Pellwick,2031-02-24\nW-2,K-1,1,Marlpit,2031-03-20\n');

expect('the job begins', on('2031-02-01', 'start', '--job', job, '--rules', pack, '--name', 'amber', '--answer', 'body style=saloon', '--no-input', '--by', 'Ann'), 0, 'saved: the new job');
expect('all is needed, nothing is here', on('2031-02-01', 'check', '--job', job), 1, '9 needs', '0 covered');
expect('the planned parts are taken in', on('2031-02-03', 'job', 'take', job, '--car', 'amber', '--list', list), 0, 'saved: ');
expect('the plan does not have the pocket', on('2031-02-03', 'check', '--job', job), 1, /map pocket +missing: need 1; buy 1/);

expect('the old panel is looked at', on('2031-02-06', 'found', '--job', job, 'parent=car', 'position=front.left', 'part=door-panel', 'count=1', 'condition=broken', 'photo=p1.jpg', 'by=Bo'), 0, '1 count for `amber`');
expect('a rail is off and good', on('2031-02-06', 'found', '--job', job, 'parent=door-panel', 'position=front.left', 'part=top-rail', 'count=1', 'condition=good', 'bag=tin 4'), 0, 'saved');
expect('ten holes are counted where the table has nine', on('2031-02-07', 'found', '--job', job, 'parent=door-panel', 'position=front.left', 'part=clip-hole', 'count=10', 'counted in=shell'), 0, '10', '9');
expect('a slip of the pen is corrected', on('2031-02-08', 'job', 'correct', job, 'no-such', 'count=9'), 2, 'there is no record');
const found = /(\d+) +2031-02-07[^\n]*/.exec(on('2031-02-08', 'job', 'history', job, '--only', 'found').out);
say(found !== null, 'the count is in the history');
expect('the count is nine after all', on('2031-02-08', 'job', 'correct', job, found?.[1] ?? '0', 'count=9', '--by', 'Ann'), 0, 'in place of');
expect('the rail is off the old panel', on('2031-02-08', 'job', 'gate', job, 'top-rail', 'front.left', 'off'), 0, 'saved');

expect('the order goes out', on('2031-02-10', 'job', 'take', job, '--order', order), 0, 'saved: 4 records');
expect('the order is waited for', on('2031-02-10', 'ready', '--job', job), 0, 'due 2031-02-24', 'due 2031-03-20');
expect('the tick sheet has all of it', on('2031-02-20', 'receive', '--job', job, '--tick-sheet'), 0, 'P-1', 'P-2', 'C-25', 'K-1');

const slip = join(folder, 'slip.csv');
writeFileSync(slip, 'part number,counted,damaged,bag\nP-1,1,0,rack\nP-2,1,1,rack\nC-25,20,2,bag 1\n');
expect('a parcel is short, and a panel bent', on('2031-02-25', 'receive', '--job', job, slip, '--slip', 'D-9'), 1, '5 short', '2 damaged', 'To send to Pellwick', 'until 2031-03-11');
expect('the rest comes later', on('2031-02-26', 'receive', '--job', job, '--as', 'back order', 'part number=C-25', 'quantity=5', 'due=2031-03-28'), 0, 'saved: back order');
expect('the bent panel is kept, with rework', on('2031-02-26', 'receive', '--job', job, '--as', 'rework', 'part number=P-2', 'quantity=1', 'minutes=45', 'what=straighten the lower edge'), 0, 'saved: rework');
expect('two bent clips go back', on('2031-02-27', 'receive', '--job', job, '--as', 'return', 'part number=C-25', 'quantity=2', 'reason=bent'), 0, 'saved: return');
expect('and are credited', on('2031-03-03', 'receive', '--job', job, '--as', 'credit', 'amount=0.4', 'currency=GBP', 'supplier=Pellwick'), 0, 'saved: credit');
expect('panels can be fitted, from rack and bag', on('2031-03-04', 'ready', '--job', job, '--rate', '40'), 0, /Today, with what is here[^]*fit panels at front.left/, 'rack', '45 min of it is rework', 'at 40 an hour', 'Last day to return', '2031-03-11');
expect('the old panel may not go yet', on('2031-03-04', 'salvage', '--job', job, '--only', 'front.left'), 0, 'This old part may not go yet', 'no pattern was taken', '!the new one is not in hand');
for (const gate of ['laid over', 'pattern', 'trial fit', 'return window', 'counted', 'photos']) expect(`gate: ${gate}`, on('2031-03-05', 'job', 'gate', job, 'door-panel', 'front.left', gate), 0, 'saved');
expect('now it may', on('2031-03-05', 'salvage', '--job', job, '--only', 'front.left'), 0, '!may not go yet');

expect('the step begins', on('2031-03-08', 'job', 'step', job, 'fit panels', 'started'), 0, 'started');
expect('it is not done before it is signed for', on('2031-03-09', 'job', 'step', job, 'fit panels', 'done'), 2, 'let the glue rest 24 h', 'Clips fly', 'nothing was saved');
expect('signed, with its time', on('2031-03-09', 'job', 'step', job, 'fit panels', 'done', '--sign', 'Ann', '--minutes', '1 h 20'), 0, 'signed for by Ann');
expect('the rework took less', on('2031-03-09', 'job', 'step', job, 'rework', '--minutes', '30'), 0, 'saved');
expect('only the pocket is left', on('2031-03-10', 'ready', '--job', job), 0, 'Done fit panels', /fit pocket: waits for 1 more pocket \(due 2031-03-20\)/, '15 min of it is rework', '1 h 50 logged');
expect('of the kit the pocket comes', on('2031-03-21', 'receive', '--job', job, 'part number=K-1', 'part=pocket', 'counted=1', 'bag=shelf'), 0, 'K-1', 'not counted: still on its way');
expect('the back order arrives', on('2031-03-28', 'receive', '--job', job, 'part number=C-25', 'counted=5', 'bag=bag 1'), 0, 'right');
expect('the pocket can be fitted', on('2031-03-29', 'ready', '--job', job), 0, 'fit pocket', 'from shelf', 'Waiting nothing');
expect('and is', on('2031-04-02', 'job', 'step', job, 'fit pocket', 'done', '--minutes', '12'), 0, 'done');

// What was, and when.
expect('what was needed at the end of the first day', on('2031-04-30', 'check', '--job', job, '--as-of', '2031-02-01'), 1, '0 covered');
expect('what was waited for in February', on('2031-04-30', 'ready', '--job', job, '--as-of', '2031-02-10'), 0, 'due 2031-02-24', '!Done fit panels');
expect('what was to come in March', on('2031-04-30', 'receive', '--job', job, '--tick-sheet', '--as-of', '2031-03-01'), 0, 'C-25', 'K-1', '!P-1');
expect('nothing was held before it began', on('2031-04-30', 'check', '--job', job, '--as-of', '2031-01-31'), 2, 'held nothing yet');
const asked = ['check', '--job', job, '--format', 'json'];
const middle = on('2031-04-30', ...asked, '--as-of', '2031-03-05').out;

// Out and in again, damaged and restored.
expect('the job goes out', on('2031-04-30', 'job', 'export', job, join(folder, 'out')), 0, 'records written');
const copy = join(folder, 'copy.job');
expect('and in', on('2031-04-30', 'job', 'import', join(folder, 'out'), copy), 0, 'equal to those exported');
on('2031-04-30', 'job', 'export', copy, join(folder, 'again'));
say(readFileSync(join(folder, 'out/job.json'), 'utf8') === readFileSync(join(folder, 'again/job.json'), 'utf8'), 'the copy is equal, to the seal');
on('2031-04-30', 'job', 'export', job, join(folder, 'then'), '--as-of', '2031-03-05');
expect('the job of a day in the middle goes in too', on('2031-04-30', 'job', 'import', join(folder, 'then'), join(folder, 'then.job')), 0, 'equal');
say(on('2031-04-30', 'check', '--job', join(folder, 'then.job'), '--format', 'json').out === middle && middle.length > 1000, 'and answers as the whole job does as of that day');
expect('whole', on('2031-04-30', 'job', 'verify', job), 0, 'whole: ');
const now = on('2031-04-30', ...asked).out;
const bytes = readFileSync(job);
bytes[Math.floor(bytes.length / 2)] ^= 1;
const told = on('2031-04-30', 'job', 'verify', job).text;
writeFileSync(job, Buffer.concat([bytes.subarray(0, bytes.length - 5000), Buffer.alloc(5000)]));
expect('damage is noticed', on('2031-04-30', 'check', '--job', job), 3, 'is damaged', 'kitgap job restore');
expect('one command brings it back', on('2031-04-30', 'job', 'restore', job), 0, 'restored from', 'is kept as');
say(on('2031-04-30', ...asked).out === now && on('2031-04-30', 'job', 'verify', job).text === told, 'with all that was saved');
say(existsSync(`${job}.backup`), 'the backup stays');
rmSync(folder, { recursive: true, force: true });

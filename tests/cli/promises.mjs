// What the program promises whatever it is asked: the same answer twice, a quiet end of closed pipes and signals.
// Run from the top of the tree with KITGAP set; prints `ok NAME` or `not ok NAME`. KITGAP_TIER=full does more trials.
import { spawn, spawnSync } from 'node:child_process';
import { cpSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';

const kitgap = resolve(process.env.KITGAP ?? '.build/bin/kitgap');
const trials = process.env.KITGAP_TIER === 'full' ? 1000 : 100;
const folder = mkdtempSync(join(tmpdir(), 'kitgap-promises-'));
const say = (isRight, name, why = '') => console.log(`${isRight ? 'ok' : 'not ok'} ${name}${isRight ? '' : `\n${why}`}`);

const demo = 'data/demo/home';
const words = ['check', `${demo}/car.json`, `${demo}/list.csv`, '--stock', `${demo}/stock.csv`, '--order', `${demo}/order.csv`, '--found', `${demo}/found.csv`, '--rules', 'rules/demo'];
const run = (args, options = {}) => spawnSync(kitgap, args, { encoding: 'utf8', maxBuffer: 1 << 28, ...options });

// The same answer twice: other locale, other time zone, other day's environment, another folder.
for (const format of ['text', 'json', 'csv', 'html']) {
  const first = run([...words, '--format', format]).stdout;
  say(first.length > 1000, `${format} has an answer`, first);
  for (const [name, env] of [['again', {}], ['a Turkish locale', { LC_ALL: 'tr_TR.UTF-8', LANG: 'tr_TR.UTF-8' }], ['the C locale', { LC_ALL: 'C' }], ['another time zone', { TZ: 'Pacific/Kiritimati' }], ['no home', { HOME: '/nonexistent', XDG_CACHE_HOME: '' }]]) {
    const other = run([...words, '--format', format], { env: { ...process.env, ...env } }).stdout;
    say(other === first, `${format}: ${name}, the same bytes`);
  }
}
cpSync('data/demo/home', join(folder, 'home'), { recursive: true });
cpSync('rules/demo', join(folder, 'demo'), { recursive: true });
const moved = run(words.map((word) => word.replace('data/demo/home', 'home').replace('rules/demo', 'demo')), { cwd: folder }).stdout;
say(moved === run(words).stdout.replaceAll('data/demo/home', 'home'), 'text: in another folder, the same but for the names of files');

// Shuffled rows of a table change nothing but the line numbers in reasons (seeded).
let seed = 20261125;
const random = (below) => (seed = (seed * 1103515245 + 12345) % 2147483648) % below;
const shuffled = join(folder, 'shuffled');
cpSync('rules/demo', shuffled, { recursive: true });
for (const file of readdirSync(shuffled).filter((name) => /^(needs|contents|supplied|pairings)/.test(name) && name.endsWith('.csv'))) {
  const text = readFileSync(join(shuffled, file), 'utf8');
  if (/"[^"]*\n/.test(text.replace(/"[^"\n]*"/g, ''))) continue;
  const [header, ...rows] = text.trimEnd().split('\n');
  for (let at = rows.length - 1; at > 0; --at) {
    const other = random(at + 1);
    [rows[at], rows[other]] = [rows[other], rows[at]];
  }
  writeFileSync(join(shuffled, file), `${[header, ...rows].join('\n')}\n`);
}
const figures = (text) => JSON.parse(text).lines.map(({ id, status, need, have, gap, basis, stops_work }) => ({ id, status, need, have, gap, basis, stops_work }));
const plain = run([...words, '--format', 'json']).stdout;
const mixed = run([...words.map((word) => (word === 'rules/demo' ? shuffled : word)), '--format', 'json']).stdout;
say(JSON.stringify(figures(plain)) === JSON.stringify(figures(mixed)), 'json: rows of the tables shuffled, the same figures (seed 20261125)');

// 1 and 2 threads.
const edges = join(folder, 'rows.csv');
const cars = join(folder, 'cars.csv');
writeFileSync(edges, `year,body,item,count\n${Array.from({ length: 2000 }, (_, row) => `[${1960 + (row % 9)}..${1965 + (row % 7)}],${row % 3 ? '"saloon"' : '-'},part-${row % 50},${1 + (row % 4)}`).join('\n')}\n`);
writeFileSync(cars, `car_id,year,body\n${Array.from({ length: 500 }, (_, car) => `car-${car},${1960 + (car % 12)},${car % 2 ? 'saloon' : ''}`).join('\n')}\n`);
const sweep = (threads) => run(['sweep', '--table', edges, '--cars', cars, '--threads', String(threads)]).stdout;
say(sweep(1).length > 1000 && sweep(1) === sweep(2) && sweep(1) === sweep(8), 'sweep: 1, 2 and 8 threads, the same bytes');

// A closed pipe ends it quietly.
{
  let bad = 0;
  for (let trial = 0; trial < trials; ++trial) {
    const bytes = [0, 1, 100, 5000][trial % 4];
    const piped = spawnSync('bash', ['-c', `"$0" "$@" | head -c ${bytes} >/dev/null; echo "\${PIPESTATUS[0]}"`, kitgap, ...words, '--format', trial % 2 ? 'json' : 'text'], { encoding: 'utf8' });
    const status = Number(piped.stdout.trim());
    // Where standard output is for a program, the counts of rows read go to standard error.
    const counts = /^([^\n]+: \d+ rows? read: \d+ used, \d+ set aside\n)*$/.test(piped.stderr);
    if (!counts || ![0, 1, 141].includes(status)) ++bad;
  }
  say(bad === 0, `a closed pipe ends quietly, ${trials} trials`, `${bad} did not`);
}

// A full disk is the machine's failure.
if (spawnSync('test', ['-e', '/dev/full']).status === 0) {
  const full = spawnSync('bash', ['-c', `"$0" "$@" > /dev/full`, kitgap, ...words], { encoding: 'utf8' });
  say(full.status === 3 && /no space|cannot be written|full/i.test(full.stderr), 'a full disk is exit 3 with a message', `${full.status} ${full.stderr}`);
}

// SIGINT, SIGTERM, SIGHUP: 128 + n, or done before it came; a job written to is whole after.
const job = join(folder, 'car.job');
const made = run(['start', '--job', job, '--rules', 'rules/demo', '--no-input', '--name', 'tan']);
say(made.status === 0, 'a job is made for the signals', made.stderr);
const ended = async (signal, wait) => {
  const child = spawn(kitgap, ['found', `${demo}/found.csv`, '--job', job], { stdio: 'ignore' });
  setTimeout(() => child.kill(signal), wait);
  return new Promise((done) => child.on('close', (code, by) => done([code, by])));
};
{
  let bad = [];
  const numbers = { SIGINT: 2, SIGTERM: 15, SIGHUP: 1 };
  for (let trial = 0; trial < trials; ++trial) {
    const signal = Object.keys(numbers)[trial % 3];
    const [code, by] = await ended(signal, random(25));
    if (!(by === signal || code === 128 + numbers[signal] || code === 0)) bad.push(`${signal}: ${code} ${by}`);
  }
  say(bad.length === 0, `a signal during a write ends with it or after it, ${trials} trials`, bad.slice(0, 5).join('\n'));
  const whole = run(['job', 'verify', job]);
  say(whole.status === 0, 'the job is whole after all signals', whole.stdout + whole.stderr);
}

// An interrupt of a long search prints the best plan so far with its proven bound. The instance: a point
// of every triple, of the lines of the projective space of 3 dimensions over 2 elements, tripled (330 triples, 45 points):
// easy to cover, slow to prove.
{
  const space = [];
  for (let a = 1; a < 16; ++a) for (let b = a + 1; b < 16; ++b) if ((a ^ b) > b) space.push([a - 1, b - 1, (a ^ b) - 1]);
  const triples = [];
  for (const [a, b, c] of space) {
    for (let copy = 0; copy < 3; ++copy) triples.push([a, b, c].map((point) => copy * 15 + point));
    for (const [x, y, z] of [[a, b, c], [a, c, b], [b, a, c], [b, c, a], [c, a, b], [c, b, a]]) triples.push([x, 15 + y, 30 + z]);
  }
  for (let point = 0; point < 15; ++point) triples.push([point, 15 + point, 30 + point]);
  const offers = Array.from({ length: 45 }, (_, point) => ({ supplier: 's', part_number: `k${point}`, price: 1,
    contents: triples.flatMap((triple, at) => (triple.includes(point) ? [{ item: `t${at}`, quantity: 1 }] : [])) }));
  const path = join(folder, 'triples.json');
  writeFileSync(path, JSON.stringify({ name: 'triples', needs: triples.map((_, at) => ({ item: `t${at}`, quantity: 1 })), suppliers: [{ name: 's', shipping_charge: 0, free_shipping_from: null }], offers }));
  const child = spawn(kitgap, ['order', '--from', path, '--format', 'json', '--progress']);
  let out = '', told = '', asked = 0;
  child.stdout.on('data', (bytes) => (out += bytes));
  child.stderr.on('data', (bytes) => {
    told += bytes;
    if (asked === 0 && /best \d+, nothing below \d+/.test(told)) (asked = Date.now()), child.kill('SIGINT');
  });
  const code = await new Promise((done) => child.on('close', done));
  const waited = Date.now() - asked;
  const plan = code === 130 ? JSON.parse(out) : {};
  const bought = new Set((plan.buy ?? []).map(({ part_number }) => part_number));
  const covers = triples.every((triple) => triple.some((point) => bought.has(`k${point}`)));
  say(code === 130 && plan.status === 'feasible' && covers && bought.size === plan.total && plan.bound > 0 && plan.bound < plan.total,
    'an interrupt of `order` prints the best plan with its bound, status 130', `${code} ${told} ${out.slice(0, 300)}`);
  console.log(`ended ${waited} ms after the interrupt, ${plan.total} against a bound of ${plan.bound}`);
}
rmSync(folder, { recursive: true, force: true });

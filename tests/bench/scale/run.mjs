// The program against DuckDB (npm) and SQLite (Debian) on the same made-up tables in the same run, each a whole process
// pinned to one core, from CSV text to the last byte. Answers must be equal before a figure counts. Prints a line per
// workload with the ratio to the faster peer, and what got slower than in the last stored run (`ratios.json` beside this
// file; `--store` writes it). Not timed in tests: `node tests/bench/scale/run.mjs [--store] [--quick]`.
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { createReadStream, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { timed as timedRuns } from '../timed.mjs';

const here = dirname(fileURLToPath(import.meta.url));
const stored = join(here, 'ratios.json');
const facts = ['body', 'side', 'market', 'grade', 'seat'];
const match = [...facts.map((fact) => `(c.${fact} & r.${fact}) <> 0`), 'c.serial BETWEEN r.serial_lo AND r.serial_hi'].join(' AND ');

// What a peer is asked. Rows of ranges are best joined by their year, one row for each, where there are many cars.
const byYear = `SELECT c.car_id, r.item, count(*) AS hits, sum(r.count) AS total FROM c JOIN (SELECT *, unnest(generate_series(year_lo, year_hi)) AS year FROM r0) r ON c.year = r.year WHERE ${match} GROUP BY 1, 2`;
const byRange = `SELECT c.car_id, r.item, count(*) AS hits, sum(r.count) AS total FROM c JOIN r0 r ON c.year BETWEEN r.year_lo AND r.year_hi AND ${match} GROUP BY 1, 2`;
const kitSums = `WITH RECURSIVE t(item, q) AS (SELECT item, quantity::HUGEINT FROM d UNION ALL SELECT e.child, sum(t.q * e.quantity)::HUGEINT FROM t JOIN e ON e.parent = t.item GROUP BY 1)
  SELECT item, sum(q)::VARCHAR AS total FROM t WHERE item NOT IN (SELECT parent FROM e) GROUP BY item ORDER BY item`;

// --- the peer's own process: node run.mjs duck FOLDER JSON --------------------------------------------------------
async function duck(folder, { tables, sql, out }) {
  const { DuckDBInstance } = createRequire(resolve('tests/outside/package.json'))('@duckdb/node-api');
  const instance = await DuckDBInstance.create(':memory:', { threads: '1' });
  const connection = await instance.connect();
  for (const [name, file] of Object.entries(tables)) await connection.run(`CREATE TABLE ${name} AS FROM read_csv('${join(folder, file)}')`);
  if (out) {
    await connection.run(`COPY (${sql}) TO '${join(folder, out)}' (HEADER)`);
  } else {
    const reader = await connection.runAndReadAll(sql);
    // Ended only when all of it is written: a pipe takes its time.
    await new Promise((done) => process.stdout.write(`${reader.getRows().map((row) => row.map(String).join(' ')).join('\n')}\n`, done));
  }
}
if (process.argv[2] === 'duck') {
  await duck(process.argv[3], JSON.parse(process.argv[4]));
  process.exit(0);
}

const kitgap = resolve(process.env.KITGAP ?? '.build/bin/kitgap');
const folder = mkdtempSync(join(tmpdir(), 'kitgap-scale-'));
const quick = process.argv.includes('--quick');
const rows = quick ? 10_000 : 100_000;
const make = (...words) => spawnSync('node', [join(here, 'generate.mjs'), folder, ...words.map(String)], { stdio: 'inherit' });
// On one core, and without a cache unless one is named: what is measured from text must not find an index of an earlier run.
const timed = (command, runs, cache = '/dev/null') => {
  const [out, says] = ['out', 'says'].map((name) => join(folder, `timed-${name}`));
  const { seconds, wrong } = timedRuns(command, runs, { out, says, core: 1, env: { ...process.env, XDG_CACHE_HOME: cache } });
  const said = readFileSync(says, 'utf8');
  return Number.isNaN(seconds) ? { seconds, says: said || wrong } : { seconds, out: readFileSync(out, 'utf8'), says: said };
};
const peer = (asked, runs = 3) => timed(['node', fileURLToPath(import.meta.url), 'duck', folder, JSON.stringify(asked)], runs);
const hash = (file) => new Promise((done) => {
  const sum = createHash('sha256');
  createReadStream(join(folder, file)).on('data', (bytes) => sum.update(bytes)).on('end', () => done(sum.digest('hex')));
});

const before = existsSync(stored) ? JSON.parse(readFileSync(stored, 'utf8')) : {};
const ratios = {};
let bad = 0;
function tell(work, must, ours, peers, isEqual) {
  const best = Math.min(...Object.values(peers).filter((seconds) => !Number.isNaN(seconds)));
  const ratio = best / ours;
  const told = Object.entries(peers).map(([name, seconds]) => `${name} ${seconds.toFixed(2)}`).join(', ');
  if (!isEqual) ++bad;
  if (isEqual) ratios[work] = Number(ratio.toFixed(1));
  const last = before[work];
  const slower = last && ratio < 0.8 * last ? `; SLOWER, it was ${last} times` : '';
  console.log(`${work}: ${isEqual ? '' : 'THE ANSWERS DIFFER: '}kitgap ${ours.toFixed(3)} s, ${told} s: ${ratio.toFixed(1)} times (must ${must})${slower}`);
}

{
  make('rows', rows, 'cars', 1000);
  const ours = timed([kitgap, 'sweep', '--table', join(folder, `rows-${rows}.csv`), '--cars', join(folder, 'cars-1000.csv'), '--threads', '1', '--out', join(folder, 'ours.csv')], 5);
  const tables = { c: 'cars-1000.numbers.csv', r0: `rows-${rows}.numbers.csv` };
  const year = peer({ tables, sql: `SELECT car_id, item, total FROM (${byYear}) ORDER BY 1, 2`, out: 'year.csv' });
  const range = peer({ tables, sql: `SELECT car_id, item, total FROM (${byRange}) ORDER BY 1, 2`, out: 'range.csv' });
  const answers = await Promise.all(['ours.csv', 'year.csv', 'range.csv'].map(hash));
  tell(`${rows} rows x 1000 cars, totals written`, 8, ours.seconds, { 'DuckDB by year': year.seconds, 'DuckDB by range': range.seconds }, new Set(answers).size === 1);
}
{
  const cars = quick ? 10_000 : 100_000;
  make('rows', rows, 'cars', cars);
  const ours = timed([kitgap, 'sweep', '--table', join(folder, `rows-${rows}.csv`), '--cars', join(folder, `cars-${cars}.csv`), '--threads', '1', '--summary'], 3);
  const theirs = peer({ tables: { c: `cars-${cars}.numbers.csv`, r0: `rows-${rows}.numbers.csv` }, sql: `SELECT sum(hits)::BIGINT, count(*), sum(total)::BIGINT FROM (${byYear})` }, 1);
  const { matches, pairs, sum } = JSON.parse(ours.out);
  tell(`${rows} rows x ${cars} cars, summary`, 60, ours.seconds, { 'DuckDB by year': theirs.seconds }, theirs.out?.trim() === `${matches} ${pairs} ${sum}`);
  console.log(`  ${((ours.seconds * 1e9) / matches).toFixed(1)} ns a match, the whole process (must 12)`);
}
{
  const many = quick ? 100_000 : 1_000_000;
  make('rows', many, 'cars', 1);
  const ours = timed([kitgap, 'sweep', '--table', join(folder, `rows-${many}.csv`), '--cars', join(folder, 'cars-1.csv'), '--threads', '1', '--out', join(folder, 'ours.csv')], 5);
  const theirs = peer({ tables: { c: 'cars-1.numbers.csv', r0: `rows-${many}.numbers.csv` }, sql: `SELECT car_id, item, total FROM (${byRange}) ORDER BY 1, 2`, out: 'range.csv' });
  const sqlite = timed(['sh', '-c', `sqlite3 :memory: ".mode csv" ".import '${join(folder, 'cars-1.numbers.csv')}' c" ".import '${join(folder, `rows-${many}.numbers.csv`)}' r" "SELECT r.item+0, sum(r.count) FROM c JOIN r ON c.year+0 BETWEEN r.year_lo+0 AND r.year_hi+0 AND ${match.replaceAll(/([cr])\.(\w+)/g, '$1.$2+0')} GROUP BY 1 ORDER BY 1" > '${join(folder, 'sqlite.csv')}'`], 1);
  const plain = readFileSync(join(folder, 'ours.csv'), 'utf8').trim().split('\n').slice(1).map((line) => line.slice(line.indexOf(',') + 1)).join('\n');
  const equal = (await hash('ours.csv')) === (await hash('range.csv')) && plain === readFileSync(join(folder, 'sqlite.csv'), 'utf8').replaceAll('\r', '').trim();
  tell(`${many} rows x 1 car, from text`, 3, ours.seconds, { 'DuckDB by range': theirs.seconds, SQLite: sqlite.seconds }, equal);
  const sweep = [kitgap, 'sweep', '--table', join(folder, `rows-${many}.csv`), '--cars', join(folder, 'cars-1.csv'), '--threads', '1', '--out', join(folder, 'compiled.csv'), '--timings'];
  timed(sweep, 2, join(folder, 'cache'));  // the second run with few cars keeps the index
  const compiled = timed(sweep, 21, join(folder, 'cache'));
  const { from_cache, index_bytes } = JSON.parse(compiled.says.trim().split('\n').at(-1));
  tell(`${many} rows x 1 car, from a compiled table, the peer from text`, 100, compiled.seconds, { 'DuckDB by range': theirs.seconds }, from_cache && (await hash('compiled.csv')) === (await hash('range.csv')));
  console.log(`  the index takes ${(index_bytes / many).toFixed(1)} bytes a row (must 64)`);
}
{
  const edges = quick ? 100_000 : 1_000_000;
  make('edges', edges);
  const ours = timed([kitgap, 'rules', 'totals', '--edges', join(folder, `edges-${edges}.csv`), '--demand', join(folder, `demand-${edges}.csv`)], 5);
  const theirs = peer({ tables: { e: `edges-${edges}.csv`, d: `demand-${edges}.csv` }, sql: kitSums });
  const plain = ours.out?.trim().split('\n').slice(1).map((line) => line.replace(',', ' ')).filter((line) => !line.endsWith(' 0')).join('\n');
  tell(`totals of ${edges} edges`, 8, ours.seconds, { DuckDB: theirs.seconds }, plain === theirs.out?.trim());
}
{
  const few = quick ? 1_000 : 10_000;
  make('rows', few);
  const ours = timed([kitgap, 'rules', 'check', '--rows', join(folder, `rows-${few}.csv`), '--facts', ['year', ...facts].join(','), '--only', 'overlaps', '--format', 'json'], 21);
  const meet = facts.map((fact) => `(a.${fact} & b.${fact}) <> 0`).join(' AND ');
  const theirs = peer({ tables: { r0: `rows-${few}.numbers.csv` }, sql: `SELECT count(*) FROM r0 a JOIN r0 b ON a.rowid < b.rowid AND a.year_lo <= b.year_hi AND b.year_lo <= a.year_hi AND ${meet}` }, 1);
  tell(`overlapping pairs of ${few} rows in 6 columns, counted`, 300, ours.seconds, { DuckDB: theirs.seconds }, theirs.out?.trim() === String(JSON.parse(ours.out).overlaps));
}
for (const [table, must] of [['rows', ' (must 50)'], ['holes', '']]) {
  make(table, rows);
  const searched = timed([kitgap, 'rules', 'check', '--rows', join(folder, `${table}-${rows}.csv`), '--only', 'holes', '--format', 'json', '--timings', ...(table === 'rows' ? ['--facts', ['year', ...facts, 'serial'].join(',')] : [])], 5);
  const { holes, truncated } = JSON.parse(searched.out);
  console.log(`holes of ${rows} rows${table === 'holes' ? ', made with many thin ones' : ''}: ${truncated ? 'at least ' : ''}${holes} in ${(JSON.parse(searched.says).holes * 1000).toFixed(1)} ms after loading${must}, the whole process ${searched.seconds.toFixed(3)} s`);
}
rmSync(folder, { recursive: true });
if (process.argv.includes('--store') && bad === 0) writeFileSync(stored, `${JSON.stringify({ ...before, ...ratios }, null, 1)}\n`);
process.exit(bad === 0 ? 0 : 1);

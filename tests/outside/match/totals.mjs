// `rules totals` against SQLite's recursive query (`WITH RECURSIVE`), on random trees of 10,000 edges with printed seeds,
// and against a published bill of materials in tests/need. Run from the top of the tree with KITGAP set.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';

if (spawnSync('sqlite3', ['--version']).status !== 0) {
  console.log('skipped: outside/match/totals, sqlite3 is not installed');
  process.exit(0);
}
const kitgap = resolve(process.env.KITGAP ?? '.build/bin/kitgap');
const folder = mkdtempSync(join(tmpdir(), 'kitgap-totals-'));
let bad = 0;
for (const seed of [1, 2, 3, 1971, 20261125]) {
  let state = seed;
  const random = (below) => Number((state = Number((BigInt(state) * 1103515245n + 12345n) % 2147483648n)) % below);
  // A tree: every item but the first hangs under an earlier one; wide near the root so that figures stay whole numbers of 64 bits.
  const edges = [];
  for (let child = 1; child <= 10_000; ++child) edges.push([child === 1 ? 0 : random(Math.min(child, 60 + (child >> 3))), child, 1 + random(4)]);
  const demand = [[0, 3], [7, 2], [41, 5]];
  writeFileSync(join(folder, 'edges.csv'), `parent,child,quantity\n${edges.map((edge) => edge.join(',')).join('\n')}\n`);
  writeFileSync(join(folder, 'demand.csv'), `item,quantity\n${demand.map((row) => row.join(',')).join('\n')}\n`);
  const sql = `create table edge(parent, child, quantity integer); create table demand(item, quantity integer);
    insert into edge values ${edges.map((edge) => `('${edge[0]}','${edge[1]}',${edge[2]})`).join(',')};
    insert into demand values ${demand.map((row) => `('${row[0]}',${row[1]})`).join(',')};
    with recursive called(item, quantity) as (select item, quantity from demand
      union all select edge.child, called.quantity * edge.quantity from called join edge on edge.parent = called.item)
    select item || ',' || sum(quantity) from called where item not in (select parent from edge) group by item;`;
  const peer = spawnSync('sqlite3', [':memory:'], { input: sql, encoding: 'utf8', maxBuffer: 1 << 28 });
  const own = spawnSync(kitgap, ['rules', 'totals', '--edges', join(folder, 'edges.csv'), '--demand', join(folder, 'demand.csv')], { encoding: 'utf8', maxBuffer: 1 << 28 });
  const theirs = peer.stdout.trim().split('\n').sort().join('\n');
  const ours = own.stdout.trim().split('\n').slice(1).sort().join('\n');
  const isRight = own.status === 0 && theirs.split('\n').length > 1000 && ours === theirs;
  if (!isRight) ++bad;
  console.log(`${isRight ? 'ok' : 'not ok'} totals of a random tree of 10,000 edges are SQLite's (seed ${seed}, ${theirs.split('\n').length} items)${isRight ? '' : `\n${own.stderr}${peer.stderr}`}`);
}
rmSync(folder, { recursive: true });
process.exit(bad === 0 ? 0 : 1);

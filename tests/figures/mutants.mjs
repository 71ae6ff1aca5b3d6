// One operator at a time is turned round in the code of money, counts and rules, in a copy of the tree; the tests of that
// layer and those above it, and the golden cases, must notice. What does not compile counts for nothing. Prints each mutant
// that nobody noticed, the share that was caught, and `ok` or `not ok` (RELIABILITY R28: 85 % of 300).
//   node tests/figures/mutants.mjs [mutants] [seed]      300 take hours; `full` tier
import { spawnSync } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';

const wanted = Number(process.argv[2] ?? 300);
let state = Number(process.argv[3] ?? 20261127);
const random = (below) => {
  state = (state + 0x6d2b79f5) | 0;
  let t = Math.imul(state ^ (state >>> 15), 1 | state);
  t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
  return ((t ^ (t >>> 14)) >>> 0) % below;
};

// Where money, counts and rules are worked out, and the programs that look at it, quickest first.
const layers = {
  value: ['test_value', 'test_condition', 'test_measure', 'test_purchase', 'test_cover'],
  condition: ['test_condition', 'test_cover'],
  measure: ['test_measure', 'test_cover'],
  need: ['test_need', 'test_cover'],
  supply: ['test_supply', 'test_cover'],
  cover: ['test_cover'],
  arrival: ['test_arrival'],
  purchase: ['test_purchase'],
};
const turns = [[' < ', ' <= '], [' <= ', ' < '], [' > ', ' >= '], [' >= ', ' > '], [' == ', ' != '], [' != ', ' == '], [' && ', ' || '], [' || ', ' && '],
  [' + ', ' - '], [' - ', ' + '], [' += ', ' -= '], [' * ', ' + '], ['true', 'false'], ['false', 'true'], ['std::min(', 'std::max('], ['std::max(', 'std::min(']];

// And the scripts, each with the program; those whose peers are not here say so and end well.
const scripts = {
  value: ['tests/outside/condition/suite.mjs', 'tests/outside/condition/feelin.mjs', 'tests/report/verify.mjs'],
  condition: ['tests/outside/condition/suite.mjs', 'tests/outside/condition/feelin.mjs'],
  need: ['tests/report/verify.mjs'], supply: ['tests/report/verify.mjs'], cover: ['tests/report/verify.mjs'],
};

const folder = mkdtempSync(join(tmpdir(), 'kitgap-mutants-'));
const tree = join(folder, 'tree');
mkdirSync(tree);
if (existsSync('../shared')) symlinkSync(resolve('../shared'), join(folder, 'shared'));
for (const part of ['CMakeLists.txt', 'README.md', 'engine', 'rules', 'data', 'cli', 'tests']) cpSync(part, join(tree, part), { recursive: true, filter: (path) => !path.includes('node_modules') });
if (existsSync('tests/outside/node_modules')) symlinkSync(resolve('tests/outside/node_modules'), join(tree, 'tests/outside/node_modules'));
const build = join(tree, '.build-mutants');
const shell = (script, seconds) => spawnSync('bash', ['-c', script], { cwd: tree, encoding: 'utf8', maxBuffer: 1 << 28, timeout: seconds * 1000, killSignal: 'SIGKILL' });
const programs = [...new Set(Object.values(layers).flat())];
const make = (targets) => shell(`cmake --build ${build} --target ${targets.join(' ')}`, 1800);
shell(`cmake -S . -B ${build} -G Ninja -DCMAKE_BUILD_TYPE=Debug -DCMAKE_CXX_FLAGS_DEBUG=-O1 -DKITGAP_PCH=ON`, 120);
const first = make([...programs, 'kitgap']);
if (first.status !== 0) {
  console.log(`not ok mutants: the tree does not build\n${first.stdout.slice(-2000)}`);
  process.exit(1);
}

// What notices: the layer's programs, then the golden cases. Returns the name of the first, or nothing.
function noticed_by(layer) {
  for (const program of layers[layer]) {
    if (make([program]).status !== 0) return 'compiler';
    if (shell(join(build, program), 300).status !== 0) return program;
  }
  if (make(['kitgap']).status !== 0) return 'compiler';
  if (shell(`KITGAP=${build}/bin/kitgap bash tests/golden/run.sh`, 600).status !== 0) return 'golden';
  return (scripts[layer] ?? []).find((script) => shell(`KITGAP=${build}/bin/kitgap node ${script}`, 600).status !== 0) ?? '';
}
// Without any, nothing notices.
const fails = programs.find((program) => shell(join(build, program), 600).status !== 0) ?? (shell(`KITGAP=${build}/bin/kitgap bash tests/golden/run.sh`, 600).status !== 0 ? 'golden' : '');
if (fails !== '') {
  console.log(`not ok mutants: ${fails} fails without any`);
  process.exit(1);
}

const sites = [];
for (const layer of Object.keys(layers)) {
  for (const name of readdirSync(join('engine', layer)).filter((file) => file.endsWith('.cpp'))) {
    readFileSync(join('engine', layer, name), 'utf8').split('\n').forEach((line, at) => {
      const code = line.replace(/"(\\.|[^"\\])*"/g, (text) => '"'.repeat(text.length)).replace(/\/\/.*/, '');
      if (/^\s*(#|template|using|static_assert|constexpr)/.test(code) || /operator|std::string\("|" \+|\+ "/.test(code)) return;
      for (const [from, to] of turns) {
        const column = code.indexOf(from);
        if (column >= 0) sites.push({ layer, file: join('engine', layer, name), at, column, from, to });
      }
    });
  }
}
let caught = 0, tried = 0;
const missed = [];
const started = Date.now();
while (tried < wanted && sites.length > 0) {
  const { layer, file, at, column, from, to } = sites.splice(random(sites.length), 1)[0];
  const path = join(tree, file);
  const text = readFileSync(resolve(file), 'utf8');
  const lines = text.split('\n');
  lines[at] = lines[at].slice(0, column) + to + lines[at].slice(column + from.length);
  writeFileSync(path, lines.join('\n'));
  const by = noticed_by(layer);
  writeFileSync(path, text);
  if (by === 'compiler') continue;
  ++tried;
  if (by !== '') ++caught;
  else missed.push(`${file}:${at + 1}: ${from.trim()} as ${to.trim()}: ${lines[at].trim()}`);
  console.log(`${tried}: ${file}:${at + 1} ${from.trim()} as ${to.trim()}: ${by === '' ? 'NOT NOTICED' : `noticed by ${by}`} (${Math.round((Date.now() - started) / 1000)} s)`);
}
rmSync(folder, { recursive: true, force: true });
for (const each of missed) console.log(`missed ${each}`);
const share = (100 * caught) / Math.max(1, tried);
console.log(`measured: ${caught} of ${tried} turned operators noticed, ${share.toFixed(1)} %`);
console.log(`${share >= 85 ? 'ok' : 'not ok'} mutants: ${caught} of ${tried} noticed, ${share.toFixed(1)} %`);
process.exit(share >= 85 ? 0 : 1);

// One operator at a time is turned round in the code of money, counts and rules; the tests of that layer and those above
// it, and the golden cases, must notice. All of them are built once, into a copy of the tree, with a switch each
// (turned.h); a run of a test then turns one. What does not compile, or says the same with another type, counts for
// nothing; nor do those of alike.txt, which change no answer. Prints each mutant that nobody noticed, the share that was
// caught, and `ok` or `not ok` (RELIABILITY R28: 85 % of 300).
//   node tests/figures/mutants.mjs [mutants] [seed]      300 take about an hour on two processors; `full` tier
//   node tests/figures/mutants.mjs again FILE            those that an earlier run, whose output is in FILE, has missed; the
//                                                        share is that run's, with what is noticed now
import { spawn, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { availableParallelism, tmpdir } from 'node:os';
import { join, resolve } from 'node:path';

const earlier = process.argv[2] === 'again' ? readFileSync(process.argv[3], 'utf8') : '';
const missed_before = earlier.split('\n').filter((line) => line.startsWith('missed ')).map((line) => line.replace(/:\d+: /, ': '));
const again = earlier ? new Set(missed_before) : null;
const wanted = again ? Infinity : Number(process.argv[2] ?? 300);
const seed = Number(process.argv[3] ?? 20261127);

// Where money, counts and rules are worked out, and the programs that look at it, quickest first.
const layers = {
  value: ['test_value', 'test_condition', 'test_measure', 'test_purchase', 'test_cover', 'test_match', 'test_analyse', 'test_pack'],
  condition: ['test_condition', 'test_cover', 'test_match', 'test_analyse', 'test_pack'],
  measure: ['test_measure', 'test_cover', 'test_supply'],
  need: ['test_need', 'test_cover', 'test_analyse', 'test_purchase'],
  supply: ['test_supply', 'test_cover', 'test_arrival'],
  cover: ['test_cover', 'test_arrival'],
  arrival: ['test_arrival'],
  purchase: ['test_purchase'],
};
// And the scripts, each with the program; those whose peers are not here say so and end well.
const scripts = {
  value: ['tests/outside/condition/suite.mjs', 'tests/outside/condition/feelin.mjs', 'tests/report/verify.mjs'],
  condition: ['tests/outside/condition/suite.mjs', 'tests/outside/condition/feelin.mjs'],
  need: ['tests/report/verify.mjs'], supply: ['tests/report/verify.mjs'], cover: ['tests/report/verify.mjs'],
};

// What is looked for, what it becomes, and how that is written with a switch; `and` and `or` are written out twice.
const at = 'kitgap_turned::';
const binary = (name, op) => (number) => ` ${op} ${at}${name}<${number}>{} ${op} `;
const turns = [
  [/ < /g, '<=', binary('Less', '<')], [/ <= /g, '<', binary('LessEqual', '<=')], [/ > /g, '>=', binary('Greater', '>')],
  [/ >= /g, '>', binary('GreaterEqual', '>=')], [/ == /g, '!=', binary('Equal', '==')], [/ != /g, '==', binary('Unequal', '!=')],
  [/ \+ /g, '-', binary('Plus', '+')], [/ - /g, '+', binary('Minus', '-')], [/ \* /g, '+', binary('Times', '*')],
  [/ \+= /g, '-=', (number) => ` += ${at}Add<${number}>{} = `], [/ -= /g, '+=', (number) => ` -= ${at}Take<${number}>{} = `],
  [/(?<![\w<])true(?!\w)/g, 'false', (number) => `!${at}is_on<${number}>()`], [/(?<![\w<])false(?!\w)/g, 'true', (number) => `${at}is_on<${number}>()`],
  [/std::min\(/g, 'max', (number) => `${at}min<${number}>(`], [/std::max\(/g, 'min', (number) => `${at}max<${number}>(`],
  [/ && /g, '||', null], [/ \|\| /g, '&&', null],
];

// Code without its comments, and without what stands in literals; every place stays where it is.
const pieces = /\/\/[^\n]*|"(?:\\.|[^"\\\n])*"|'(?:\\.|[^'\\\n])'/g;
const without_comments = (text) => text.replace(pieces, (found) => (found[0] === '/' ? ' '.repeat(found.length) : found));
const without_literals = (text) => text.replace(pieces, (found) => (found[0] === '/' ? ' '.repeat(found.length) : found[0] + ' '.repeat(found.length - 2) + found[0]));

// The whole condition in which an `&&` or `||` stands: up to a bracket, comma, `||`, `?`, `:`, `=` or `return` on either side.
function condition_around(code, place, length) {
  const ends_at = (here) => {
    const one = code[here];
    if (one === ':') return code[here - 1] !== ':' && code[here + 1] !== ':';
    if (one === '=') return !'=!<>+-*/'.includes(code[here - 1]) && code[here + 1] !== '=';
    return ',;?'.includes(one) || (one === '|' && (code[here - 1] === '|' || code[here + 1] === '|'));
  };
  let first = place, last = place + length, depth = 0;
  for (; first > 0; --first) {
    if (')]}'.includes(code[first - 1])) ++depth;
    else if ('([{'.includes(code[first - 1]) && --depth < 0) break;
    else if (depth === 0 && (ends_at(first - 1) || code.slice(first - 7, first) === 'return ')) break;
  }
  for (depth = 0; last < code.length; ++last) {
    if ('([{'.includes(code[last])) ++depth;
    else if (')]}'.includes(code[last]) && --depth < 0) break;
    else if (depth === 0 && ends_at(last)) break;
  }
  return { first, last };
}

// What is said of a site in what this prints, and in alike.txt.
const key_of = (site) => `missed ${site.file}: ${site.from} as ${site.other}: ${site.line}`;
const named = (site) => `${site.file} | ${site.from.replace('(', '')} as ${site.other} | ${site.line}`;
const alike = new Set(readFileSync('tests/figures/alike.txt', 'utf8').split('\n').filter((line) => line && line[0] !== '#').map((line) => line.slice(0, line.lastIndexOf(' | '))));
const pictures = ['strip_picture.cpp', 'strip_json.cpp'];  // what is drawn, not what is counted

const sites = [], texts = new Map();  // as they were at the start, whatever is edited meanwhile
for (const layer of Object.keys(layers)) {
  for (const name of readdirSync(join('engine', layer)).filter((file) => file.endsWith('.cpp') && !pictures.includes(file))) {
    const file = join('engine', layer, name);
    const text = readFileSync(file, 'utf8');
    texts.set(file, text);
    const lines = text.split('\n').map((line) => line.trim());
    const code = without_literals(text);
    let begin = 0;
    code.split('\n').forEach((line, row) => {
      if (!/^\s*(#|template|using|static_assert|constexpr|requires|inline constexpr)|operator|if constexpr/.test(line)) {
        for (const [what, other, written] of turns) {
          for (const found of line.matchAll(what)) {
            const site = { layer, file, row, place: begin + found.index, length: found[0].length, from: found[0].trim(), other, written, line: lines[row] };
            if (again && !again.has(key_of(site))) continue;
            if (!written) Object.assign(site, condition_around(code, site.place, site.length));
            sites.push({ ...site, first_row: written ? row : code.slice(0, site.first).split('\n').length - 1 });
          }
        }
      }
      begin += line.length + 1;
    });
  }
}
const times_named = new Map();
for (const site of sites) {
  const times = times_named.get(named(site)) ?? 0;
  times_named.set(named(site), times + 1);
  site.rank = createHash('sha256').update(`${seed} ${named(site)} ${times}`).digest('hex');
}
sites.sort((a, b) => (a.rank < b.rank ? -1 : 1));
const known = new Set(times_named.keys());
const alike_keys = new Set(sites.filter((site) => alike.has(named(site))).map(key_of));
if (!again) for (const each of alike) if (!known.has(each)) console.log(`skipped: alike.txt names what is not there any more: ${each}`);
// Drawn at random, by what each is called: an edit elsewhere draws no others. Some more than wanted, for those that do not
// compile; two `and` or `or` do not share a condition.
let drawn = [], left_out = 0;
for (const site of sites) {
  if (drawn.length >= wanted * 1.25) break;
  if (alike.has(named(site))) {
    ++left_out;
    continue;
  }
  const shares = (other) => !site.written && !other.written && other.file === site.file && other.first < site.last && other.last > site.first;
  if (!drawn.some(shares)) drawn.push({ ...site, number: drawn.length + 1 });
}

// A file with the chosen sites in it; the lines stay where they are.
function written_anew(file, chosen) {
  const text = texts.get(file);
  const bare = without_comments(text);
  const switched = (source, first, last, turned) => {
    let out = '', done = first;
    for (const site of chosen.filter((each) => each.written || each === turned).sort((a, b) => a.place - b.place)) {
      if (site.place < first || site.place >= last) continue;
      out += source.slice(done, site.place) + (site === turned ? ` ${site.other} ` : site.written(site.number));
      done = site.place + site.length;
    }
    return out + source.slice(done, last);
  };
  let out = '', done = 0;
  for (const site of chosen.filter((each) => !each.written).sort((a, b) => a.first - b.first)) {
    const either = [site, null].map((turned) => `(${switched(bare, site.first, site.last, turned).replace(/\n/g, ' ')})`);
    out += `${switched(text, done, site.first, null)}(${at}is_on<${site.number}>() ? ${either.join(' : ')})`;
    out += '\n'.repeat(text.slice(site.first, site.last).split('\n').length - 1);
    done = site.last;
  }
  return out + switched(text, done, text.length, null);
}

const folder = mkdtempSync(join(tmpdir(), 'kitgap-mutants-'));
const tree = join(folder, 'tree');
mkdirSync(tree);
if (existsSync('../shared')) symlinkSync(resolve('../shared'), join(folder, 'shared'));
for (const part of ['CMakeLists.txt', 'README.md', 'engine', 'rules', 'data', 'cli', 'tests']) cpSync(part, join(tree, part), { recursive: true, filter: (path) => !path.includes('node_modules') });
if (existsSync('tests/outside/node_modules')) symlinkSync(resolve('tests/outside/node_modules'), join(tree, 'tests/outside/node_modules'));
const build = join(tree, '.build-mutants');
const shell = (script) => spawnSync('bash', ['-c', script], { cwd: tree, encoding: 'utf8', maxBuffer: 1 << 28 });
const programs = [...new Set(Object.values(layers).flat())];

// Built until everything compiles: a site on whose line the compiler complains is taken out.
shell(`cmake -S . -B ${build} -G Ninja -DCMAKE_BUILD_TYPE=Debug -DCMAKE_CXX_FLAGS_DEBUG=-O1 -DKITGAP_PCH=ON '-DCMAKE_CXX_FLAGS=-std=c++20 -w -include ${join(tree, 'tests/figures/turned.h')}'`);
const all_drawn = drawn.length;
for (let changed = [...new Set(drawn.map((site) => site.file))]; ;) {
  for (const file of changed) writeFileSync(join(tree, file), written_anew(file, drawn.filter((site) => site.file === file)));
  const made = shell(`cmake --build ${build} --target ${programs.join(' ')} kitgap -- -k 0`);
  if (made.status === 0) break;
  const complaints = new Set([...made.stdout.matchAll(/(engine\/\w+\/\w+\.cpp):(\d+)/g)].map((found) => `${found[1]}:${found[2]}`));
  const fits = (site) => !complaints.has(`${site.file}:${site.row + 1}`) && !complaints.has(`${site.file}:${site.first_row + 1}`);
  changed = [...new Set(drawn.filter((site) => !fits(site)).map((site) => site.file))];
  if (changed.length === 0) {
    console.log(`not ok mutants: the tree does not build\n${made.stdout.slice(-2000)}`);
    process.exit(1);
  }
  drawn = drawn.filter(fits);
}
console.log(`measured: of what was drawn ${left_out} change no answer, ${all_drawn - drawn.length} of the other ${all_drawn} do not compile`);
drawn = drawn.slice(0, wanted);

// One test with one operator turned: whether it notices, by its status, by a line `not ok`, or by taking ten times as long.
const tests = { golden: 'bash tests/golden/run.sh' };
for (const program of programs) tests[program] = `${join(build, program)} --abort-after=1`;
for (const script of Object.values(scripts).flat()) tests[script] = `node ${script}`;
function notices(name, number, seconds) {
  return new Promise((done) => {
    const cache = mkdtempSync(join(folder, 'cache-'));
    const environment = { ...process.env, KITGAP_TURNED: String(number), KITGAP: join(build, 'bin/kitgap'), XDG_CACHE_HOME: cache };
    const run = spawn('bash', ['-c', `ulimit -v 6000000; exec ${tests[name]}`], { cwd: tree, env: environment, detached: true, stdio: ['ignore', 'pipe', 'ignore'] });
    let noticed = false;
    const stop = () => {
      noticed = true;
      try { process.kill(-run.pid, 'SIGKILL'); } catch { /* it has just ended */ }
    };
    const clock = setTimeout(stop, seconds * 1000);
    run.stdout.on('data', (text) => { if (/^(not ok|FAIL) /m.test(text)) stop(); });
    run.on('close', (status) => {
      clearTimeout(clock);
      rmSync(cache, { recursive: true, force: true });
      done(noticed || status !== 0);
    });
  });
}
// Without any, nothing notices; that also says how long each takes.
const seconds = {};
for (const name of Object.keys(tests)) {
  const begun = Date.now();
  if (await notices(name, 0, 600)) {
    console.log(`not ok mutants: ${name} fails without any`);
    process.exit(1);
  }
  seconds[name] = 10 + (Date.now() - begun) / 100;
}

let caught = 0, tried = 0;
const missed = [], started = Date.now();
const waiting = [...drawn];
async function worker() {
  for (let site; (site = waiting.shift());) {
    let by = '';
    for (const name of [...layers[site.layer], 'golden', ...(scripts[site.layer] ?? [])]) {
      if (await notices(name, site.number, seconds[name])) { by = name; break; }
    }
    const where = `${site.file}:${site.row + 1}: ${site.from} as ${site.other}`;
    ++tried;
    if (by !== '') ++caught;
    else missed.push(`${where}: ${site.line}`);
    console.log(`${tried}: ${where}: ${by === '' ? 'NOT NOTICED' : `noticed by ${by}`} (${Math.round((Date.now() - started) / 1000)} s)`);
  }
}
await Promise.all(Array.from({ length: availableParallelism() }, worker));
rmSync(folder, { recursive: true, force: true });
for (const each of missed) console.log(`missed ${each}`);
console.log(`measured: ${caught} of ${tried} turned operators noticed, ${((100 * caught) / Math.max(1, tried)).toFixed(1)} %`);
if (again) {
  // Of the earlier run's those that change no answer are taken out, and those that are noticed now are added; what stands
  // there twice is noticed where each is, and what the code does not hold any more stays missed.
  const [, caught_before, tried_before] = earlier.match(/^measured: (\d+) of (\d+) turned operators/m).map(Number);
  const turned = new Set(drawn.map(key_of));
  const still_missed = new Set(missed.map((each) => `missed ${each.replace(/:\d+: /, ': ')}`));
  const counted = missed_before.filter((each) => !alike_keys.has(each));
  caught = caught_before + counted.filter((each) => turned.has(each) && !still_missed.has(each)).length;
  tried = tried_before - (missed_before.length - counted.length);
}
const share = (100 * caught) / Math.max(1, tried);
console.log(`${share >= 85 ? 'ok' : 'not ok'} mutants: ${caught} of ${tried} noticed, ${share.toFixed(1)} %`);
process.exit(share >= 85 ? 0 : 1);

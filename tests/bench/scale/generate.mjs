// Made-up tables for the scale benchmark: a fitting table with its cars, a graph of kits, a table with thin holes.
// Everything follows from the seed; nothing in it is any real car's.
// usage: node generate.mjs FOLDER rows M cars N   -> FOLDER/rows-M.csv, rows-M.numbers.csv, cars-N.csv, cars-N.numbers.csv
//        node generate.mjs FOLDER edges E         -> FOLDER/edges-E.csv, demand-E.csv
//        node generate.mjs FOLDER holes M         -> FOLDER/holes-M.csv
// rows-*.csv has S-FEEL cells for kitgap; *.numbers.csv has the same rows for the peers: ends of intervals, sets as bits.
import { closeSync, openSync, writeSync } from 'node:fs';
import path from 'node:path';
import process from 'node:process';

// xorshift128 (Marsaglia 2003), so that every machine makes the same tables.
export function randomFrom(seed) {
  let [x, y, z, w] = [123456789 ^ seed, 362436069, 521288629, 88675123 + seed];
  const next = () => {
    const t = x ^ (x << 11);
    [x, y, z] = [y, z, w];
    w = (w ^ (w >>> 19) ^ t ^ (t >>> 8)) >>> 0;
    return w;
  };
  for (let skipped = 0; skipped < 16; ++skipped) next();
  return { below: (end) => next() % end, chance: (percent) => next() % 100 < percent };
}

// Lines gathered to some megabytes before each write.
class Lines {
  constructor(file) { this.descriptor = openSync(file, 'w'); this.parts = []; this.size = 0; }
  add(line) {
    this.parts.push(line);
    if ((this.size += line.length) > 4e6) this.flush();
  }
  flush() { writeSync(this.descriptor, this.parts.join('')); this.parts = []; this.size = 0; }
  close() { this.flush(); closeSync(this.descriptor); }
}

const firstYear = 1950;
const years = 25;
const serials = 9_000_000;
const items = 5_000;
const words = {
  body: ['saloon', 'estate', 'drophead', 'coupe', 'van', 'pick-up', 'limousine', 'tourer'],
  side: ['left', 'right'],
  market: ['home', 'north', 'south', 'east', 'west', 'islands'],
  grade: ['plain', 'standard', 'fine', 'sport'],
  seat: ['bench', 'bucket', 'split', 'folding', 'swivel', 'high', 'low', 'rear bench'],
};
const facts = Object.keys(words);  // with the years 76,800 cells: 25 x 8 x 2 x 6 x 4 x 8

// Some of the first `of` values as bits; 0 stands for any.
function someOf(random, of, percentAny, most) {
  if (random.chance(percentAny)) return 0;
  let bits = 0;
  for (let left = 1 + random.below(most); left > 0; --left) bits |= 1 << random.below(of);
  return bits;
}

const cellOf = (bits, values) => {
  if (bits === 0) return '-';
  const named = values.filter((_, at) => bits & (1 << at));
  return named.length === 1 ? named[0] : `"${named.join(', ')}"`;
};

// A row that asks for a serial gets an interval, or one open upwards; three rows of five do not ask.
function serialsOf(random) {
  if (random.chance(60)) return [0, serials];
  const from = random.below(serials);
  if (random.chance(25)) return [from, serials];
  const other = random.below(serials);
  const lo = Math.floor(Math.min(from, other) / 2);
  return [lo, lo + Math.abs(from - other) + Math.floor(serials / 8)];
}

function writeRows(folder, count) {
  const random = randomFrom(count);
  const text = new Lines(path.join(folder, `rows-${count}.csv`));
  const numbers = new Lines(path.join(folder, `rows-${count}.numbers.csv`));
  text.add(`year,${facts.join(',')},serial,panel,item,count\n`);
  numbers.add(`year_lo,year_hi,${facts.join(',')},serial_lo,serial_hi,panel,item,count\n`);
  const percentAny = { body: 20, side: 50, market: 40, grade: 55, seat: 50 };
  const most = { body: 4, side: 1, market: 3, grade: 1, seat: 3 };
  for (let row = 0; row < count; ++row) {
    const lo = firstYear + random.below(years);
    const hi = Math.min(lo + random.below(10), firstYear + years - 1);
    const sets = facts.map((fact) => someOf(random, words[fact].length, percentAny[fact], most[fact]));
    const [from, to] = serialsOf(random);
    const serial = from === 0 && to === serials ? '-' : to >= serials ? `>= ${from}` : `[${from}..${to}]`;
    const rest = `panel-${random.below(40)},${random.below(items)},${1 + random.below(12)}\n`;
    text.add(`[${lo}..${hi}],${sets.map((bits, at) => cellOf(bits, words[facts[at]])).join(',')},${serial},${rest}`);
    const masks = sets.map((bits, at) => (bits === 0 ? (1 << words[facts[at]].length) - 1 : bits));
    numbers.add(`${lo},${hi},${masks.join(',')},${from},${to >= serials ? 2 * serials : to},${rest}`);
  }
  text.close();
  numbers.close();
}

// Few kinds of cars are many of the cars: the lesser of two draws. The first cars are the same whatever the count.
function writeCars(folder, count) {
  const random = randomFrom(7);
  const text = new Lines(path.join(folder, `cars-${count}.csv`));
  const numbers = new Lines(path.join(folder, `cars-${count}.numbers.csv`));
  text.add(`car_id,year,${facts.join(',')},serial\n`);
  numbers.add(`car_id,year,${facts.join(',')},serial\n`);
  const skewed = (end) => Math.min(random.below(end), random.below(end));
  for (let car = 1; car <= count; ++car) {
    const year = firstYear + 5 + random.below(years - 5);
    const values = facts.map((fact) => skewed(words[fact].length));
    const serial = random.below(serials);
    text.add(`${car},${year},${values.map((value, at) => words[facts[at]][value]).join(',')},${serial}\n`);
    numbers.add(`${car},${year},${values.map((value) => 1 << value).join(',')},${serial}\n`);
  }
  text.close();
  numbers.close();
}

// Kits in kits, 12 layers, 2.25 children to a kit on average, all kits of the first layer wanted.
function writeEdges(folder, count) {
  const random = randomFrom(count);
  const depth = 12;
  const wide = Math.round(count / depth / 2.25);
  const edges = new Lines(path.join(folder, `edges-${count}.csv`));
  edges.add('parent,child,quantity\n');
  let left = count;
  for (let layer = 0; layer < depth; ++layer) {
    const here = layer + 1 === depth ? left : Math.round(count / depth);
    left -= here;
    const parents = Array.from({ length: here }, (_, edge) => (edge < wide ? edge : random.below(wide))).sort((a, b) => a - b);
    for (const parent of parents) edges.add(`${layer * wide + parent},${(layer + 1) * wide + random.below(wide)},${1 + random.below(3)}\n`);
  }
  edges.close();
  const demand = new Lines(path.join(folder, `demand-${count}.csv`));
  demand.add('item,quantity\n');
  for (let item = 0; item < wide; ++item) demand.add(`${item},1\n`);
  demand.close();
}

// A table that covers everything but a thin stretch of serials here and there: years by bodies by grades, and in each
// of these the serials from end to end in rows that touch, every twentieth short of the next by a few numbers.
function writeHoles(folder, count) {
  const random = randomFrom(count);
  const text = new Lines(path.join(folder, `holes-${count}.csv`));
  text.add('year,body,grade,serial,item,count\n');
  const cells = years * words.body.length * words.grade.length;
  const each = Math.floor(count / cells);
  for (let cell = 0; cell < cells; ++cell) {
    const year = firstYear + (cell % years);
    const body = words.body[Math.floor(cell / years) % words.body.length];
    const grade = words.grade[Math.floor(cell / years / words.body.length)];
    let from = 0;
    for (let row = 0; row < each; ++row) {
      const to = row + 1 === each ? serials - 1 : Math.floor((serials / each) * (row + 1)) - random.below(1000);
      text.add(`${year},${body},${grade},[${from}..${to}],${random.below(items)},1\n`);
      from = to + 1 + (random.below(20) === 0 ? 1 + random.below(3) : 0);
    }
  }
  text.close();
}

export { facts, words, firstYear, years, serials };

if (process.argv[1] === new URL(import.meta.url).pathname) {
  const [folder, ...wanted] = process.argv.slice(2);
  for (let at = 0; at + 1 < wanted.length; at += 2) {
    const count = Number(wanted[at + 1]);
    ({ rows: writeRows, cars: writeCars, edges: writeEdges, holes: writeHoles })[wanted[at]](folder, count);
  }
}

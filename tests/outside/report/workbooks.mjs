// Tables that kitgap writes, opened by other people's programs: workbooks by exceljs and by LibreOffice, CSV by
// csv-parse and by LibreOffice. Values must be equal to those of the JSON answer, and no cell may become a formula
// (CWE-1236; the list of first characters is that of the OWASP page on CSV injection), whatever the names are.
// usage: node workbooks.mjs   with KITGAP=PROGRAM; run from anywhere.
import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import { createRequire } from 'node:module';
import os from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const require = createRequire(import.meta.url);
const ExcelJS = require('exceljs');
const parse = require('csv-parse/lib/sync');  // comes with tableschema
const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), '../../..');
const program = process.env.KITGAP ?? path.join(root, '.build/bin/kitgap');
const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'kitgap-workbooks-'));
process.on('exit', () => fs.rmSync(folder, { recursive: true, force: true }));
let bad = 0;

function check(name, wrong) {
  if (wrong === '' || wrong === 0 || wrong === undefined) return console.log(`ok ${name}`);
  bad += 1;
  console.log(`not ok ${name}: ${String(wrong).slice(0, 500)}`);
}

function run(words, input = undefined) {
  const result = spawnSync(program, words, { cwd: root, encoding: 'buffer', maxBuffer: 1 << 28, input });
  if (result.status > 1 || result.status === null) throw new Error(`kitgap ${words.join(' ')}: ${result.stderr}`);
  return result.stdout;
}

// One row of CSV by RFC 4180, nothing guarded: what a person's spreadsheet may have saved.
const csv_row = (cells) => cells.map((cell) => `"${cell.replaceAll('"', '""')}"`).join(',') + '\n';

const hostile = {
  equals: '=1+1', plus: '+1+1', minus: '-1+1', at: '@SUM(1+1)', call: "=HYPERLINK(\"https://example.invalid\";\"x\")", pipe: "=cmd|' /C calc'!A0",
  wide: '\uff1d1+1', wideplus: '\uff0b1+1', wideat: '\uff20SUM(1)', apostrophe: "'=1+1", quotes: '"=1+1', tag: '<script>alert(1)</script>', entity: '&lt;b&gt; & <b>',
  right: '\u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627', emoji: '\u{1f697}\u{1f9f5} caf\u00e9', long: 'x'.repeat(10000), longer: '\u{1f697}'.repeat(20000),
  escape: '_x0041_', comma: 'a,b;c', blanks: '  two  ', digits: '007', date: '1/2', percent: '5%', truth: 'TRUE', error: '#REF!', exponent: '1e3',
};

// A pack, a list and an order problem whose every name is one of these.
function write_hostile() {
  const keys = Object.keys(hostile);
  const pack = path.join(folder, 'pack');
  fs.mkdirSync(pack);
  const table = (name, columns, rows) => {
    fs.writeFileSync(path.join(pack, `${name}.csv`), csv_row(columns) + rows.map(csv_row).join(''));
    return { name, path: `${name}.csv`, type: 'table', format: 'csv', kitgap: { kind: name }, schema: { fields: columns.map((column) => ({ name: column, type: 'string' })) } };
  };
  const manifest = {
    name: 'hostile', version: '1.0.0',
    kitgap: { format: 1, facts: [{ name: 'model year', type: 'number', range: '[1966..1974]' }], positions: { front: { left: {}, right: {} } } },
    resources: [
      table('parts', ['part', 'name', 'kind', 'source'], [['panel', 'panel', 'assembly', ''], ...keys.map((key) => [key, hostile[key], 'piece', hostile[key]])]),
      table('needs', ['parent', 'at', 'part', 'quantity', 'source'], [['car', 'front.left', 'panel', '1', ''], ...keys.map((key, at) => ['panel', '', key, String(at + 1), hostile[key]])]),
    ],
  };
  fs.writeFileSync(path.join(pack, 'datapackage.json'), JSON.stringify(manifest));
  fs.writeFileSync(path.join(folder, 'car.json'), JSON.stringify({ name: 'car', facts: { 'model year': 1970 } }));
  fs.writeFileSync(path.join(folder, 'list.csv'), csv_row(['part number', 'description', 'quantity', 'note']) + keys.map((key) => csv_row([key, hostile[key].slice(0, 1000), '1', ''])).join(''));
  const suppliers = [hostile.equals, hostile.at].map((name) => ({ name, shipping_charge: 7.25, free_shipping_from: null, minimum_order: null }));
  fs.writeFileSync(path.join(folder, 'order.json'), JSON.stringify({
    needs: keys.map((key, at) => ({ item: hostile[key], quantity: at + 0.5 })), suppliers,
    offers: keys.map((key, at) => ({ supplier: suppliers[at % 2].name, part_number: hostile[key], price: 0.1 + at, contents: [{ item: hostile[key], quantity: 1 }], available: null, lead_time_days: null })),
  }));
  return ['check', path.join(folder, 'car.json'), path.join(folder, 'list.csv'), '--rules', pack];
}

async function sheets_by_exceljs(file) {
  const workbook = new ExcelJS.Workbook();
  await workbook.xlsx.readFile(file);
  return workbook;
}

const rows_of = (sheet) => {
  const rows = [];
  sheet.eachRow({ includeEmpty: true }, (row) => {
    const cells = [];
    for (let column = 1; column <= sheet.columnCount; ++column) cells.push(row.getCell(column).value ?? '');
    rows.push(cells);
  });
  return rows;
};

// The first difference between rows of texts and numbers; `wanted` are texts, numbers among them where `is_number`.
function difference(found, wanted) {
  if (found.length !== wanted.length) return `${found.length} rows, not ${wanted.length}`;
  for (let row = 0; row < wanted.length; ++row) {
    for (let column = 0; column < wanted[row].length; ++column) {
      if (found[row][column] !== wanted[row][column]) {
        return `row ${row + 1} column ${column + 1}: ${JSON.stringify(found[row][column])}, not ${JSON.stringify(wanted[row][column])}`;
      }
    }
  }
  return '';
}

// What the JSON of `check` says, as the rows that both tables must show.
function wanted_of_check(json) {
  const plain = (range) => [range.lo, range.hi];
  return json.lines.map((line) => [line.position, line.parent, line.part, null, line.status, ...plain(line.need), line.need.unit, ...plain(line.have), ...plain(line.gap),
    line.have.in_hand, line.have.on_order, line.have.planned, line.have.from_old, line.have.by_work, line.basis, line.stops_work ? 'yes' : 'no', line.action,
    line.because.map((reason) => reason.source).filter((source) => source).join('; ')]);
}

const longest = 32767;  // UTF-16 units in a cell of the programs that open workbooks
const mark = ' ... (cut)';

// A text past that length is cut and says so; `null` in `wanted` is not compared.
const is_cut_of = (cell, whole) => typeof cell === 'string' && cell.length <= longest && cell.endsWith(mark) && String(whole).startsWith(cell.slice(0, -mark.length));

function equal_but_cut(found, wanted) {
  const shown = found.map((row, at) => row.map((cell, column) => {
    const whole = wanted[at]?.[column];
    return whole === null || is_cut_of(cell, whole) ? whole : cell;
  }));
  return difference(shown, wanted);
}

const hostile_words = write_hostile();
const demo_words = (command) => [command, 'data/demo/home/car.json', 'data/demo/home/list.csv', '--rules', 'rules/demo', '--found', 'data/demo/home/found.csv'];
const books = new Map();
for (const [name, words] of [['check', demo_words('check')], 
  ['hostile', hostile_words], ['hostile-order', ['order', '--from', path.join(folder, 'order.json')]]]) {
  const file = path.join(folder, `${name}.xlsx`);
  run([...words, '--out', file]);
  fs.writeFileSync(path.join(folder, `${name}.csv`), run([...words, '--format', 'csv']));
  books.set(name, { words, file, json: JSON.parse(run([...words, '--format', 'json'])), csv: path.join(folder, `${name}.csv`) });
}

// exceljs: typed cells, equal values, frozen header, filter.
for (const [name, book] of books) {
  const workbook = await sheets_by_exceljs(book.file);
  book.workbook = workbook;
  const formulas = [];
  workbook.eachSheet((sheet) => sheet.eachRow((row) => row.eachCell((cell) => {
    if (![ExcelJS.ValueType.String, ExcelJS.ValueType.Number].includes(cell.type)) formulas.push(`${sheet.name} ${cell.address} type ${cell.type}`);
  })));
  check(`${name}: exceljs finds texts and numbers, nothing else`, formulas[0]);
  const unframed = workbook.worksheets.filter((sheet) => !(sheet.views[0]?.state === 'frozen' && sheet.views[0]?.ySplit === 1) || !sheet.autoFilter);
  check(`${name}: each sheet has its header frozen and filters`, unframed.map((sheet) => sheet.name).join(', '));
}
for (const name of ['check', 'hostile']) {
  const book = books.get(name);
  check(`${name}: exceljs reads what the JSON says`, equal_but_cut(rows_of(book.workbook.worksheets[0]).slice(1), wanted_of_check(book.json)));
}
const items = books.get('hostile-order').json.buy.map((line) => [line.id, line.supplier, line.part_number, line.packs, null, null, line.cost]);
check('hostile-order: exceljs reads what the JSON says', equal_but_cut(rows_of(books.get('hostile-order').workbook.worksheets[0]).slice(1), items));
const typed = rows_of(books.get('hostile').workbook.getWorksheet('List as read')).slice(1).map((row) => String(row[2]));
const lost = Object.keys(hostile).filter((key) => !typed.some((cell) => cell.includes(hostile[key].slice(0, 1000).trim())));
check('hostile: the list as read shows every row as it was typed', lost.join(', '));

// CSV: an independent parser and one apostrophe taken away give what was written; our own reader needs neither.
const trigger = /^'[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20']/u;
for (const name of ['check', 'hostile']) {
  const book = books.get(name);
  const rows = parse(fs.readFileSync(book.csv)).slice(1).map((row) => row.map((cell) => (trigger.test(cell) ? cell.slice(1) : cell)));
  const wanted = wanted_of_check(book.json).map((row) => row.map((cell) => (cell === null ? null : String(cell))));
  check(`${name}: csv-parse reads what the JSON says`, difference(rows.map((row, at) => row.map((cell, column) => (wanted[at]?.[column] === null ? null : cell))), wanted));
}

// LibreOffice: open all of them at once.
const office = spawnSync('soffice', ['--version'], { encoding: 'utf8' });
if (office.status !== 0) {
  console.log('skipped: workbooks in LibreOffice: soffice is not installed (libreoffice-calc-nogui)');
  process.exit(bad === 0 ? 0 : 1);
}
const out = path.join(folder, 'office');
function convert(filter, files, infilter = []) {
  const result = spawnSync('timeout', ['150', 'soffice', `-env:UserInstallation=file://${folder}/profile`, '--headless', ...infilter, '--convert-to', filter, '--outdir', out, ...files], { encoding: 'utf8' });
  if (result.status !== 0) throw new Error(`soffice: ${result.status} ${result.stderr}`);
}
const formulas_in = (file) => (fs.readFileSync(file, 'utf8').match(/table:formula=/g) ?? []).length;
const named = [...books.entries()];

// A control first: a cell that is a formula is found as one, so the count below can fail.
const control = new ExcelJS.Workbook();
control.addWorksheet('one').getCell('A1').value = { formula: '1+1', result: 2 };
await control.xlsx.writeFile(path.join(folder, 'control.xlsx'));
convert('fods', [path.join(folder, 'control.xlsx'), ...named.map(([, book]) => book.file)]);
check('control: LibreOffice shows a formula as a formula', formulas_in(path.join(out, 'control.fods')) === 1 ? '' : 'it does not');
for (const [name] of named) check(`${name}: no cell of the workbook is a formula in LibreOffice`, formulas_in(path.join(out, `${name}.fods`)));

// Raw values of the first sheet: `save cell contents as shown` off.
convert('csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false', named.map(([, book]) => book.file));
for (const name of ['check', 'hostile']) {
  const wanted = wanted_of_check(books.get(name).json).map((row) => row.map((cell) => (cell === null ? null : String(cell))));
  const rows = parse(fs.readFileSync(path.join(out, `${name}.csv`)), { relax_column_count: true }).slice(1);
  check(`${name}: LibreOffice reads what the JSON says`, equal_but_cut(rows, wanted));
}

// The CSV, opened with formulas evaluated (token 16 of the filter): guarded cells stay texts, and an unguarded one shows
// that the option does what it says.
fs.writeFileSync(path.join(folder, 'unguarded.csv'), 'a\n=1+1\n');
const csvs = named.map(([name, book]) => {
  const copy = path.join(folder, `csv-${name}.csv`);
  fs.copyFileSync(book.csv, copy);
  return copy;
});
convert('fods', [path.join(folder, 'unguarded.csv'), ...csvs], ['--infilter=CSV:44,34,76,1,,0,false,true,false,false,false,0,true']);
check('control: LibreOffice takes an unguarded =1+1 of a CSV for a formula', formulas_in(path.join(out, 'unguarded.fods')) === 1 ? '' : `${formulas_in(path.join(out, 'unguarded.fods'))} formulas`);
for (const [name] of named) check(`${name}: no cell of the CSV is a formula in LibreOffice`, formulas_in(path.join(out, `csv-${name}.fods`)));
process.exit(bad === 0 ? 0 : 1);

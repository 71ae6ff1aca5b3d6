'use strict';
// Files that kitgap ships and answers that it gives, checked by validators from outside:
//   packs       with `datapackage` and `tableschema` (the Frictionless project's own libraries),
//   JSON files  with `ajv` against data/schema (JSON Schema, draft 2020-12).
// usage: node validate.js [PROGRAM]   (or KITGAP=PROGRAM); without a program its answers are skipped.
// SHOW_REFUSALS=1 prints what the validators say of the files that are wrong on purpose.
const fs = require('fs');
const os = require('os');
const path = require('path');
const { spawnSync } = require('child_process');
for (const peer of ['ajv/dist/2020', 'datapackage', 'tableschema']) {
  try {
    require.resolve(peer);
  } catch {
    console.log(`skipped: packs and answers against their schemas: ${peer} is not installed (npm ci in tests/outside)`);
    console.log('0 passed, 0 failed, 1 skipped');
    process.exit(0);
  }
}
const Ajv2020 = require('ajv/dist/2020');
const { Schema } = require('tableschema');
const { read_json, descriptor_errors, pack_errors, table_errors } = require('./packs');

const kRoot = path.resolve(__dirname, '../../..');
const kSchemas = path.join(kRoot, 'data/schema');
const kKinds = path.join(kSchemas, 'tables');
const program = process.argv[2] || process.env.KITGAP;
const counts = { passed: 0, failed: 0, skipped: 0 };

function report(name, errors) {
  const is_good = errors.length === 0;
  counts[is_good ? 'passed' : 'failed'] += 1;
  console.log(`${is_good ? 'ok  ' : 'FAIL'} ${name}`);
  for (const error of errors.slice(0, 12)) console.log(`     ${error}`);
  if (errors.length > 12) console.log(`     and ${errors.length - 12} more`);
}

function skip(name, why) {
  counts.skipped += 1;
  console.log(`skipped: ${name}: ${why}`);
}

function expect_refused(name, errors) {
  report(name, errors.length > 0 ? [] : ['accepted, though it is wrong']);
  if (process.env.SHOW_REFUSALS) console.log(errors.map((error) => `     says: ${error}`).join('\n'));
}

const ajv = new Ajv2020({ allErrors: true, strict: true, allowUnionTypes: true, strictRequired: false });
const validators = new Map();

function json_errors(schema_name, value) {
  const validate = validators.get(schema_name);
  if (!validate) return [`no schema ${schema_name}`];
  return validate(value) ? [] : validate.errors.map((error) => `${error.instancePath || '/'} ${error.message}`);
}

function compile_schemas() {
  for (const file of fs.readdirSync(kSchemas).filter((name) => name.endsWith('.json')).sort()) {
    const name = path.basename(file, '.json');
    try {
      validators.set(name, ajv.compile(read_json(path.join(kSchemas, file))));
      report(`data/schema/${file} is a JSON Schema of draft 2020-12`, []);
    } catch (error) {
      report(`data/schema/${file} is a JSON Schema of draft 2020-12`, [error.message]);
    }
  }
}

async function check_kinds() {
  for (const file of fs.readdirSync(kKinds).sort()) {
    const schema = await Schema.load(read_json(path.join(kKinds, file)), { strict: false });
    report(`data/schema/tables/${file} is a Table Schema`, schema.errors.map(String));
  }
}

async function check_packs() {
  const directories = fs.readdirSync(path.join(kRoot, 'rules')).sort()
    .map((name) => path.join(kRoot, 'rules', name))
    .filter((directory) => fs.existsSync(path.join(directory, 'datapackage.json')));
  const all_facts = directories.flatMap((directory) =>
    (read_json(path.join(directory, 'datapackage.json')).kitgap.facts || []).map((fact) => fact.name));
  for (const directory of directories) {
    const manifest = read_json(path.join(directory, 'datapackage.json'));
    const name = path.relative(kRoot, directory);
    report(`${name} is a Data Package, its tables keep to their schemas`, await pack_errors(directory, kKinds, all_facts));
    report(`${name} keeps to datapackage-kitgap.json`, json_errors('datapackage-kitgap', manifest));
  }
}

// The pack of a person's own that `start` begins.
async function check_own_pack() {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'kitgap-own-'));
  try {
    const run = spawnSync(program, ['start', '--pack', folder, '--rules', 'rules/trade'], { encoding: 'utf8', cwd: kRoot });
    if (run.status !== 0) return report('start --pack writes a pack', [run.stderr]);
    const manifest = read_json(path.join(folder, 'datapackage.json'));
    report('start --pack: its manifest keeps to datapackage-kitgap.json', json_errors('datapackage-kitgap', manifest));
    report('start --pack: it is a Data Package', await descriptor_errors(folder));
  } finally {
    fs.rmSync(folder, { recursive: true });
  }
}

function files_below(directory, wanted) {
  return fs.readdirSync(directory, { withFileTypes: true }).sort((a, b) => (a.name < b.name ? -1 : 1)).flatMap((entry) => {
    const file = path.join(directory, entry.name);
    return entry.isDirectory() ? files_below(file, wanted) : wanted(file) ? [file] : [];
  });
}

function demo_cars() {
  return files_below(path.join(kRoot, 'data/demo'), (file) => file.endsWith('.json') && read_json(file).facts !== undefined);
}

function check_car_files() {
  for (const file of demo_cars()) report(`${path.relative(kRoot, file)} is a car file`, json_errors('car', read_json(file)));
}

// A check that cannot fail is worse than none: the validators must refuse what is wrong.
async function check_refusals() {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'kitgap-schema-'));
  try {
    const manifest = (columns) => ({ name: 'wrong', kitgap: { format: 1 }, resources: [
      { name: 'needs', path: 'needs.csv', kitgap: { kind: 'needs' },
        schema: { fields: columns.map((name) => ({ name, type: 'string' })) } }] });
    const write = (columns, text) => {
      fs.writeFileSync(path.join(folder, 'datapackage.json'), JSON.stringify(manifest(columns)));
      fs.writeFileSync(path.join(folder, 'needs.csv'), text);
    };
    write(['parent', 'part', 'quantity', 'effect'], 'parent,part,quantity,effect\ncar,clip,9,doubles\n');
    expect_refused('a word that is no effect is refused', await pack_errors(folder, kKinds));
    write(['parent', 'part', 'quantity'], 'parent,part,quantity\ncar,,9\n');
    expect_refused('a need without a part is refused', await pack_errors(folder, kKinds));
    write(['parent', 'part', 'colour'], 'parent,part,colour\ncar,clip,tan\n');
    expect_refused('a column that is neither of the kind nor a fact is refused', await pack_errors(folder, kKinds));
    write(['parent', 'part'], 'parent,part,quantity\ncar,clip,9\n');
    expect_refused('a schema with other columns than the file is refused', await pack_errors(folder, kKinds));
    fs.writeFileSync(path.join(folder, 'datapackage.json'), JSON.stringify({ kitgap: { format: 1 }, resources: [] }));
    expect_refused('a package without resources is refused', await pack_errors(folder, kKinds));
    fs.writeFileSync(path.join(folder, 'figures.csv'), 'price\ntwelve\n');
    expect_refused('a price in words is refused',
      await table_errors(path.join(folder, 'figures.csv'), { fields: [{ name: 'price', type: 'number' }] }));
  } finally {
    fs.rmSync(folder, { recursive: true });
  }
  expect_refused('a car file without facts is refused', json_errors('car', { name: 'x' }));
  expect_refused('a newer pack format is refused', json_errors('datapackage-kitgap',
    { name: 'x', kitgap: { format: 2 }, resources: [{ name: 'a', path: 'a.csv', kitgap: { kind: 'needs' } }] }));
  expect_refused('an order that is optimal and has no plan is refused',
    json_errors('order', { format: 'order/1', status: 'optimal' }));
}

function answer_of(args, input_name) {
  const run = spawnSync(program, args, { encoding: 'utf8', cwd: kRoot, maxBuffer: 1 << 28, timeout: 120000 });
  if (run.error) return { errors: [`${input_name}: ${run.error.message}`] };
  if (run.status !== 0 && run.status !== 1) return { errors: [`exit ${run.status}: ${run.stderr.split('\n').slice(0, 6).join(' | ')}`] };
  try {
    return { value: JSON.parse(run.stdout), errors: [], status: run.status };
  } catch (error) {
    return { errors: [`no JSON: ${error.message}`] };
  }
}

module.exports = { report, skip, json_errors, answer_of, demo_cars, kRoot, program };

async function main() {
  compile_schemas();
  await check_kinds();
  await check_packs();
  check_car_files();
  await check_refusals();
  if (!program) skip('answers of the program', 'no program named');
  else if (!fs.existsSync(program)) skip('answers of the program', `${program} is not built`);
  else {
    await check_own_pack();
    require('./answers').check_answers();
  }
  console.log(`${counts.passed} passed, ${counts.failed} failed, ${counts.skipped} skipped`);
  process.exitCode = counts.failed === 0 ? 0 : 1;
}

if (require.main === module) main();

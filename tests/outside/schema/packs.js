'use strict';
// Packs against the Data Package standard: the `datapackage` and `tableschema` libraries of the Frictionless project.
const fs = require('fs');
const path = require('path');
const { Package } = require('datapackage');
const { Schema, Table } = require('tableschema');

// The table reader adds a listener per row chunk and removes them all at the end; Node warns about it meanwhile.
require('events').defaultMaxListeners = 0;

function read_json(file) {
  return JSON.parse(fs.readFileSync(file, 'utf8'));
}

// Why a Data Package validator refuses the descriptor; empty: it accepts it.
async function descriptor_errors(directory) {
  const package_ = await Package.load(read_json(path.join(directory, 'datapackage.json')), { basePath: directory });
  const errors = package_.errors.map(String);
  for (const resource of package_.resources) {
    errors.push(...resource.errors.map((error) => `${resource.name}: ${error}`));
  }
  return errors;
}

// Every row of the file, read with `descriptor`: what the validator says of cells, rows and headers.
async function table_errors(file, descriptor) {
  const schema = await Schema.load(descriptor, { strict: false });
  const errors = schema.errors.map((error) => `${file}: ${error}`);
  const table = await Table.load(file, { schema, strict: false });
  const rows = await table.iter({ extended: true, stream: false, forceCast: true });
  for (;;) {
    const { value, done } = await rows.next();
    if (done) return errors;
    if (value instanceof Error) {
      const all = value.multiple ? value.errors : [value];
      errors.push(...all.map((error) => `${path.basename(file)} row ${value.rowNumber}: ${error.message}`));
    }
  }
}

function header_of(file) {
  const line = fs.readFileSync(file, 'utf8').split('\n', 1)[0].replace(/\r$/, '');
  return line.split(',').map((name) => name.replace(/^"|"$/g, ''));
}

// The kind's Table Schema for the columns that the file has; a column that is neither the kind's own nor a fact nor a
// property with a unit has no place in a pack.
function schema_for(file, resource, kind_schema, fact_names) {
  const own = new Map(kind_schema.fields.map((field) => [field.name, field]));
  const stated = new Map(resource.schema.fields.map((field) => [field.name, field]));
  const errors = [];
  const fields = header_of(file).map((name) => {
    if (own.has(name)) return own.get(name);
    const is_property = resource.kitgap.kind === 'parts' && stated.has(name) && stated.get(name).unit;
    if (is_property) return stated.get(name);
    if (!fact_names.has(name)) errors.push(`${path.basename(file)}: the column \`${name}\` is no column of the kind`);
    return { name, type: 'string' };
  });
  return { descriptor: { fields }, errors };
}

// The whole pack: descriptor, every table by the schema in its manifest, every table by the schema of its kind.
// `facts_below` are those of other packs that its tables may name.
async function pack_errors(directory, kinds_directory, facts_below = []) {
  const manifest = read_json(path.join(directory, 'datapackage.json'));
  const fact_names = new Set([...facts_below, ...(manifest.kitgap.facts || []).map((fact) => fact.name)]);
  const errors = await descriptor_errors(directory);
  for (const resource of manifest.resources) {
    const file = path.join(directory, resource.path);
    if (resource.schema && resource.schema.fields) {
      const names = resource.schema.fields.map((field) => field.name).join();
      if (names !== header_of(file).join()) errors.push(`${resource.path}: the schema names other columns than the file`);
      errors.push(...(await table_errors(file, resource.schema)));
    } else {
      errors.push(`${resource.path}: the manifest has no schema of its columns`);
      continue;
    }
    const kind_schema = read_json(path.join(kinds_directory, `${resource.kitgap.kind}.json`));
    const wanted = schema_for(file, resource, kind_schema, fact_names);
    errors.push(...wanted.errors, ...(await table_errors(file, wanted.descriptor)));
  }
  return errors;
}

module.exports = { read_json, descriptor_errors, pack_errors, table_errors };

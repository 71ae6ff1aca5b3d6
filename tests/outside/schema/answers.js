'use strict';
// The answers of the program itself, by the schemas that are published for them.
const fs = require('fs');
const os = require('os');
const path = require('path');
const { spawnSync } = require('child_process');
const { report, skip, json_errors, answer_of, demo_cars, kRoot, program } = require.main.exports;

const kRules = ['--rules', path.join(kRoot, 'rules/demo')];

// `rules check` and `job history` are commands of two words.
function command_of(args) {
  return args.slice(0, args[0] === 'rules' || args[0] === 'job' ? 2 : 1);
}

function has_command(command) {
  return spawnSync(program, [...command, '--help'], { encoding: 'utf8' }).status === 0;
}

function check_one(schema, name, args) {
  const command = command_of(args);
  if (!has_command(command)) {
    skip(name, `the program has no command ${command.join(' ')}`);
    return undefined;
  }
  const answer = answer_of(args, name);
  report(name, answer.errors.length ? answer.errors : json_errors(schema, answer.value));
  return answer;
}

// What the schema cannot say: sums and the exit status.
function check_sums(name, answer) {
  if (!answer || !answer.value || !answer.value.summary) return;
  const { summary, lines } = answer.value;
  const errors = [];
  const of = (word) => lines.filter((line) => line.status === word).length;
  const words = { covered: 'covered', move_over: 'move over', to_settle: 'to settle', short: 'short', missing: 'missing', does_not_fit: 'does not fit' };
  for (const [key, word] of Object.entries(words)) {
    if (summary[key] !== of(word)) errors.push(`summary.${key} is ${summary[key]}, there are ${of(word)} such lines`);
  }
  if (summary.needs !== lines.length) errors.push(`summary.needs is ${summary.needs}, there are ${lines.length} lines`);
  if ((answer.status === 1) !== summary.stops_work) errors.push(`exit ${answer.status}, but stops_work is ${summary.stops_work}`);
  const ids = new Set(lines.map((line) => line.id));
  if (ids.size !== lines.length) errors.push('two lines share an id');
  for (const check of answer.value.checks) {
    for (const id of check.lines) if (!ids.has(id)) errors.push(`a check names the line ${id}, which is not there`);
  }
  report(`${name}: sums, ids and exit status agree`, errors);
}

function check_cars() {
  for (const car of demo_cars()) {
    const folder = path.dirname(car);
    const own = path.join(folder, `${path.basename(car, '.json')}-list.csv`);
    const list = fs.existsSync(own) ? own : path.join(folder, 'list.csv');
    const files = ['stock', 'order', 'found'].filter((word) => fs.existsSync(path.join(folder, `${word}.csv`)))
      .flatMap((word) => [`--${word}`, path.join(folder, `${word}.csv`)]);
    const name = path.relative(kRoot, car);
    const with_list = check_one('check', `check ${name} with its list`, ['check', car, list, ...kRules, ...files, '--format', 'json']);
    check_sums(`check ${name}`, with_list);
    check_one('check', `check ${name} without a list`, ['check', car, ...kRules, '--format', 'json']);
    check_one('counts', `counts ${name}`, ['counts', car, ...kRules, '--format', 'json']);
    check_one('salvage', `salvage ${name}`, ['salvage', car, ...kRules, '--format', 'json']);
    check_one('ready', `ready ${name}`, ['ready', car, list, ...kRules, '--format', 'json']);
    check_one('why', `why ${name}`, ['why', car, 'clip-hole', ...kRules, '--format', 'json']);
  }
}

// A job file of the shop's cars: one screen, and one car's steps.
function check_job(cars) {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'kitgap-answers-'));
  const job = path.join(folder, 'shop.job');
  try {
    const made = spawnSync(program, ['start', '--job', job, '--from', cars, ...kRules], { encoding: 'utf8' });
    report('a job of the shop is made', made.status === 0 ? [] : [made.stderr]);
    check_one('check-job', 'check --job of the shop', ['check', '--job', job, '--format', 'json']);
    check_one('ready', 'ready --job of one car', ['ready', '--job', job, '--car', 'blue-saloon', '--rate', '40', '--format', 'json']);
    check_one('salvage', 'salvage --job of one car', ['salvage', '--job', job, '--car', 'blue-saloon', '--format', 'json']);
    check_one('job-history', 'job history of the shop', ['job', 'history', job, '--format', 'json']);
  } finally {
    fs.rmSync(folder, { recursive: true });
  }
}

function check_problems() {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'kitgap-answers-'));
  const write = (name, value) => {
    const file = path.join(folder, name);
    fs.writeFileSync(file, JSON.stringify(value));
    return file;
  };
  try {
    const order = { needs: [{ item: 'panel-clip', quantity: 60 }],
      suppliers: [{ name: 'S1', shipping_charge: 7.5, free_shipping_from: null, minimum_order: null }],
      offers: [{ supplier: 'S1', part_number: 'K-1', price: 12.5, contents: [{ item: 'panel-clip', quantity: 25 }], available: null, lead_time_days: null }] };
    report('the order problem keeps to its schema', json_errors('order-problem', order));
    check_one('order-years', 'order --years', ['order', '--years', '1968..1969', '--body', 'estate', '--with', 'market=home', ...kRules, '--format', 'json']);
    check_one('order', 'order --from', ['order', '--from', write('order.json', order), '--format', 'json']);
    const cut = { strip_width: 40, rotation: true, panels: [{ panel: 'a', width: 20, height: 10, quantity: 3 }] };
    report('the cut problem keeps to its schema', json_errors('cut-problem', cut));
    check_one('cut', 'cut --from', ['cut', '--from', write('cut.json', cut)]);
    const tables = [{ id: 't', inputs: [{ expr: 'Age', type: 'number', allowed: null }], outputs: [{ name: null, type: 'number' }],
      hit_policy: 'U', rules: [{ in: ['< 18'], out: ['1'] }, { in: ['[18..65]'], out: ['2'] }], cases: [] }];
    report('the decision tables keep to their schema', json_errors('decision-tables', tables));
    check_one('rules-check', 'rules check --tables', ['rules', 'check', '--tables', write('tables.json', tables), '--format', 'json']);
    check_one('rules-check', 'rules check rules/demo', ['rules', 'check', path.join(kRoot, 'rules/demo'), '--format', 'json']);
    check_one('years', 'years of rules/demo, home market', ['years', ...kRules, '--with', 'market=home', '--format', 'json']);
  } finally {
    fs.rmSync(folder, { recursive: true });
  }
  const home = path.join(kRoot, 'data/demo/home');
  check_one('found', 'found on the home car', ['found', path.join(home, 'car.json'), path.join(home, 'found.csv'), ...kRules, '--format', 'json']);
  check_job(path.join(kRoot, 'data/demo/shop/cars.csv'));
  check_one('receive', 'receive the order of the home demo', ['receive', path.join(home, 'order.csv'), path.join(home, 'counts.csv'), ...kRules, '--format', 'json']);
}

function check_answers() {
  check_cars();
  check_problems();
}

module.exports = { check_answers };

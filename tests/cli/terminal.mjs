// What the program does on a terminal and off it: pager, progress, colour, completion, manual page, nearest spelling.
// A terminal is made by util-linux's `script`. Run from the top of the tree with KITGAP set; prints `ok NAME`.
import { spawnSync } from 'node:child_process';
import { chmodSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';

const kitgap = resolve(process.env.KITGAP ?? '.build/bin/kitgap');
const folder = mkdtempSync(join(tmpdir(), 'kitgap-terminal-'));
const say = (isRight, name, why = '') => console.log(`${isRight ? 'ok' : 'not ok'} ${name}${isRight ? '' : `\n${why}`}`);
const run = (args, env = {}) => spawnSync(kitgap, args, { encoding: 'utf8', env: { ...process.env, ...env } });
const demo = 'data/demo/home';
const check = `check ${demo}/car.json ${demo}/list.csv --rules rules/demo`;
// The whole of what a terminal of `rows` by `columns` shows.
const onTerminal = (words, { rows = 24, columns = 80, env = {}, path = '$PATH' } = {}) =>
  spawnSync('script', ['-qec', `stty rows ${rows} cols ${columns}; PATH="${path}" exec '${kitgap}' ${words}`, '/dev/null'],
    { encoding: 'utf8', input: '', env: { ...process.env, TERM: 'xterm', NO_COLOR: '', ...env } }).stdout.replaceAll('\r\n', '\n');

// The pager: one that keeps what it gets.
const kept = join(folder, 'kept');
const pager = join(folder, 'pager');
writeFileSync(pager, `#!/bin/sh\ncat >'${kept}'\n`);
chmodSync(pager, 0o755);
const paged = (words, options) => {
  rmSync(kept, { force: true });
  const shown = onTerminal(words, { ...options, env: { PAGER: pager, ...options?.env } });
  return { shown, kept: existsSync(kept) ? readFileSync(kept, 'utf8') : null };
};
const plain = run(check.split(' ')).stdout;
const long = paged(check);
say(long.kept !== null && !long.shown.includes('Gap report'), 'pager: a long text goes through it', long.shown.slice(0, 300));
say(long.kept?.replace(/\x1b\[[0-9;]*m/g, '') === plain, 'pager: it gets the whole text, the words of a pipe', (long.kept ?? '').slice(0, 200));
say(paged('--version').kept === null, 'pager: a short text is shown at once');
rmSync(kept, { force: true });
run(check.split(' '), { PAGER: pager });
say(!existsSync(kept), 'pager: none where standard output is no terminal');
say(paged(check, { env: { TERM: 'dumb' } }).kept === null, 'pager: none on a dumb terminal');
for (const none of ['/nonexistent/pager', '', 'cat']) {
  say(onTerminal(check, { env: { PAGER: none } }).includes('Gap report'), `pager: with PAGER=\`${none}\` the text is printed`);
}
const none = onTerminal(check, { env: { PAGER: 'less' }, path: '/nonexistent' });
say(none.includes('Gap report'), 'pager: without `less` the text is printed', none.slice(0, 300));
writeFileSync(pager, '#!/bin/sh\nexec head -c 10 >/dev/null\n');
const left = spawnSync('script', ['-qec', `stty rows 24 cols 80; '${kitgap}' ${check}; echo "status $?"`, '/dev/null'], { encoding: 'utf8', input: '', env: { ...process.env, TERM: 'xterm', PAGER: pager } }).stdout;
say(left.includes('status 1'), 'pager: left before the end, the exit status is that of the report', left.slice(-200));

// Colour: on a terminal, never the only sign, and off when NO_COLOR is set (no-color.org).
const coloured = onTerminal(check, { env: { PAGER: 'cat' } });
const black = onTerminal(check, { env: { PAGER: 'cat', NO_COLOR: '1' } });
say(/\x1b\[[0-9;]*m/.test(coloured), 'colour: on a terminal');
say(!/\x1b/.test(black) && !/\x1b/.test(plain), 'colour: none with NO_COLOR, none in a pipe');
say(coloured.replace(/\x1b\[[0-9;]*m/g, '') === black, 'colour: without it the same words');
for (const columns of [50, 80, 120]) {
  const wide = onTerminal(check, { columns, env: { PAGER: 'cat', NO_COLOR: '1' } }).split('\n').filter((line) => line.length > columns);
  say(wide.length === 0, `width: every line fits ${columns} columns`, wide.slice(0, 3).join('\n'));
}

// Progress: from the first second on, wiped out before the answer; never where standard error is no terminal.
// Panels that no packing proves to be the best in three seconds (seeded).
let seed = 20261126;
const random = (below) => (seed = (seed * 1103515245 + 12345) % 2147483648) % below;
const panels = Array.from({ length: 45 }, (_, at) => ({ panel: `p${at}`, width: 110 + random(590), height: 110 + random(790), quantity: 1 }));
writeFileSync(join(folder, 'roll.json'), JSON.stringify({ strip_width: 1500, rotation: true, panels }));
const cut = `cut --from '${join(folder, 'roll.json')}' --time-limit 3`;
const slow = spawnSync('script', ['-qec', `'${kitgap}' ${cut} >/dev/null`, '/dev/null'], { encoding: 'utf8', input: '', env: { ...process.env, TERM: 'xterm' } }).stdout;
say(/still at work, +1 s.*still at work, +2 s/s.test(slow), 'progress: a run of more than a second says so on a terminal', slow.slice(0, 400));
say(/still at work[^\n]*\r +\r(?!.*still)/s.test(slow), 'progress: the line is wiped out at the end', JSON.stringify(slow.slice(-120)));
const quiet = spawnSync('sh', ['-c', `'${kitgap}' ${cut}`], { encoding: 'utf8' });
say(quiet.stdout.includes('cut/1') && !quiet.stderr.includes('still at work'), 'progress: nothing of it in a file', quiet.stderr);
say(!onTerminal('--version').includes('still'), 'progress: none for what takes no second');

// Nearest spelling.
for (const [words, says] of [['chekc x', 'did you mean `check`?'], ['check x --rulez y', 'did you mean `--rules`?'], ['order x --fromat=json', 'did you mean `--format`?'], ['rules chek x', '`rules` takes one more word'], ['--hlep', 'did you mean `--help`?'], ['--completion zsh', 'there is a script for no other shell']]) {
  const answer = run(words.split(' '));
  say(answer.status === 2 && answer.stderr.includes(says), `spelling: kitgap ${words}`, answer.stderr);
}

// The manual page and completion say what the help says.
const names = [...run(['--help']).stdout.matchAll(/^ {2}([a-z]+(?: [a-z]+)?) {2}/gm)].map((found) => found[1]);
const manual = run(['--man']).stdout;
const script = join(folder, 'kitgap.bash');
writeFileSync(script, run(['--completion', 'bash']).stdout);
say(names.length >= 25 && names.every((name) => manual.includes(`.SS kitgap ${name}`)), 'manual: every command of the help is in it');
const complete = (words) => spawnSync('bash', ['-c', `. '${script}'; COMP_WORDS=(${words.map((word) => `'${word}'`).join(' ')}); COMP_CWORD=$((\${#COMP_WORDS[@]} - 1)); _kitgap; printf '%s\\n' "\${COMPREPLY[@]}"`], { encoding: 'utf8' }).stdout.split('\n').filter(Boolean);
const bad = [];
for (const name of names) {
  const words = name.split(' ');
  if (!complete(['kitgap', ...words.slice(0, -1), words.at(-1).slice(0, 2)]).includes(words.at(-1))) bad.push(name);
  const options = [...run([...words, '--help']).stdout.matchAll(/^ {2}(--[a-z-]+)/gm)].map((found) => found[1]);
  const offered = complete(['kitgap', ...words, '--']);
  if (!options.every((option) => offered.includes(option) && manual.includes(option.replaceAll('-', '\\-')))) bad.push(`${name} ${options} ${offered}`);
}
say(bad.length === 0, 'completion: every command and every option of its help', bad.join('\n'));
say(complete(['kitgap', 'check', 'x', '--format', 'h']).join() === 'html', 'completion: the words of `--format`');
say(complete(['kitgap', 'check', 'x', '--rules', 'rules/d']).join() === 'rules/demo', 'completion: folders for `--rules`');
say(complete(['kitgap', 'check', 'README']).join() === 'README.md', 'completion: files elsewhere');
if (spawnSync('man', ['--version']).status === 0) {
  writeFileSync(join(folder, 'kitgap.1'), manual);
  const read = spawnSync('man', ['--warnings', '-l', join(folder, 'kitgap.1')], { encoding: 'utf8', env: { ...process.env, MANWIDTH: '80', PAGER: 'cat', MANPAGER: 'cat' } });
  say(read.status === 0 && read.stderr === '' && read.stdout.includes('EXIT STATUS'), 'manual: man(1) sets it without a warning', read.stderr.slice(0, 400));
} else {
  console.log('skipped: manual set by man(1), which is not installed');
}
rmSync(folder, { recursive: true });

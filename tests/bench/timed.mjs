// The median of some runs of a command, each timed by the shell that starts it: Node takes milliseconds to start anything.
import { spawnSync } from 'node:child_process';

// Seconds, NaN where a run ended with more than `most`, and then what the shell said of it; what the last run wrote lies
// in the files `out` and `says`. With `core` all of it runs on that one.
export function timed(command, runs, { most = 0, out = '/dev/null', says = '/dev/null', core, env = process.env } = {}) {
  const loop = `for ((run = 0; run < ${runs}; ++run)); do
    began=$EPOCHREALTIME; "$@" >'${out}' 2>'${says}'; status=$?; ended=$EPOCHREALTIME; [ $status -le ${most} ] || exit 1; echo $((\${ended/[.,]/} - \${began/[.,]/}))
  done`;
  const words = [...(core === undefined ? [] : ['taskset', '-c', String(core)]), 'bash', '-c', loop, 'bash', ...command];
  const shell = spawnSync(words[0], words.slice(1), { encoding: 'utf8', env });
  if (shell.status !== 0) return { seconds: NaN, wrong: shell.stderr };
  const seconds = shell.stdout.trim().split('\n').map((microseconds) => Number(microseconds) / 1e6).sort((a, b) => a - b);
  return { seconds: seconds[seconds.length >> 1] };
}

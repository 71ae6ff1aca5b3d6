#!/usr/bin/env bash
# Lines and branches of the engine's core that the tests of `ci` run, by gcov, counted by gcovr: the C++ tests, the golden
# cases, and the scripts that put the program to outside sources and to hostile files. Prints the figures of each layer and
# `ok` or `not ok` (RELIABILITY R28: 90 % of lines, 80 % of branches). `full` tier.
set -euo pipefail
tree=$(cd "$(dirname "$0")/../.." && pwd)
. "$tree/cli/install.sh"
cd "$tree"
install_packages $build_packages doctest-dev gcovr
build .build-coverage all -- -DCMAKE_BUILD_TYPE=Debug -DCMAKE_CXX_FLAGS_DEBUG="-O0 -g1 --coverage"
find .build-coverage -name '*.gcda' -delete
for program in .build-coverage/test_*; do "$program" >/dev/null 2>&1 || echo "not ok $program"; done
export KITGAP=$tree/.build-coverage/bin/kitgap
bash tests/golden/run.sh >/dev/null || echo "not ok golden"
bash tests/readme.sh >/dev/null || echo "not ok readme"
npm ci --prefix tests/outside --ignore-scripts --no-audit --no-fund --silent >/dev/null 2>&1 || echo "skipped: the packages of tests/outside cannot be had here"
for script in golden/rows.mjs report/verify.mjs cli/promises.mjs cli/places.mjs cli/three_months.mjs outside/match/totals.mjs \
  outside/schema/validate.js outside/condition/feelin.mjs outside/condition/suite.mjs outside/report/workbooks.mjs text/hostile.mjs; do
  node "tests/$script" >/dev/null 2>&1 || echo "not ok $script"
done
bad=0
# judge NAME FILTER: one line of figures.
judge() {
  gcovr -r . .build-coverage --filter "engine/$2/" --exclude-throw-branches --exclude-unreachable-branches -j 2 --print-summary -o "$work/report" >"$work/summary"
  sed -n 's/^\(lines\|branches\): \([0-9.]*\)% (\([0-9]* out of [0-9]*\)).*/\1 \2 \3/p' "$work/summary" | tr '\n' ' ' |
    sed "s/^/measured: $1: /"
  echo
}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
for layer in text value condition pack match measure need supply cover work arrival purchase analyse job report; do judge "$layer" "$layer"; done
judge "core together" "(value|condition|pack|match|measure|need|supply|cover|work|arrival|purchase)" | tee "$work/core"
read -r lines branches < <(sed 's/.*lines \([0-9.]*\) .*branches \([0-9.]*\) .*/\1 \2/' "$work/core")
if awk "BEGIN { exit !($lines >= 90 && $branches >= 80) }"; then echo "ok coverage of the core: $lines % of lines, $branches % of branches"
else echo "not ok coverage of the core: $lines % of lines, $branches % of branches"; bad=1; fi
exit $bad

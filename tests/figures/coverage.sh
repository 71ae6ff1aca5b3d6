#!/usr/bin/env bash
# Lines and branches of the engine's core that the C++ tests and the golden cases run, by gcov, counted by gcovr. Prints
# the figures of each layer and `ok` or `not ok` (RELIABILITY R28: 90 % of lines, 80 % of branches). `full` tier.
set -euo pipefail
tree=$(cd "$(dirname "$0")/../.." && pwd)
. "$tree/cli/install.sh"
cd "$tree"
install_packages $build_packages doctest-dev gcovr
build .build-coverage all -- -DCMAKE_BUILD_TYPE=Debug -DCMAKE_CXX_FLAGS_DEBUG="-O0 -g1 --coverage"
find .build-coverage -name '*.gcda' -delete
for program in .build-coverage/test_*; do "$program" >/dev/null 2>&1 || echo "not ok $program"; done
KITGAP=$tree/.build-coverage/bin/kitgap bash tests/golden/run.sh >/dev/null || echo "not ok golden"
KITGAP=$tree/.build-coverage/bin/kitgap bash tests/readme.sh >/dev/null || echo "not ok readme"
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

#!/usr/bin/env bash
# On a bare Debian 12, as root: installs what is missing, builds, runs the tests, and closes with 'N passed, N failed'.
#   tests/run.sh [quick|ci|full]     quick: what needs no sanitizer build and no npm; ci (the default): what .ci/run
#                                    runs; full: everything, hours
set -euo pipefail
tree=$(cd "$(dirname "$0")/.." && pwd)
tier=${1:-ci}
. "$tree/cli/install.sh"
cd "$tree"
passed=0
failed=0
started=$SECONDS

# count NAME PASSED FAILED
count() {
  passed=$((passed + $2))
  failed=$((failed + $3))
  echo "-- $1: $2 passed, $3 failed ($((SECONDS - started)) s)"
}

# A doctest program: its cases are counted one by one.
run_doctest() {
  local name=$1 out
  shift
  out=$(mktemp)
  local status=0
  KITGAP_TIER=$tier "$@" >"$out" 2>&1 || status=$?
  local ok bad
  ok=$(sed -n 's/^\[doctest\] test cases: *[0-9]* | *\([0-9]*\) passed.*/\1/p' "$out" | tail -1)
  bad=$(sed -n 's/^\[doctest\] test cases:.*| *\([0-9]*\) failed.*/\1/p' "$out" | tail -1)
  grep -h '^skipped: ' "$out" || true
  if [ $status -ne 0 ] || [ "${bad:-0}" != 0 ] || [ -z "$ok" ]; then
    tail -n 60 "$out"
    [ "${bad:-0}" != 0 ] || bad=1
  fi
  count "$name" "${ok:-0}" "${bad:-0}"
  rm -f "$out"
}

# A script that prints a line `ok NAME` or `not ok NAME` for each check.
run_script() {
  local name=$1 out
  shift
  out=$(mktemp)
  local status=0
  "$@" >"$out" 2>&1 || status=$?
  local ok bad
  ok=$(grep -c '^ok ' "$out" || true)
  bad=$(grep -cE '^(not ok|FAIL) ' "$out" || true)
  grep -hE '^(skipped|measured): ' "$out" || true
  if [ $status -ne 0 ] || [ "$bad" != 0 ]; then
    grep -v '^ok ' "$out" | tail -n 60
    [ "$bad" != 0 ] || bad=1
  fi
  count "$name" "$ok" "$bad"
  rm -f "$out"
}

install_packages $build_packages $test_packages
build .build kitgap -- -DCMAKE_BUILD_TYPE=Release -DKITGAP_TESTS=OFF -DKITGAP_PCH=ON
export KITGAP=$tree/.build/bin/kitgap
run_script layers bash tests/layers.sh
run_script golden bash tests/golden/run.sh
run_script golden/rows node tests/golden/rows.mjs
run_script readme bash tests/readme.sh
if [ "$tier" = quick ]; then
  build .build-quick all -- -DCMAKE_BUILD_TYPE=Debug -DKITGAP_PCH=ON
  tests_in=.build-quick
else
  build .build-checked all -- -DCMAKE_BUILD_TYPE=Debug -DCMAKE_CXX_FLAGS_DEBUG=-O1 -DKITGAP_SANITIZE=ON -DKITGAP_PCH=ON
  tests_in=.build-checked
fi
# Peers from npm, pinned; some are driven by the programs below.
has_peers=no
if [ "$tier" != quick ]; then
  if npm ci --prefix tests/outside --ignore-scripts --no-audit --no-fund --silent >/dev/null 2>&1; then has_peers=yes
  else echo "skipped: tests/outside, its packages cannot be had here"
  fi
fi
for program in "$tests_in"/test_*; do
  [ -x "$program" ] && run_doctest "$(basename "$program")" "$program"
done
if [ "$tier" != quick ]; then
  run_script report/verify node tests/report/verify.mjs
  run_script cli/promises env KITGAP_TIER=$tier node tests/cli/promises.mjs
  run_script cli/job_faults env KITGAP_TIER=$tier node tests/cli/job_faults.mjs
  run_script cli/places node tests/cli/places.mjs
  run_script cli/three_months node tests/cli/three_months.mjs
  run_script cli/terminal node tests/cli/terminal.mjs
  run_script cli/killed env KITGAP_TIER=$tier node tests/cli/killed.mjs
  run_script cli/archive bash tests/cli/archive.sh
  run_script browser node tests/browser/pages.mjs
  run_script outside/match/totals node tests/outside/match/totals.mjs
  if [ "$has_peers" = yes ]; then
    for script in schema/validate.js condition/feelin.mjs condition/suite.mjs report/workbooks.mjs; do
      run_script "outside/$script" node "tests/outside/$script"
    done
  fi
  run_script hostile env KITGAP_TIER=$tier node tests/text/hostile.mjs
  run_script fuzz-corpus bash tests/fuzz/replay.sh
fi
if [ "$tier" = full ]; then
  run_script fuzz bash tests/fuzz/run.sh 60
  run_script figures/coverage bash tests/figures/coverage.sh
  run_script figures/flakes bash tests/figures/flakes.sh
  run_script figures/mutants node tests/figures/mutants.mjs
fi
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]

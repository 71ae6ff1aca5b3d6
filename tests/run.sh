#!/usr/bin/env bash
# On a bare Debian 12, as root: installs what is missing, builds, runs the tests, and closes with 'N passed, N failed'.
#   tests/run.sh [quick|ci|full]     quick: what needs no sanitizer build and no npm; ci (the default): what .ci/run
#                                    runs; full: everything, hours
set -euo pipefail
tree=$(cd "$(dirname "$0")/.." && pwd)
tier=${1:-ci}
. "$tree/cli/install.sh"
cd "$tree"
started=$SECONDS
outcomes=$(mktemp -d)
trap 'kill $(jobs -p) 2>/dev/null || true; rm -rf "$outcomes"' EXIT

# start RUN NAME COMMAND...: as many tests at a time as there are processors; one that is cut off has failed.
start() {
  while [ "$(jobs -rp | wc -l)" -ge "$(nproc)" ]; do wait -n || true; done
  echo "0 1" >"$outcomes/${2//\//.}"
  "$@" &
}

# report NAME PASSED FAILED OUTPUT: what a test says is printed at once when it ends, so that no two are mixed.
report() {
  printf '%s-- %s: %s passed, %s failed (%s s)\n' "${4:+$4$'\n'}" "$1" "$2" "$3" "$((SECONDS - started))"
  echo "$2 $3" >"$outcomes/${1//\//.}"
}

# A doctest program: its cases are counted one by one.
run_doctest() {
  local name=$1 out status=0 ok bad said
  shift
  out=$(mktemp)
  KITGAP_TIER=$tier "$@" >"$out" 2>&1 || status=$?
  ok=$(sed -n 's/^\[doctest\] test cases: *[0-9]* | *\([0-9]*\) passed.*/\1/p' "$out" | tail -1)
  bad=$(sed -n 's/^\[doctest\] test cases:.*| *\([0-9]*\) failed.*/\1/p' "$out" | tail -1)
  said=$(grep '^skipped: ' "$out" || true)
  if [ $status -ne 0 ] || [ "${bad:-0}" != 0 ] || [ -z "$ok" ]; then
    said=$(tail -n 60 "$out")
    [ "${bad:-0}" != 0 ] || bad=1
  fi
  report "$name" "${ok:-0}" "${bad:-0}" "$said"
  rm -f "$out"
}

# A script that prints a line `ok NAME` or `not ok NAME` for each check.
run_script() {
  local name=$1 out status=0 ok bad said
  shift
  out=$(mktemp)
  "$@" >"$out" 2>&1 || status=$?
  ok=$(grep -c '^ok ' "$out" || true)
  bad=$(grep -cE '^(not ok|FAIL) ' "$out" || true)
  said=$(grep -E '^(skipped|measured): ' "$out" || true)
  if [ $status -ne 0 ] || [ "$bad" != 0 ]; then
    said=$(grep -v '^ok ' "$out" | tail -n 60)
    [ "$bad" != 0 ] || bad=1
  fi
  report "$name" "$ok" "$bad" "$said"
  rm -f "$out"
}

install_packages $build_packages $test_packages
build .build kitgap -- -DCMAKE_BUILD_TYPE=Release -DKITGAP_TESTS=OFF -DKITGAP_PCH=ON
export KITGAP=$tree/.build/bin/kitgap
start run_script layers bash tests/layers.sh
start run_script golden bash tests/golden/run.sh
start run_script golden/rows node tests/golden/rows.mjs
start run_script readme bash tests/readme.sh
if [ "$tier" = quick ]; then
  build .build-quick all -- -DCMAKE_BUILD_TYPE=Debug -DCMAKE_CXX_FLAGS_DEBUG=-O1 -DKITGAP_PCH=ON
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
# The longest first: it builds its targets with another compiler.
[ "$tier" = quick ] || start run_script fuzz-corpus bash tests/fuzz/replay.sh
for program in "$tests_in"/test_*; do
  [ -x "$program" ] && start run_doctest "$(basename "$program")" "$program"
done
if [ "$tier" != quick ]; then
  start run_script report/verify node tests/report/verify.mjs
  start run_script cli/promises env KITGAP_TIER=$tier node tests/cli/promises.mjs
  start run_script cli/job_faults env KITGAP_TIER=$tier node tests/cli/job_faults.mjs
  start run_script cli/places node tests/cli/places.mjs
  start run_script cli/three_months node tests/cli/three_months.mjs
  start run_script cli/terminal node tests/cli/terminal.mjs
  start run_script cli/killed env KITGAP_TIER=$tier node tests/cli/killed.mjs
  start run_script cli/archive bash tests/cli/archive.sh
  start run_script browser node tests/browser/pages.mjs
  start run_script outside/match/totals node tests/outside/match/totals.mjs
  if [ "$has_peers" = yes ]; then
    for script in schema/validate.js condition/feelin.mjs condition/suite.mjs report/workbooks.mjs; do
      start run_script "outside/$script" node "tests/outside/$script"
    done
  fi
  start run_script hostile env KITGAP_TIER=$tier node tests/text/hostile.mjs
fi
wait
if [ "$tier" = full ]; then  # one after the other: these build, or look at time
  run_script fuzz bash tests/fuzz/run.sh 60
  run_script figures/coverage bash tests/figures/coverage.sh
  run_script figures/flakes bash tests/figures/flakes.sh
  run_script figures/mutants node tests/figures/mutants.mjs
fi
cat "$outcomes"/* | {
  passed=0 failed=0
  while read -r ok bad; do passed=$((passed + ok)) failed=$((failed + bad)); done
  echo "$passed passed, $failed failed"
  [ "$failed" -eq 0 ]
}

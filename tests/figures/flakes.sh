#!/usr/bin/env bash
# The quick tests again and again: every run must end as the first one did (RELIABILITY R29: 20 runs, 100 for a release).
# Prints the time of a run and `ok` or `not ok`. `full` tier.
#   tests/figures/flakes.sh [RUNS]
set -uo pipefail
cd "$(dirname "$0")/../.."
runs=${1:-20}
first=""
differ=0
started=$SECONDS
for ((run = 1; run <= runs; ++run)); do
  outcome=$(bash tests/run.sh quick 2>/dev/null | sed -E 's/ \([0-9]+ s\)$//' | sort)
  [ $run = 1 ] && first=$outcome
  if [ "$outcome" != "$first" ]; then
    ((++differ))
    diff <(echo "$first") <(echo "$outcome") | head -20
  fi
done
echo "measured: a run of the quick tests takes $(((SECONDS - started) / runs)) s"
if [ $differ -eq 0 ]; then echo "ok $runs runs, no differing outcome"; else echo "not ok $differ of $runs runs end otherwise"; fi
[ $differ -eq 0 ]

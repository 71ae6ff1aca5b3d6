#!/usr/bin/env bash
# tests/fuzz/run.sh SECONDS: each target for that long; what it finds is kept beside the build.
cd "$(dirname "$0")/../.."
seconds=${1:-60}
bad=0
for target in .build-fuzz/fuzz_*; do
  [ -x "$target" ] && [ -f "$target" ] || continue
  name=$(basename "$target"); name=${name#fuzz_}
  found=.build-fuzz/found-$name
  mkdir -p "$found"
  cp -r tests/fuzz/corpus/"$name"/. "$found"/
  if "$target" -max_total_time="$seconds" -timeout=5 -rss_limit_mb=1024 -artifact_prefix=.build-fuzz/crash-"$name"- "$found" >.build-fuzz/"$name".log 2>&1; then
    echo "ok $name, $seconds s: $(grep -o 'stat::number_of_executed_units.*' .build-fuzz/"$name".log | tail -1)"
  else
    echo "not ok $name"; tail -30 .build-fuzz/"$name".log; bad=1
  fi
done
exit $bad

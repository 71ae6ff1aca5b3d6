#!/usr/bin/env bash
# Builds the fuzz targets and runs each on its stored corpus once, under the sanitizers.
cd "$(dirname "$0")/../.."
build=.build-fuzz
CC=clang CXX=clang++ cmake -S . -B $build -G Ninja -DCMAKE_BUILD_TYPE=Debug -DCMAKE_CXX_FLAGS_DEBUG=-O1 -DKITGAP_FUZZ=ON -DKITGAP_SANITIZE=ON -DKITGAP_TESTS=OFF >$build.log 2>&1 || { cat $build.log; exit 1; }
ninja -C $build fuzz_targets >$build.log 2>&1 || { tail -40 $build.log; exit 1; }
bad=0
for target in $build/fuzz_*; do
  [ -x "$target" ] && [ -f "$target" ] || continue
  name=$(basename "$target"); name=${name#fuzz_}
  corpus=tests/fuzz/corpus/$name
  if "$target" -runs=0 "$corpus" >$build.log 2>&1; then echo "ok $name on its corpus"
  else echo "not ok $name"; tail -30 $build.log; bad=1; fi
done
exit $bad

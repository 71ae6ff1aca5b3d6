#!/usr/bin/env bash
# Builds and runs the reading benchmark beside it (optimised, against libcsv).
set -euo pipefail
tree=$(cd "$(dirname "$0")/../../.." && pwd)
. "$tree/cli/install.sh"
cd "$tree"
install_packages $build_packages doctest-dev libcsv-dev
build .build-bench bench_reading -- -DCMAKE_BUILD_TYPE=Release -DKITGAP_PCH=ON
.build-bench/bench_reading

#!/usr/bin/env bash
# Golden cases: tests/golden/COMMAND/CASE holds `command` (what follows `kitgap`, run from the top of the tree) and
# the expected `stdout`, `stderr` and `status`. `--rewrite` writes them anew: read that diff as you would code.
cd "$(dirname "$0")/../.."
program=${KITGAP:-$PWD/.build/bin/kitgap}
rewrite=no
[ "${1:-}" = --rewrite ] && { rewrite=yes; shift; }
bad=0
shown=$(mktemp)
got=$(mktemp -d)
trap 'rm -rf "$got" "$shown"' EXIT
export PATH="$(dirname "$program"):$PATH" COLUMNS=80 LC_ALL=C.UTF-8
for case in tests/golden/*/*/command; do
  folder=$(dirname "$case")
  [ $# -eq 0 ] || [[ "$folder" == *"$1"* ]] || continue
  status=0
  sh -c "kitgap $(cat "$case")" >"$got/stdout" 2>"$got/stderr" </dev/null || status=$?
  echo "$status" >"$got/status"
  grep -oE '\[[a-z0-9-]+\]$' "$got/stderr" | tr -d '[]' >>"$shown" || true
  if [ $rewrite = yes ]; then
    cp "$got"/stdout "$got"/stderr "$got"/status "$folder/"
    continue
  fi
  if diff -q "$got/stdout" "$folder/stdout" >/dev/null && diff -q "$got/stderr" "$folder/stderr" >/dev/null &&
     diff -q "$got/status" "$folder/status" >/dev/null; then
    echo "ok $folder"
  else
    echo "not ok $folder"
    for part in stdout stderr status; do diff -u "$folder/$part" "$got/$part" | head -20; done
    bad=1
  fi
done
# Every diagnostic code has a golden case that shows it.
if [ $# -eq 0 ] && [ $rewrite = no ]; then
  for code in $(sed -n 's/.*string_view k[A-Za-z0-9]* = "\([a-z0-9-]*\)".*/\1/p' engine/text/codes.h); do
    if grep -qx -- "$code" "$shown"; then echo "ok a golden case shows [$code]"
    else echo "not ok no golden case shows [$code]"; bad=1; fi
  done
fi
exit $bad

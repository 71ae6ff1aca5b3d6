#!/usr/bin/env bash
# The archive that cpack makes is unpacked into an empty root that holds nothing but the C library's own files (Debian's
# libc6, which every system has), and the program is run there. Prints `ok NAME` or `not ok NAME`. Needs root for chroot.
set -euo pipefail
cd "$(dirname "$0")/../.."
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
if ! chroot / true 2>/dev/null; then echo "skipped: tests/cli/archive.sh, it needs root"; exit 0; fi
program=$(realpath "${KITGAP:-.build/bin/kitgap}")
build=$(dirname "$(dirname "$program")")
say() { if [ "$1" -eq 0 ]; then echo "ok $2"; else echo "not ok $2"; cat "$folder/out" "$folder/err"; exit 1; fi; }

status=0
(cd "$folder" && cpack --config "$build/CPackConfig.cmake" -G TGZ -B "$folder/made") >"$folder/out" 2>"$folder/err" || status=$?
say $status "cpack makes the archive"
root=$folder/root
mkdir "$root"
tar -xzf "$folder"/made/kitgap-*.tar.gz -C "$root" --strip-components=1
# The loader and libraries of libc6, where they lie.
dpkg -L libc6 | grep -E '^/(usr/)?lib.*\.so' | while read -r file; do
  [ -f "$file" ] && mkdir -p "$root$(dirname "$file")" && cp -L "$file" "$root$file"
done
demo=share/kitgap/data/demo/home
program() { status=0; chroot "$root" /bin/kitgap "$@" >"$folder/out" 2>"$folder/err" || status=$?; }

program --version
say $status "the program runs with the C library alone"
for format in text json csv html; do
  program check $demo/car.json $demo/list.csv --rules share/kitgap/rules/demo --format $format
  say $((status == 1 ? 0 : 1)) "check --format $format in an empty root"
  (cd "$root" && "$program" check $demo/car.json $demo/list.csv --rules share/kitgap/rules/demo --format $format) >"$folder/here" 2>/dev/null || true
  say "$(cmp -s "$folder/here" "$folder/out"; echo $?)" "check --format $format: as it is here"
done
program counts $demo/car.json --rules share/kitgap/rules/demo
say $status "counts in an empty root"
program start --job /shed.job --name amber --rules share/kitgap/rules/demo --no-input
say $status "a job file in an empty root"
program order $demo/car.json --rules share/kitgap/rules/demo
say $((status == 3 && $(grep -c 'libcbc\|solver' "$folder/err") > 0 ? 0 : 1)) "order says which library it lacks"
program check $demo/car.json --rules share/kitgap/rules/demo --out /gap.xlsx
say $((status == 3 && $(grep -c 'libxlsxwriter\|xlsx' "$folder/err") > 0 ? 0 : 1)) "a workbook says which library it lacks"

# The Debian package: installed, run as anybody would, removed again.
if dpkg-query -W -f='${Status}' kitgap 2>/dev/null | grep -q "install ok installed"; then echo "skipped: the Debian package, kitgap is installed here"; exit 0; fi
status=0
(cd "$folder" && cpack --config "$build/CPackConfig.cmake" -G DEB -B "$folder/made") >"$folder/out" 2>"$folder/err" || status=$?
say $status "cpack makes the Debian package"
status=0
dpkg -i "$folder"/made/kitgap_*.deb >"$folder/out" 2>"$folder/err" || status=$?
trap 'dpkg -P kitgap >/dev/null 2>&1; rm -rf "$folder"' EXIT
say $status "the Debian package installs"
installed() { status=0; (cd / && /usr/bin/kitgap "$@") >"$folder/out" 2>"$folder/err" || status=$?; }
share=/usr/share/kitgap
installed check $share/data/demo/home/car.json $share/data/demo/home/list.csv --rules $share/rules/demo
say $((status == 1 ? 0 : 1)) "the installed program checks the demonstration"
installed order $share/data/demo/shop/blue-saloon.json --rules $share/rules/demo
say $((status < 2 ? 0 : 1)) "the installed program finds its solver"
installed check $share/data/demo/home/car.json --rules $share/rules/demo --out "$folder/gap.xlsx"
say $((status < 2 && $(stat -c %s "$folder/gap.xlsx") > 5000 ? 0 : 1)) "the installed program writes a workbook"
say "$(test -f /usr/share/man/man1/kitgap.1 -o -f /usr/share/man/man1/kitgap.1.gz; echo $?)" "the manual page is installed"
say "$(bash -c '. /usr/share/bash-completion/completions/kitgap && complete -p kitgap' >/dev/null 2>&1; echo $?)" "completion is installed"
status=0
dpkg -P kitgap >"$folder/out" 2>"$folder/err" || status=$?
say $((status == 0 && $(ls /usr/bin | grep -c '^kitgap$') == 0 ? 0 : 1)) "the Debian package goes again"

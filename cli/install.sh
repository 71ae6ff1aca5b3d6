#!/usr/bin/env bash
# Installs what is missing on Debian 12 and says what it does. Sourced by cli/demo.sh and tests/run.sh.
# install_packages PACKAGE...: nothing is done where all are there.
set -euo pipefail

build_packages="g++ cmake ninja-build pkg-config libre2-dev libcli11-dev nlohmann-json3-dev libsqlite3-dev libzip-dev
  libexpat1-dev libxlsxwriter-dev coinor-libcbc-dev libutf8proc-dev libboost-dev"
test_packages="doctest-dev clang libclang-rt-14-dev nodejs npm sqlite3 units coinor-cbc glpk-utils libglpk-dev util-linux
  libreoffice-calc-nogui chromium python3-openpyxl"

install_packages() {
  local missing=() package
  for package in "$@"; do
    # A tool that is there already, from wherever, is not installed a second time.
    case "$package" in
      nodejs) command -v node >/dev/null && continue ;;
      npm) command -v npm >/dev/null && continue ;;
    esac
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'install ok installed' || missing+=("$package")
  done
  [ ${#missing[@]} -eq 0 ] && return 0
  echo "== installing: ${missing[*]}" >&2
  export DEBIAN_FRONTEND=noninteractive
  apt-get update -qq
  apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
}

# build FOLDER TARGETS... -- CMAKE-OPTIONS...
build() {
  local folder=$1 targets=() options=()
  shift
  while [ $# -gt 0 ] && [ "$1" != "--" ]; do targets+=("$1"); shift; done
  [ $# -gt 0 ] && shift
  options=("$@")
  echo "== building in $folder" >&2
  cmake -S "$tree" -B "$folder" -G Ninja "${options[@]}" >"$folder.log" 2>&1 || { cat "$folder.log" >&2; return 1; }
  NINJA_STATUS='[%f/%t %es] ' ninja -C "$folder" "${targets[@]}" >&2
}

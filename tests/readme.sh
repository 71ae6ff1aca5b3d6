#!/usr/bin/env bash
# Every example of README.md is run again: a block that begins with `$ kitgap ...` shows what the command prints.
# `--rewrite` puts the real output in.
cd "$(dirname "$0")/.."
program=${KITGAP:-$PWD/.build/bin/kitgap}
export PATH="$(dirname "$program"):$PATH" LC_ALL=C.UTF-8
new=$(mktemp)
trap 'rm -f "$new"' EXIT
bad=0
command=
while IFS= read -r line; do
  if [ -n "$command" ]; then
    [ "$line" = '```' ] || continue
    { sh -c "$command" 2>&1 </dev/null || true; printf '```\n'; } >>"$new"
    command=
    continue
  fi
  printf '%s\n' "$line" >>"$new"
  case "$line" in
    '$ kitgap '*) command=${line#'$ '} ;;
  esac
done <README.md
if [ "${1:-}" = --rewrite ]; then
  cp "$new" README.md
elif diff -u README.md "$new"; then
  echo "ok the examples of README.md print what it says"
else
  echo "not ok the examples of README.md print something else"
  bad=1
fi
# The examples of every command's help run.
for command in $(kitgap --help | sed -n '/^  [a-z]/s/^  \([a-z]* \?[a-z]*\)  .*/\1/p' | tr ' ' '_'); do
  name=${command//_/ }
  kitgap $name --help | sed -n '/^Examples/,/^$/s/^  kitgap /kitgap /p' | while IFS= read -r example; do
    case "$example" in *my-car*|*.job*|*'<'*) continue ;; esac
    sh -c "$example" >/dev/null 2>"$new" </dev/null
    status=$?
    if [ $status -le 1 ]; then echo "ok $example"; else echo "not ok $example: status $status"; head -5 "$new"; fi
  done
done
exit $bad

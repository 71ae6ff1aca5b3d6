#!/usr/bin/env bash
# Every example of README.md and of the guide is run again, in a folder of its own beside which nothing is written: a
# block that begins with `$ kitgap ...` shows what the command prints. In the guide a block headed `csv file=NAME` is a
# file of the session, `csv add=NAME` rows added to one. `--rewrite` puts the real output in.
cd "$(dirname "$0")/.."
root=$PWD
program=${KITGAP:-$PWD/.build/bin/kitgap}
export PATH="$(dirname "$program"):$PATH" LC_ALL=C.UTF-8
new=$(mktemp) session=$(mktemp -d) top=$(mktemp -d)
trap 'rm -rf "$new" "$session" "$top"' EXIT
ln -s "$root/rules" "$session/rules"
ln -s "$root/rules" "$root/data" "$top"
bad=0

# examples PAGE FOLDER MODE: the page's commands, run in the folder one after the other.
examples() {
  local page=$1 folder=$2 command= line file=
  : >"$new"
  while IFS= read -r line; do
    if [ -n "$command" ]; then
      [ "$line" = '```' ] || continue
      (cd "$folder" && sh -c "$command" 2>&1 </dev/null || true) >>"$new"
      printf '```\n' >>"$new"
      command=
      continue
    fi
    printf '%s\n' "$line" >>"$new"
    case "$line" in
      '```csv file='*) file=$folder/${line#*=}; : >"$file" ;;
      '```csv add='*) file=$folder/${line#*=} ;;
      '```') file= ;;
      '$ kitgap '*) command=${line#'$ '} ;;
      *) [ -z "$file" ] || printf '%s\n' "$line" >>"$file" ;;
    esac
  done <"$page"
  if [ "$3" = --rewrite ]; then
    cp "$new" "$page"
  elif diff -u "$page" "$new"; then
    echo "ok the examples of $page print what it says"
  else
    echo "not ok the examples of $page print something else"
    bad=1
  fi
}
examples README.md "$top" "${1:-}"
examples data/guide/trade.md "$session" "${1:-}"
examples data/guide/many-cars.md "$session" "${1:-}"

# The examples of every command's help run.
for command in $(kitgap --help | sed -n '/^  [a-z]/s/^  \([a-z]* \?[a-z]*\)  .*/\1/p' | tr ' ' '_'); do
  name=${command//_/ }
  kitgap $name --help | sed -n '/^Examples/,/^$/s/^  kitgap /kitgap /p' | while IFS= read -r example; do
    case "$example" in *my-car*|*.job*|*'<'*) continue ;; esac
    (cd "$top" && sh -c "$example") >/dev/null 2>"$new" </dev/null
    status=$?
    if [ $status -le 1 ]; then echo "ok $example"; else echo "not ok $example: status $status"; head -5 "$new"; fi
  done
done
exit $bad

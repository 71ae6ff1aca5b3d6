#!/usr/bin/env bash
# No include goes up: a file under engine/ uses its own folder and those before it.
cd "$(dirname "$0")/.."
layers="text value condition pack match measure need supply cover work arrival purchase analyse job report"
bad=0
rank() { local n=0 l; for l in $layers; do [ "$l" = "$1" ] && { echo $n; return; }; n=$((n + 1)); done; echo -1; }
declare -A rank_of
for layer in $layers; do rank_of[$layer]=$(rank "$layer"); done
while IFS=: read -r file line text; do
  from=$(echo "$file" | cut -d/ -f2)
  to=$(echo "$text" | sed -n 's/^#include "\([a-z]*\)\/.*/\1/p')
  [ -n "$to" ] || continue
  if [ -z "${rank_of[$to]:-}" ]; then
    echo "not ok $file:$line: \`$to\` is no layer"; bad=1
  elif [ "${rank_of[$to]}" -gt "${rank_of[$from]}" ]; then
    echo "not ok $file:$line: \`$from\` may not include \`$to\`"; bad=1
  fi
done < <(grep -n '^#include "' -r engine --include='*.h' --include='*.cpp')
[ $bad -eq 0 ] && echo "ok no include goes up"
# Two types of one name in two headers are one type to the linker: the wrong destructor runs.
twice=$(grep -rhoE '^(struct|class) [A-Z][A-Za-z0-9]*( \{| : | final)' engine cli --include='*.h' | sed -E 's/^(struct|class) ([A-Za-z0-9]+).*/\2/' | sort | uniq -d | tr '\n' ' ')
[ -z "$twice" ] && echo "ok no type is declared twice" || { echo "not ok declared in two headers: $twice"; bad=1; }
holders=$(grep -l 'CLI/CLI.hpp' -r engine cli tests --include='*.cpp' --include='*.h' | sort | tr '\n' ' ')
[ "$holders" = "cli/options.cpp " ] && echo "ok one file knows CLI11" || { echo "not ok CLI11 is included in: $holders"; bad=1; }
top=$(git ls-files | cut -d/ -f1 | sort -u | grep -vxE 'CMakeLists\.txt|README\.md|DEVELOPERS\.md|engine|rules|data|cli|tests|\..*' | tr '\n' ' ')
[ -z "$top" ] && echo "ok the top level holds what the design card allows" || { echo "not ok the top level holds: $top"; bad=1; }
exit $bad

# A job in a folder of its own, and `say`, which runs kitgap and shows what a person sees, less paths and times.
d=$(mktemp -d)
trap 'rm -rf "$d"' EXIT
J=$d/shed.job
say() {
  echo "\$ kitgap $*" | sed -e "s#$d/##g"
  s=0
  kitgap "$@" >"$d/shown" 2>&1 </dev/null || s=$?
  sed -e "s#$d/##g" -e 's/[0-9]\{4\}-[0-9][0-9]-[0-9][0-9]T[0-9:]*Z/TIME/g' -e 's/hash=[0-9a-f]*/hash=HASH/' -e "s/  $(id -un)  /  WHO  /" -e 's/, [0-9a-f]\{8\} \(then\|now\)/, HASH \1/g' -e 's/date=20[0-9-]*/date=DAY/g' "$d/shown"
  [ $s = 0 ] || echo "(status $s)"
}
begin() { kitgap start --job "$J" --rules tests/golden/job/pack --name amber --answer "body style=saloon" --no-input --by Ann 2>/dev/null; }

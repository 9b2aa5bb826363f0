#!/usr/bin/env bash
# Measures how time and memory grow: the figures of "How time and memory grow" in DEVELOPERS.md. Takes some minutes.
#
# measure.sh PROGRAM [TRACE ROWS]
set -euo pipefail
program=$(realpath "$1")
rows=${2:-10000000}
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"

measure() { # WHAT ARGUMENTS...
  local what=$1 status=0
  shift
  /usr/bin/time -f '%U s of processor, %M kB' -o time "$program" "$@" >out 2>&1 || status=$?
  # Limits and lints may be broken by an invented project (status 1); unreadable input is a mistake of the generator (status 2).
  [ "$status" -le 1 ] || { cat out >&2; exit 1; }
  printf '%-60s %s\n' "$what" "$(tail -n 1 time)"
}

for screens in 25 50 100 200; do
  rm -rf project c
  python3 "$here/project.py" project --screens "$screens" --locales 10
  measure "$screens screens x 10 locales, check" check project
  measure "$screens screens x 10 locales, budget" budget project
  measure "$screens screens x 10 locales, export" export project --to c --out c
  measure "$screens screens x 10 locales, report" report project --out report.html
done
for panel in mono-200x200 mono-250x122 mono-296x128 mono-400x300 mono-800x480; do
  rm -rf project c
  python3 "$here/project.py" project --panel "$panel"
  for verb in check budget; do measure "200 screens x 10 locales on $panel, $verb" "$verb" project; done
  measure "200 screens x 10 locales on $panel, export" export project --to c --out c
done
for elements in 2500 5000 10000 20000; do
  rm -rf project
  python3 "$here/project.py" project --screens 1 --locales 1 --elements "$elements"
  measure "$elements elements apart, check" check project
  python3 "$here/project.py" project --screens 1 --locales 1 --elements "$elements" --heap
  measure "$elements live texts in one heap, check" check project
done
for days in 7 30 366; do
  rm -rf project
  python3 "$here/project.py" project --screens 3 --locales 1 --every "1 min" --days "$days"
  measure "$days days at an update a minute, budget" budget project
done
# The cell is made as large as the life is to be long.
rm -rf project
python3 "$here/project.py" project --screens 3 --locales 1 --every "1 min" --days 30
for capacity in "900 mAh" "80 Ah"; do
  measure "30 days at an update a minute, a cell of $capacity, budget" budget project --set "battery.capacity=$capacity" \
    --set "battery.shelf-life=30 year" --set panel.rated-refreshes=1000000000 --set "board.mcu.sleep=1 uA"
done
for count in $((rows / 100)) $((rows / 10)) "$rows"; do
  python3 "$here/trace.py" "$count" > trace.csv
  measure "trace of $count rows, $(($(stat -c %s trace.csv) / 1000000)) MB" trace trace.csv
done

#!/usr/bin/env bash
# Instructions that three key paths take, counted by valgrind's callgrind, against tests/faults/counts.txt: a slow-down
# shows without the noise of a clock. The counts belong to one version of the compiler; with another they are only shown.
#
# counts.sh PROGRAM [--record]
set -euo pipefail
program=$(realpath "$1")
here=$(cd "$(dirname "$0")/../.." && pwd)
record=$here/tests/faults/counts.txt
command -v valgrind >/dev/null || { echo "valgrind is not installed: nothing counted"; exit 0; }
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$here"

count() { # NAME COMMAND...
  local name=$1
  shift
  RAYON_NUM_THREADS=1 valgrind --tool=callgrind --callgrind-out-file="$work/out" "$@" >/dev/null 2>"$work/log"
  echo "$name $(sed -n 's/.*Collected : \([0-9]*\).*/\1/p' "$work/log")"
}

found=$(
  echo "rustc $(rustc --version | cut -d' ' -f2)"
  count check "$program" check screens-demo --format json
  count a-week-of-use "$program" budget screens-demo --format json
  count export "$program" export screens-demo --to c-live,json --out "$work/firmware"
)
if [ "${2:-}" = --record ]; then
  echo "$found" >"$record"
fi
echo "$found"
[ -e "$record" ] || { echo "counts.sh: there is no record; make one with --record" >&2; exit 1; }
[ "$(head -1 "$record")" = "$(echo "$found" | head -1)" ] || { echo "another compiler than that of the record"; exit 0; }
while read -r name now; do
  [ "$name" = rustc ] && continue
  before=$(sed -n "s/^$name //p" "$record")
  awk -v n="$now" -v b="$before" -v name="$name" 'BEGIN {
    if (n > 1.05 * b) { printf "%s takes %.1f %% more instructions than recorded\n", name, 100 * (n / b - 1); exit 1 }
    if (n < 0.90 * b) printf "%s takes %.1f %% fewer: record it with --record\n", name, 100 * (1 - n / b)
  }'
done <<<"$found"

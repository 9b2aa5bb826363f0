#!/usr/bin/env bash
# The same input gives the same bytes: every output of the demo, hashed across numbers of threads, orders in which the
# project's files came into their folders, time zones, locales, and two builds of the program.
#
# same.sh PROGRAM OTHER_BUILD
set -euo pipefail
programs=("$(realpath "$1")" "$(realpath "$2")")
here=$(cd "$(dirname "$0")/../.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# A copy whose files were made in another order.
shuffled() { # ORDER FOLDER
  (cd "$here/screens-demo" && find . -type f | LC_ALL=C sort "$1") | while IFS= read -r file; do
    mkdir -p "$2/$(dirname "$file")"
    cp "$here/screens-demo/$file" "$2/$file"
  done
}
mkdir "$work/a" "$work/b"
shuffled --reverse "$work/a/screens-demo"
shuffled --random-sort "$work/b/screens-demo"

hashes() { # PROGRAM FOLDER-WITH-THE-DEMO
  local out
  out=$(mktemp -d "$work/out.XXXX")
  (
    cd "$2"
    "$1" budget screens-demo --format json >"$out/budget.json"
    "$1" budget screens-demo >"$out/budget.txt"
    "$1" check screens-demo --format json >"$out/check.json"
    "$1" render screens-demo --out "$out/pictures" >/dev/null
    "$1" export screens-demo --to c-live,json,rust,xbm --out "$out/firmware" >/dev/null
    "$1" report screens-demo --out "$out/report.html" >/dev/null 2>&1
    "$1" sweep screens-demo board.mcu.sleep 1uA..9uA --steps 3 --format csv >"$out/sweep.csv"
    "$1" trace screens-demo/traces/bench-current.csv --format json >"$out/trace.json"
  )
  (cd "$out" && find . -type f ! -name '.inkjoule-files' | LC_ALL=C sort | xargs sha256sum)
  rm -rf "$out"
}

first=$(hashes "${programs[0]}" "$here")
same() { # WHAT, then as hashes
  local what=$1 found
  shift
  found=$(hashes "$@")
  if [ "$found" != "$first" ]; then
    echo "same.sh: other bytes with $what" >&2
    diff <(echo "$first") <(echo "$found") >&2 || true
    exit 1
  fi
  echo "same bytes with $what"
}
same "another build" "${programs[1]}" "$here"
same "files made in reverse order" "${programs[0]}" "$work/a"
same "files made in random order" "${programs[0]}" "$work/b"
for threads in 1 2 8; do RAYON_NUM_THREADS=$threads same "$threads threads" "${programs[0]}" "$here"; done
for zone in UTC Asia/Kathmandu Pacific/Kiritimati; do TZ=$zone same "the time zone $zone" "${programs[0]}" "$here"; done
LC_ALL=C same "the locale C" "${programs[0]}" "$here"
echo "$(echo "$first" | wc -l) files, the same bytes each time"

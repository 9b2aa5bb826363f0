#!/usr/bin/env bash
# How the work of `check` grows with a project, in instructions counted by valgrind's callgrind: with screens, with
# locales, and with live texts that lie all over one another, the worst there is for the search for overlaps. Fails where
# the growth is more than stated; a square law would be the square of the factor.
#
# growth.sh PROGRAM
set -euo pipefail
program=$(realpath "$1")
here=$(cd "$(dirname "$0")/.." && pwd)
command -v valgrind >/dev/null || { echo "valgrind is not installed: nothing counted"; exit 0; }
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"

count() { # ARGUMENTS OF THE GENERATOR...
  local status=0
  rm -rf project
  python3 "$here/scale/project.py" project "$@"
  RAYON_NUM_THREADS=1 valgrind --tool=callgrind --callgrind-out-file=out "$program" check project --format json >/dev/null 2>log || status=$?
  # Lints may find something in an invented project (status 1); unreadable input is a mistake of the generator (status 2).
  [ "$status" -le 1 ] || { cat log >&2; exit 1; }
  sed -n 's/.*Collected : \([0-9]*\).*/\1/p' log
}

grows() { # WHAT TIMES MOST FIXED SMALL LARGE
  awk -v what="$1" -v times="$2" -v most="$3" -v fixed="$4" -v small="$5" -v large="$6" 'BEGIN {
    ratio = (large - fixed) / (small - fixed)
    printf "%s times the %s: %.2f times the instructions beyond %.0f million, at most %s\n", times, what, ratio, fixed / 1e6, most
    exit !(small - fixed > 1e6 && ratio <= most)
  }'
}

one=$(count --screens 1 --locales 1)
one_locale=$(count --screens 16 --locales 1)
small=$(count --screens 16 --locales 2)
grows "further screens" 4.2 6 "$one" "$small" "$(count --screens 64 --locales 2)"
grows "further locales" 7 9 "$one_locale" "$small" "$(count --screens 16 --locales 8)"
grows "live texts in one heap" 10 20 "$one" "$(count --screens 1 --locales 1 --elements 200 --heap)" \
  "$(count --screens 1 --locales 1 --elements 2000 --heap)"

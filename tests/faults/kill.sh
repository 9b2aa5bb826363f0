#!/usr/bin/env bash
# Kills the program at random moments while it writes, and looks at what is left: every file is old or new, never half;
# a folder that was not there is there with all of its files, or not at all; the next run succeeds and leaves nothing of
# the killed one behind.
#
# kill.sh PROGRAM [TIMES]
set -euo pipefail
program=$(realpath "$1")
times=${2:-100}
here=$(cd "$(dirname "$0")/../.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cp -r "$here/screens-demo" "$work/demo"
cd "$work"

fail() { echo "kill.sh: $*" >&2; exit 1; }

# Two states of each output, whole.
variant=(--set 'usage.sample-at="20:00"')
make() { # VERB OLD|NEW OUT
  local more=()
  [ "$2" = new ] && more=("${variant[@]}")
  case "$1" in
    export) "$program" export demo --to c,json --out "$3" "${more[@]}" ;;
    report) mkdir -p "$3" && "$program" report demo --out "$3/report.html" "${more[@]}" ;;
    render) "$program" render demo --scale 2 --out "$3" "${more[@]}" ;;
    new) "$program" new "$3" ;;
  esac
}

killed=0
for verb in export report render new; do
  rm -rf old new out
  make "$verb" old old >/dev/null 2>&1
  make "$verb" new new >/dev/null 2>&1
  # A new project is called like its folder.
  [ "$verb" != new ] || sed -i 's/^name = "new"$/name = "out"/' new/device.toml
  # How long a run takes, in microseconds, so that the moments are spread over it.
  begin=$(date +%s%N); make "$verb" new out >/dev/null 2>&1; span=$(( ($(date +%s%N) - begin) / 1000 + 2000 ))
  for ((n = 0; n < times; n++)); do
    rm -rf out
    fresh=yes
    if [ "$verb" = report ] || { [ "$verb" != new ] && [ $((n % 2)) = 0 ]; }; then
      cp -r old out
      fresh=no
    fi
    make "$verb" new out >/dev/null 2>&1 &
    pid=$!
    sleep "$(printf '0.%06d' $(( (RANDOM * 32768 + RANDOM) % span )))"
    # The program is a child of the function's shell.
    pkill -KILL -P "$pid" 2>/dev/null && killed=$((killed + 1)) || true
    wait "$pid" 2>/dev/null || true
    [ -d out ] || continue
    [ $fresh = no ] || diff -r out new >/dev/null || fail "$verb: a new folder was there before it was whole"
    while IFS= read -r file; do
      name=${file#out/}
      case "${name##*/}" in .inkjoule-*) continue ;; esac
      cmp -s "$file" "old/$name" || cmp -s "$file" "new/$name" || fail "$verb: $name is neither old nor new"
    done < <(find out -type f)
    if [ "$verb" != new ] && [ $((n % 10)) = 0 ]; then
      make "$verb" new out >/dev/null 2>&1 || fail "$verb: the run after a kill fails"
      diff -r -x .inkjoule-files out new >/dev/null || fail "$verb: the run after a kill leaves the set incomplete or strays"
    fi
  done
  rm -rf out
  make "$verb" new out >/dev/null 2>&1 || fail "$verb: the run after the last kill fails"
  if find . -maxdepth 1 -name '.inkjoule-*' | grep -q .; then fail "$verb: something was left beside the folder"; fi
done
[ "$killed" -gt $((times / 4)) ] || fail "only $killed runs were killed: the moments were not spread over them"
echo "killed $killed of $((4 * times)) runs; every file was old or new"

#!/usr/bin/env bash
# A part of the scripts of tests/export/machine_scripts.rs on a simulated AVR, whose int has 16 bits: the machine in C tells
# the same as the machine in Rust, as far as the beginning of a script goes that its flash has room for. Needs avr-gcc with
# avr-libc, and simavr.
#
# simulated.sh [FOLDER_WITH_SCRIPTS]: absent, the tests write them.
set -euo pipefail
root=$(cd "$(dirname "$0")/../.." && pwd)
for tool in avr-gcc simavr; do
  command -v $tool >/dev/null || { echo "$tool is not installed: nothing simulated"; exit 0; }
done
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
scripts=${1:-$work/scripts}
if [ -z "${1:-}" ]; then
  mkdir "$scripts"
  (cd "$root" && INK_SCRIPTS=$scripts cargo test --locked --test export the_machine_in_c_runs_random >/dev/null)
fi
cd "$work"
cp "$root"/src/export/c/ink_*.[ch] "$root"/tests/firmware/{machine_scripts.c,avr_board.h} .
chip=atmega1284p
# The script lies behind the program, where pointers of 16 bits do not reach.
cat >script.S <<'S'
    .section .progmemx.script, "a", @progbits
    .global ink_script, ink_script_end
ink_script:
    .incbin "scripts.in"
ink_script_end:
    .byte 0
S
for file in machine_scripts ink_machine; do
  avr-gcc -mmcu=$chip -Os -std=gnu99 -DINK_AVR -DF_CPU=16000000UL -c $file.c
done
ran=0
for input in $(ls "$scripts"/*.in | head -${SCRIPTS:-6}); do
  head -c 88000 "$input" >scripts.in
  avr-gcc -mmcu=$chip -Os -c script.S
  avr-gcc -mmcu=$chip *.o -o scripts.elf
  timeout 300 simavr -m $chip -f 16000000 scripts.elf </dev/null >said 2>&1 || { tail -3 said; echo "$input: stopped"; exit 1; }
  # The simulator prints a line with colours and two dots for its end.
  sed 's/\x1b\[[0-9;]*m//g; s/\.*\r*$//' said | grep -E '^[0-9a-f]+$' | tr -d '\n' >told
  grep -q '=end0' said || { grep '=end' said; echo "$input: ended early"; exit 1; }
  xxd -p -l "$(($(stat -c %s told) / 2))" "${input%.in}.out" | tr -d '\n' >expected
  cmp told expected || { echo "$input: the simulated AVR tells something else"; exit 1; }
  ran=$((ran + $(stat -c %s told) / 2))
done
[ "$ran" -gt 0 ] || { echo "no scripts ran"; exit 1; }
echo "AVR, simulated: $ran bytes told, all as the machine in Rust tells them"

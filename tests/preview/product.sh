#!/usr/bin/env bash
# Everything that keys and states do, by hand in the preview of the product under tests/product: boxes over one another, a
# key kept down, the way back, settings, events made to happen, external power, the link and the charge.
#
#   tests/preview/product.sh path/to/inkjoule
#
# Needs tmux. Takes about half a minute, two at most.
set -euo pipefail
export LC_ALL=C.UTF-8
BIN=$(realpath "$1")
HERE=$(cd "$(dirname "$0")/../.." && pwd)
WORK=$(mktemp -d)
SOCKET=$WORK/tmux
GUARD=

finish() {
  tmux -S "$SOCKET" kill-server 2>/dev/null || true
  [ -n "$GUARD" ] && kill "$GUARD" 2>/dev/null || true
  rm -rf "$WORK"
}
trap finish EXIT
tm() { tmux -S "$SOCKET" "$@"; }
page() { tm capture-pane -p -t preview; }
fail() {
  echo "FAIL: $*" >&2
  page 2>/dev/null | sed 's/^/  | /' >&2 || true
  exit 1
}
( sleep 180; kill -TERM $$ ) & GUARD=$!
unset DISPLAY WAYLAND_DISPLAY WAYLAND_SOCKET NO_COLOR COLUMNS
tm -u -f /dev/null new-session -d -s preview -x 200 -y 60 "$BIN preview $HERE/tests/product --terminal; sleep 600"

shows() { # pattern what
  for _ in $(seq 80); do
    grep -q -- "$1" <<<"$(page)" && { echo "ok: $2"; return; }
    sleep 0.1
  done
  fail "$2: no line with $1"
}
keys() { # once the panel is idle: the product drops presses during a refresh
  for _ in $(seq 80); do
    grep -q "panel  *idle" <<<"$(page)" && break
    sleep 0.1
  done
  tm send-keys -t preview "$@"
}
at() { shows "screen  *$1" "$2"; }
over() { shows "box in front  *$1" "$2"; }
bare() { # the box has gone
  for _ in $(seq 80); do
    grep -q "box in front" <<<"$(page)" || { echo "ok: $1"; return; }
    sleep 0.1
  done
  fail "$1: there is still a box"
}

at home "it begins with the home screen"
keys 6
over card "a key elsewhere on the instrument opens a box"
keys 2
over clear "a box over the box"
keys 1
over card "it closes to the box below"
keys 1
bare "and that to the screen"
keys 1
at menu "a press is carried out when the key is let go"
keys 3
at wells "the menu opens the screen of its row"
keys 1
at menu "and back leads to the menu"
keys 1
at home "and home"
keys M-1
at status "a key kept down is held"
keys M-1
keys 1
at home "back from what the hold opened"
keys u
over charges "external power, and charging over its box"
over usb "the message leaves by itself"
keys 1
bare "the box is closed"
keys u
keys k
at lost "the link is lost"
keys k
at home "and found again"
keys F2
at alarm "an event made to happen leads to its screen"
keys 2
at home "and back"
for _ in $(seq 13); do keys ,; sleep 0.1; done
over low "the charge goes down to the warning"
keys 2
bare "seen"
for _ in $(seq 3); do keys ,; sleep 0.1; done
at empty "the battery is empty"
keys u
at home "power starts it again"
keys q
echo "the preview does what the product does"

#!/usr/bin/env bash
# The preview's window for real: under a virtual display with a window manager, by keys and mouse, compared pixel by
# pixel with the pictures that `--screenshot` writes.
#
#   tests/preview/window.sh path/to/inkjoule
#
# Needs Xvfb, openbox, xdotool, xprop, and import and compare of ImageMagick. Takes about half a minute, two at most.
set -euo pipefail
BIN=$(realpath "$1")
HERE=$(cd "$(dirname "$0")/../.." && pwd)
WORK=$(mktemp -d)
STARTED=()
cd "$WORK"

finish() {
  for pid in "${STARTED[@]}"; do kill "$pid" 2>/dev/null || true; done
  rm -rf "$WORK"
}
trap finish EXIT
fail() {
  echo "FAIL: $*" >&2
  [ -s program.log ] && sed 's/^/  program: /' program.log >&2
  if [ -n "${KEEP_PICTURES:-}" ]; then mkdir -p "$KEEP_PICTURES" && cp -- *.png "$KEEP_PICTURES"/ || true; fi
  exit 1
}
pass() { echo "ok: $*"; }
for tool in Xvfb openbox xdotool xprop import compare; do
  command -v "$tool" >/dev/null || fail "$tool is not installed"
done
# However slow the machine is, this ends.
( sleep 240; kill -TERM $$ ) & STARTED+=($!)

# ---- Without a display ----------------------------------------------------------------------------------------------
cp -r "$HERE/screens-demo" demo
no_display() {
  local status=0
  timeout 20 "$@" "$BIN" preview demo >out.txt 2>err.txt </dev/null || status=$?
  [ "$status" = 2 ] || fail "without a display the exit status is $status"
  grep -q -- "--terminal" err.txt || fail "without a display there is no hint: $(cat err.txt)"
  ! grep -qi panic err.txt || fail "a panic: $(cat err.txt)"
}
no_display env -u DISPLAY -u WAYLAND_DISPLAY -u WAYLAND_SOCKET
no_display env -u WAYLAND_DISPLAY -u WAYLAND_SOCKET DISPLAY=:4711
no_display env -u DISPLAY -u WAYLAND_SOCKET WAYLAND_DISPLAY=no-such-socket
pass "without a display: a message with a hint, status 2"

# ---- A display ------------------------------------------------------------------------------------------------------
Xvfb -displayfd 3 -screen 0 1700x1100x24 3>display.txt 2>xvfb.log & STARTED+=($!)
for _ in $(seq 100); do [ -s display.txt ] && break; sleep 0.1; done
[ -s display.txt ] || fail "Xvfb does not start: $(cat xvfb.log)"
DISPLAY=:$(cat display.txt); export DISPLAY
unset WAYLAND_DISPLAY WAYLAND_SOCKET WINIT_X11_SCALE_FACTOR
openbox >openbox.log 2>&1 & STARTED+=($!)
for _ in $(seq 100); do xprop -root _NET_SUPPORTING_WM_CHECK 2>/dev/null | grep -q "window id" && break; sleep 0.1; done

open_window() {
  # A key that closed the window before may still be held down and would close this one too.
  xdotool keyup q keyup F4 keyup alt 2>/dev/null || true
  sleep 0.5
  "$BIN" preview demo "$@" >program.log 2>&1 & PID=$!
  STARTED+=("$PID")
  WINDOW=
  for _ in $(seq 150); do
    WINDOW=$(xdotool search --onlyvisible --pid "$PID" 2>/dev/null | head -n 1 || true)
    [ -n "$WINDOW" ] && break
    kill -0 "$PID" 2>/dev/null || fail "the program ended at once"
    sleep 0.1
  done
  [ -n "$WINDOW" ] || fail "no window appears"
  xdotool windowactivate --sync "$WINDOW" 2>/dev/null || true
}
alive() { kill -0 "$PID" 2>/dev/null || fail "the program ended: $1"; }
# Waits until the window shows a picture, every pixel of it.
shows() {
  local differ=
  for _ in $(seq 80); do
    alive "$2"
    import -window "$WINDOW" seen.png 2>/dev/null || { sleep 0.1; continue; }
    # A picture of another size differs, too; then compare says so and prints no number.
    differ=$(compare -metric AE "$1" seen.png null: 2>&1 || true)
    [ "${differ%% *}" = 0 ] && { pass "$2"; return; }
    sleep 0.1
  done
  fail "$2: $differ pixels differ"
}
differs() {
  for _ in $(seq 60); do
    alive "$2"
    import -window "$WINDOW" seen.png 2>/dev/null || { sleep 0.1; continue; }
    [ "$(compare -metric AE "$1" seen.png null: 2>&1 || true)" != 0 ] && { pass "$2"; return; }
    sleep 0.1
  done
  fail "$2: the same picture is still there"
}
picture() { local name=$1; shift; "$BIN" preview demo --speed 0 --screenshot "$name" "$@"; }
ended() {
  for _ in $(seq 50); do kill -0 "$PID" 2>/dev/null || break; sleep 0.1; done
  kill -0 "$PID" 2>/dev/null && fail "$1: the program is still there"
  local status=0
  wait "$PID" || status=$?
  [ "$status" = 0 ] || fail "$1: exit status $status"
  pass "$1"
}

SIZE=1200x620
picture first.png --size $SIZE
picture pressed.png --size $SIZE --typed 1
picture clicked.png --size $SIZE --typed 11
open_window --speed 0 --size $SIZE
shows first.png "the window shows the screenshot's pixels"
xdotool key --window "$WINDOW" 1
shows pressed.png "key 1 leads to the next screen"
# The first pixel of a soft key's colour in reading order is at the upper edge of the first key.
KEY=$(set +o pipefail; convert first.png txt:- | sed -n '/#53575D/{s/:.*//;s/,/ /;p;q}')
[ -n "$KEY" ] || fail "no soft key is drawn"
read -r KEY_X KEY_Y <<<"$KEY"
xdotool mousemove --window "$WINDOW" $((KEY_X + 15)) $((KEY_Y + 15)) click 1
shows clicked.png "a click on the drawn key leads back"
picture boxes.png --size $SIZE --typed 11b
xdotool mousemove --window "$WINDOW" 5 5 key --window "$WINDOW" b
shows boxes.png "b outlines the elements"
xdotool key --window "$WINDOW" b

# ---- Size and scale -------------------------------------------------------------------------------------------------
for size in 700x700 320x240 1500x900 $SIZE; do
  picture "at-$size.png" --size "$size" --typed 11
  xdotool windowsize "$WINDOW" ${size/x/ }
  shows "at-$size.png" "at $size the window shows what it should"
done

# Actual size, with the strip beside it, and back.
picture actual.png --typed 11m
xdotool key --window "$WINDOW" m
shows actual.png "m shows the actual size and keeps the facts"
xdotool key --window "$WINDOW" m
differs actual.png "m again leaves it"
xdotool windowsize "$WINDOW" ${SIZE/x/ }
shows "at-$SIZE.png" "and leads back to what was shown before"

# Twice the pitch and back while it is open. The window toolkit reads the root's resources again when it is told of a
# change; here the word comes by a property of the same name on the window itself.
scale() {
  xprop -root -f RESOURCE_MANAGER 8s -set RESOURCE_MANAGER "Xft.dpi: $1"
  xprop -id "$WINDOW" -f RESOURCE_MANAGER 8s -set RESOURCE_MANAGER "$1"
}
scale 192
differs "at-$SIZE.png" "a scale factor that changes while it is open is followed"
sleep 0.5
import -window "$WINDOW" doubled.png
xdotool key --window "$WINDOW" b
differs doubled.png "and keys work on"
xdotool key --window "$WINDOW" b
scale 96
sleep 0.5
xdotool windowsize "$WINDOW" ${SIZE/x/ }
shows "at-$SIZE.png" "back at the first scale factor it looks as before"

# ---- Live reload ----------------------------------------------------------------------------------------------------
cp demo/screens/tonight.toml good.toml
sed -i 's/font = "numerals"/font = "numerale"/' demo/screens/tonight.toml
differs "at-$SIZE.png" "an error of the changed project is told"
sleep 0.3
alive "the project has errors"
import -window "$WINDOW" broken.png
# The upper part of the device, above the message, is still the last good picture.
for name in broken "at-$SIZE"; do convert "$name.png" -crop 860x150+0+0 +repage "part-$name.png"; done
[ "$(compare -metric AE part-broken.png "part-at-$SIZE.png" null: 2>&1 || true)" = 0 ] || fail "the last good picture is gone"
pass "the last good picture stays"
sed 's/font = "numerals"/font = "bold"/' good.toml >demo/screens/tonight.toml
picture reloaded.png --size $SIZE
shows reloaded.png "the repaired project is shown without being asked"
cp good.toml demo/screens/tonight.toml
shows first.png "and the old one again"

# ---- Closing and idling ---------------------------------------------------------------------------------------------
sleep 1; xdotool key --window "$WINDOW" q 2>/dev/null || true # the window may be gone before the key is let go
ended "q ends the program"

open_window --size $SIZE
sleep 2
ticks() { awk '{ print $14 + $15 }' "/proc/$PID/stat"; }
before=$(ticks); sleep 5; after=$(ticks)
limit=$(( $(getconf CLK_TCK) * 5 * 2 / 100 ))
[ $((after - before)) -le "$limit" ] || fail "at rest it used $((after - before)) of $limit clock ticks in 5 s"
pass "at rest it uses less than 2 % of a processor ($((after - before)) ticks in 5 s)"
# What a click on the window's close button sends.
xdotool windowquit "$WINDOW" 2>/dev/null || xdotool key --window "$WINDOW" alt+F4 2>/dev/null || true
ended "closing the window ends the program"
# A monitor with twice the usual pitch: text and lines are twice as large from the beginning.
xprop -root -f RESOURCE_MANAGER 8s -set RESOURCE_MANAGER "Xft.dpi: 192"
open_window --speed 0 --size $SIZE
differs first.png "with another scale factor the text is larger"
import -window "$WINDOW" large.png
[ "$(convert large.png -format %w info:)" = 1200 ] || fail "the window has another size"
kill "$PID" 2>/dev/null || true
echo "the window works"

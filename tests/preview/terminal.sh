#!/usr/bin/env bash
# The preview in a terminal for real: in tmux, by keys, with reload, resize and a locale without Unicode.
#
#   tests/preview/terminal.sh path/to/inkjoule
#
# Needs tmux. Takes about half a minute, two at most.
set -euo pipefail
export LC_ALL=C.UTF-8
BIN=$(realpath "$1")
HERE=$(cd "$(dirname "$0")/../.." && pwd)
WORK=$(mktemp -d)
SOCKET=$WORK/tmux
GUARD=
cd "$WORK"

finish() {
  tmux -S "$SOCKET" kill-server 2>/dev/null || true
  [ -n "$GUARD" ] && kill "$GUARD" 2>/dev/null || true
  rm -rf "$WORK"
}
trap finish EXIT
fail() {
  echo "FAIL: $*" >&2
  page 2>/dev/null | sed 's/^/  | /' >&2 || true
  exit 1
}
pass() { echo "ok: $*"; }
command -v tmux >/dev/null || fail "tmux is not installed"
( sleep 180; kill -TERM $$ ) & GUARD=$!

unset DISPLAY WAYLAND_DISPLAY WAYLAND_SOCKET NO_COLOR COLUMNS
cp -r "$HERE/screens-demo" demo
# The first locale of the demo is the one shown.
tm() { tmux -S "$SOCKET" "$@"; }
page() { tm capture-pane -p -t preview; }
start() { # locale columns rows arguments...
  local locale=$1 columns=$2 rows=$3
  shift 3
  tm -u -f /dev/null new-session -d -s preview -x "$columns" -y "$rows" \
    "LC_ALL=$locale $BIN preview demo $*; echo status=\$?; stty -a | tr ';' '\n' | grep -o '[-]*icanon'; sleep 600"
}
stop() { tm kill-session -t preview; }
shows() { # pattern what
  for _ in $(seq 80); do
    grep -q -- "$1" <<<"$(page)" && { pass "$2"; return; }
    sleep 0.1
  done
  fail "$2: no line with $1"
}
hides() {
  for _ in $(seq 80); do
    grep -q -- "$1" <<<"$(page)" || { pass "$2"; return; }
    sleep 0.1
  done
  fail "$2: there is still a line with $1"
}

# ---- Keys -----------------------------------------------------------------------------------------------------------
# Without a display a terminal is taken by itself, and says so.
start C.UTF-8 200 60
shows "no window: neither DISPLAY" "without a display the terminal is used, with a hint"
shows "screen  *tonight" "it begins with the home screen"
grep -q "⠒" <<<"$(page)" || fail "no braille where it is needed"
tm send-keys -t preview 1
shows "screen  *posts" "key 1 leads to the next screen"
shows "cause  *key 1" "the update is told"
shows "panel  *idle" "the panel rests after a while"
tm send-keys -t preview v
shows "values  *worst case" "v shows worst-case values"
tm send-keys -t preview v h
shows "reset" "h lists the keys"
tm send-keys -t preview h Space
shows "time .*paused" "space pauses"

# ---- Resize ---------------------------------------------------------------------------------------------------------
tm resize-window -t preview -x 80 -y 24
shows "\[1\] [A-Z]" "the keys are there with their labels in 80 columns"
shows "Posts" "and the words of the screen can be read"
sleep 0.3
[ "$(page | wc -L)" -le 80 ] || fail "a line is longer than the terminal"
tm resize-window -t preview -x 20 -y 5
sleep 0.5
tm resize-window -t preview -x 340 -y 80
shows "[▀▄█]" "half blocks where there is room"
tm resize-window -t preview -x 200 -y 60
shows "screen  *posts" "and back again"

# ---- Live reload ----------------------------------------------------------------------------------------------------
cp demo/screens/posts.toml good.toml
sed -i 's/^title = .*/title = 7/' demo/screens/posts.toml
shows "The project has errors" "an error of the changed project is told"
shows "posts.toml:" "with its place"
shows "\[1\] " "the last good picture stays"
cp good.toml demo/screens/posts.toml
hides "The project has errors" "the repaired project is shown"
sed -i 's/^name = .*/name = "Renamed while shown"/' demo/device.toml
shows "Renamed while shown" "changes show without being asked"

# ---- Idling and leaving ---------------------------------------------------------------------------------------------
tm send-keys -t preview Space
sleep 1
PID=$(pgrep -f -n -- "^$BIN preview demo" || true)
[ -n "$PID" ] || fail "the program is not running"
ticks() { awk '{ print $14 + $15 }' "/proc/$PID/stat"; }
before=$(ticks); sleep 4; after=$(ticks)
limit=$(( $(getconf CLK_TCK) * 4 * 2 / 100 ))
[ $((after - before)) -le "$limit" ] || fail "at rest it used $((after - before)) of $limit clock ticks in 4 s"
pass "at rest it uses less than 2 % of a processor"
tm send-keys -t preview q
shows "status=0" "q ends the program"
shows "^icanon" "the terminal is as it was"
stop

# ---- A locale without Unicode ---------------------------------------------------------------------------------------
start C 120 40 --terminal
shows "screen  *tonight" "in the C locale it starts"
LC_ALL=C grep -q '[^ -~]' <<<"$(page)" && fail "not all is ASCII"
pass "in the C locale all is ASCII"
tm send-keys -t preview C-c
shows "status=0" "Ctrl-C ends the program"
stop

# ---- Not a terminal -------------------------------------------------------------------------------------------------
LC_ALL=C.UTF-8 COLUMNS=100 timeout 20 "$BIN" preview demo --terminal >piped.txt </dev/null || fail "piped, it fails"
grep -q "screen tonight" piped.txt || fail "piped, it says nothing of the screen"
LC_ALL=C grep -q $'\x1b' piped.txt && fail "piped, it writes escapes"
[ "$(wc -L <piped.txt)" -le 100 ] || fail "piped, a line is too long"
pass "piped, it prints one plain picture"
echo "the terminal works"

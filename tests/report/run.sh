#!/usr/bin/env bash
# The report in a headless Chromium. Usage: run.sh INKJOULE. Needs node, npm and chromium; fetches the browser driver and
# the accessibility engine from the npm registry at fixed versions.
set -euo pipefail
inkjoule=$(realpath "$1")
here=$(cd "$(dirname "$0")" && pwd)
browser=$(command -v chromium || command -v chromium-browser || command -v google-chrome)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cp "$here/browser.mjs" "$work/"
(cd "$work" && npm install --silent --no-save --no-audit --no-fund --ignore-scripts playwright-core@1.65.1 axe-core@4.14.1)

# The demo; the demo beside a changed one; a project that breaks its limits.
demo="$here/../../screens-demo"
check() {
  "$inkjoule" report "$@" --out "$work/report.html"
  local plain=()
  while [ $# -gt 0 ]; do
    if [ "$1" = --against ]; then shift; else plain+=("$1"); fi
    shift
  done
  "$inkjoule" budget "${plain[@]}" --format json > "$work/budget.json"
  (cd "$work" && node browser.mjs "$work/report.html" "$work/budget.json" "$browser")
}
check "$demo"
check "$demo" --set 'policy.full-on=[]' --against "$demo"
check "$demo" --set 'limits.life=2 year' --set 'limits.latency=100 ms' --set 'board.mcu.ram=8 B'

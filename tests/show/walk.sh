#!/usr/bin/env bash
# A walk through the level step in tmux at 80x24, on the simulated car: prints what the
# person sees at each phase as Markdown (docs/level-step-walk.md is its output).
set -u
cd "$(dirname "$0")/../.."
home=$(mktemp -d)
export XDG_CONFIG_HOME=$home XDG_DATA_HOME=$home XDG_STATE_HOME=$home
tmux() { command tmux -L "sumpgate-walk-$$" "$@"; }
keys=0
key() { tmux send-keys -t walk "$@"; keys=$((keys + 1)); sleep 0.4; }
see() { tmux capture-pane -t walk -p; }
# Enter until the last caution was in sight and is taken as read.
read_cautions() {
  until_seen "read on\|I have read"
  while see | grep -q "read on\|I have read"; do key Enter; sleep 1; done
}
frame() { printf '\n## %s\n\n```\n' "$1"; tmux capture-pane -t walk -p; printf '```\n'; }
until_seen() {
  for _ in $(seq 1600); do
    tmux capture-pane -t walk -p | grep -q "$1" && return
    sleep 0.25
  done
  echo "(never seen: $1)"
}

tmux kill-server 2>/dev/null
tmux new-session -d -s walk -x 80 -y 24
tmux send-keys -t walk "${BIN:-.venv/bin}/sumpgate demo --speed 20" Enter
until_seen "Before you start"
printf '# The level step on screen\n\n`tests/show/walk.sh`: the simulated car from cold, 80x24, the clock run faster where\nnothing happens. The keys pressed stand above each picture.\n'
frame "The cautions first (Enter, to their end)"
read_cautions
until_seen "opens in"
frame "Wait: the countdown"
until_seen "Get under the car"
frame "The call, a minute before: get under the car"
key -- '-'; key -- '-'
until_seen "Open the level plug now"
frame "GO: open"
key -- '-'; key -- '-'; key -- '-'
key Space
sleep 2
frame "Opened (Space)"
for pause in 0.4 0.6 0.8 1.0 1.2 1.3; do key Space; sleep "$pause"; done
frame "Drips, marked (Space for each)"
until_seen "Close the level plug"
frame "Settled: close"
key c
sleep 1
frame "Closed and judged (c)"
printf '\n%s keys in all, the speed of the clock included.\n' "$keys"
key q
tmux kill-server 2>/dev/null
rm -rf "$home"

#!/usr/bin/env bash
# From the start screen to GO at an adapter nobody named before, in tmux at 80x24: the
# bench serves a warm day on TCP, as an adapter with a network of its own does. Prints each picture and how many keys and characters it
# took, as Markdown (docs/start-walk.md is its output), and exits 1 if anything expected
# was not seen.
set -u
cd "$(dirname "$0")/../.."
home=$(mktemp -d)
export XDG_CONFIG_HOME=$home XDG_DATA_HOME=$home XDG_STATE_HOME=$home
sumpgate=${SUMPGATE:-$PWD/.venv/bin/sumpgate}
port=${PORT:-35917}
missed=0
tmux() { command tmux -L "sumpgate-start-$$" "$@"; }
see() { tmux capture-pane -t walk -p; }
keys=0
characters=0
key() { tmux send-keys -t walk "$@"; keys=$((keys + 1)); sleep 1.2; }
text() { tmux send-keys -t walk -l "$1"; characters=$((characters + ${#1})); sleep 1; }
frame() { printf '\n## %s (%s keys so far)\n\n```\n' "$1" "$keys"; see; printf '```\n'; }
until_seen() {
  for _ in $(seq 1800); do
    see | grep -q "$1" && return
    sleep 0.5
  done
  echo "(never seen: $1)"
  missed=1
}
# Down to the line that has these words, and Enter.
choose() {
  for _ in $(seq 20); do
    see | grep -q "▶ .*$1" && { key Enter; return; }
    key Down
  done
  echo "(no line $1)"
  missed=1
}

"$sumpgate" bench --tcp "127.0.0.1:$port" --scene warm-day >/dev/null 2>&1 &
bench=$!
tmux kill-server 2>/dev/null
tmux new-session -d -s walk -x "${WIDE:-80}" -y "${HIGH:-24}"
tmux send-keys -t walk "cd $home; clear; $sumpgate" Enter
printf '# From the start screen to GO\n\n`tests/show/start_walk.sh`: an adapter that was never used here, by its address. Nothing\nelse is typed.\n'
until_seen "Enter go"
frame "The first start"
choose "Scar"
until_seen "What is to be done"
choose "The level only"
until_seen "Where does the temperature come from"
sleep 2
frame "No adapter is plugged in: one with a network of its own is told by its address"
choose "type its address"
until_seen "Its address"
text "127.0.0.1:$port"
frame "The address"
key Enter
until_seen "read on\|I have read"
frame "The cautions come first"
while see | grep -q "read on\|I have read"; do key Enter; done
until_seen "°C/min"
frame "What the adapter tells"
until_seen "Open the level plug now"
frame "GO"
key q
printf '\n%s keys and %s characters in all.\n' "$keys" "$characters"
sleep 2
tmux kill-server 2>/dev/null
kill "$bench" 2>/dev/null
rm -rf "$home"
exit $missed

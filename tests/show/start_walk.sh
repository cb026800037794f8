#!/usr/bin/env bash
# From the start screen to GO on a port nobody named, in tmux at 80x24: the bench serves
# a pty, a thermometer or a port is chosen by arrows and Enter. Prints each picture and
# how many keys it took, as Markdown (docs/start-walk.md is its output).
set -u
cd "$(dirname "$0")/../.."
home=$(mktemp -d)
export XDG_CONFIG_HOME=$home XDG_DATA_HOME=$home XDG_STATE_HOME=$home
tmux() { command tmux -L "sumpgate-start-$$" "$@"; }
keys=0
key() { tmux send-keys -t walk "$@"; keys=$((keys + 1)); sleep 1; }
frame() { printf '\n## %s (%s keys so far)\n\n```\n' "$1" "$keys"; tmux capture-pane -t walk -p; printf '```\n'; }
until_seen() {
  for _ in $(seq 240); do
    tmux capture-pane -t walk -p | grep -q "$1" && return
    sleep 0.5
  done
  echo "(never seen: $1)"
}

tmux kill-server 2>/dev/null
tmux new-session -d -s walk -x "${WIDE:-80}" -y "${HIGH:-24}"
tmux send-keys -t walk "clear; ${SUMPGATE:-.venv/bin/sumpgate}" Enter
printf '# From the start screen to GO\n\n`tests/show/start_walk.sh`: nothing is typed.\n'
until_seen "Enter go"
frame "The first start"
key Down; key Down; key Down; key Down; key Down
frame "Down to the demo"
key Enter
until_seen "Before you start"
frame "The demo opens with its cautions, its clock waits"
until_seen "read on\|I have read"
while tmux capture-pane -t walk -p | grep -q "read on\|I have read"; do key Enter; done
until_seen "Fluid"
key +; key +; key +; key +
until_seen "Open the level plug now"
frame "GO"
key q
sleep 2
tmux kill-server 2>/dev/null
rm -rf "$home"

#!/usr/bin/env bash
# A walk through a level by the stick in tmux at 80x26, on a simulated car that cools
# through the window: prints what the person sees as Markdown (docs/stick-walk.md).
set -u
cd "$(dirname "$0")/../.."
home=$(mktemp -d)
export XDG_CONFIG_HOME=$home XDG_DATA_HOME=$home XDG_STATE_HOME=$home
tmux() { command tmux -L "sumpgate-stick-$$" "$@"; }
key() { tmux send-keys -t walk "$@"; sleep 0.6; }
frame() { printf '\n## %s\n\n```\n' "$1"; tmux capture-pane -t walk -p; printf '```\n'; }
until_seen() {
  for _ in $(seq 1200); do
    tmux capture-pane -t walk -p | grep -q "$1" && return
    sleep 0.25
  done
  echo "(never seen: $1)"
}
reads() { key d; until_seen "Stick reads"; tmux send-keys -t walk -l "$1"; key Enter; sleep 1; }

tmux kill-server 2>/dev/null
tmux new-session -d -s walk -x 80 -y 26 "${BIN:-.venv/bin/python -m tui} demo \
  --profile fell-belt-variator --scene hot --speed 50"
until_seen "Enter  read on"
printf '# A level by the stick on screen\n\n`tests/show/stick_walk.sh`: the Fell sheet, the engine off, the fluid cooling, 80x26. No\nplug is spoken of. The keys pressed stand above each picture.\n'
for _ in $(seq 12); do
  tmux capture-pane -t walk -p | grep -q "Read the cautions first" || break
  key Enter
done
until_seen "Too hot"
frame "The cautions are read (Enter); it is too hot still"
until_seen "Get to the stick"
frame "The call, a minute before"
key -- '-'; key -- '-'; key -- '-'
until_seen "Wipe the stick"
frame "GO: read the stick"
reads "28 mm"
frame "The first reading (d, 28 mm): one more is wanted"
reads "28.5 mm"
frame "The second one (d, 28.5 mm): below the marks, and how much is missing"
key q
tmux kill-server 2>/dev/null
rm -rf "$home"

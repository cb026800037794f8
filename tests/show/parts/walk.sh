# What every walk in tmux shares: sourced, never run. A walk sets `walk`, its name, and
# prints Markdown: what the person sees, and how many keys it took. SUMPGATE is the
# program (default .venv/bin/sumpgate).
set -u
cd "$(dirname "${BASH_SOURCE[0]}")/../../.."
unset COLUMNS LINES  # the screen is as wide as tmux has it
sumpgate=${SUMPGATE:-$PWD/.venv/bin/sumpgate}
home=$(mktemp -d)
export XDG_CONFIG_HOME=$home XDG_DATA_HOME=$home XDG_STATE_HOME=$home
trap end EXIT
trap 'exit 1' TERM INT HUP
missed=0
runs=0
keys=0
bench=0
characters=0
tmux() { command tmux -L "sumpgate-$walk-$$-$runs" "$@"; }
# Start a command on a screen of so many columns and rows; whatever ran before ends.
open() {
  tmux kill-server 2>/dev/null
  runs=$((runs + 1))  # a server of its own: the one before may still be dying
  tmux new-session -d -s walk -x "$1" -y "$2" "$3"
}
end() { tmux kill-server 2>/dev/null; rm -rf "$home"; }
see() { tmux capture-pane -t walk -p; }
page() { see | tail -n +3; }  # without the head, whose temperature never stands still
heading='##'
frame() { printf '\n%s %s\n\n```\n' "$heading" "$1"; see; printf '```\n'; }
lack() { echo "($1)"; missed=1; }
until_seen() {
  for _ in $(seq 3600); do
    see | grep -q "$1" && return
    sleep 0.25
  done
  lack "never seen: $1"
  frame "Seen instead"
}
# Press keys one by one, each when what the one before has changed stands still.
press() {
  for k in "$@"; do
    old=$(page)
    tmux send-keys -t walk -- "$k"
    for _ in 1 2 3 4 5 6 7 8 9 10; do
      sleep 0.15
      [ "$(page)" != "$old" ] && break
    done
    for _ in 1 2 3 4 5 6; do
      old=$(page)
      sleep 0.3
      [ "$(page)" = "$old" ] && break
    done
  done
}
key() { press "$@"; keys=$((keys + $#)); }
# The same where time presses, or nothing ever stands still: the live screen.
tap() { for k in "$@"; do tmux send-keys -t walk -- "$k"; keys=$((keys + 1)); sleep 0.4; done; }
drip() { tmux send-keys -t walk Space; keys=$((keys + 1)); }
# A key that only the simulated car has: its speed, its engine.
bench_key() { press "$@"; bench=$((bench + $#)); }
bench_tap() { tap "$@"; keys=$((keys - $#)); bench=$((bench + $#)); }
text() { tmux send-keys -t walk -l "$1"; characters=$((characters + ${#1})); sleep 0.8; }
# Enter until the last caution was in sight and is taken as read.
read_cautions() {
  until_seen "read on\|I have read"
  while see | grep -q "read on\|I have read"; do key Enter; done
}
# Enter, not sooner than a second after a page was opened.
enter() { sleep 1.1; key Enter; }
# Turn to a step's page by its name, from wherever one is.
go() {
  for turn in Right Left; do
    for _ in $(seq 20); do
      see | grep -q "▶ . $1" && return
      key "$turn"
    done
  done
  lack "no step $1"
}
# Put the cursor on an item by its words.
point() {
  for turn in Down Up; do
    for _ in $(seq 30); do
      see | grep -q "▶ \[.\] $1" && return
      key "$turn"
    done
  done
  lack "no item $1"
}
take() { point "$1"; enter; }
bench_take() { before=$keys; take "$1"; bench=$((bench + keys - before)); keys=$before; }
# A digit on the row begins the answer.
amount() { point "$1"; text "$2"; key Enter; }
# The step's last row: f goes to it, or ends the step where nothing is open any more.
finish() {
  sleep 1.1
  see | grep -q "▶ \[.\] This step is done" || key f
  ! see | grep -q "▶ \[.\] This step is done" || key Enter
}
counted() {
  printf '\n%s keys and %s characters in all' "$keys" "$characters"
  [ "$bench" = 0 ] || printf ', and %s keys only the simulated car has' "$bench"
  echo .
}

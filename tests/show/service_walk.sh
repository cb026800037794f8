#!/usr/bin/env bash
# The whole service in tmux at 100x32, by keyboard only, on the simulated car at 20 times
# life: begun, killed in the middle (kill -9), taken up again, finished. Prints what the
# person sees as Markdown (docs/service-walk.md is its output) and exits 1 if anything
# expected was not seen.
set -u
cd "$(dirname "$0")/../.."
home=$(mktemp -d)
export XDG_CONFIG_HOME=$home XDG_DATA_HOME=$home XDG_STATE_HOME=$home
job=$home/walk.sumpgate
bin=$PWD/${BIN:-.venv/bin}
missed=0
runs=0
tmux() { command tmux -L "sumpgate-service-$$-$runs" "$@"; }
see() { tmux capture-pane -t walk -p; }
keys=0
bench=0
characters=0
page() { see | tail -n +3; }  # without the head, whose temperature never stands still
# Press keys one by one, each when what the one before has changed stands still.
press() {
  for k in "$@"; do
    old=$(page)
    tmux send-keys -t walk "$k"
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
# A key that only the simulated car has: its speed, its engine.
bench_key() { press "$@"; bench=$((bench + $#)); }
text() { tmux send-keys -t walk -l "$1"; characters=$((characters + ${#1})); sleep 0.8; }
frame() { printf '\n## %s\n\n```\n' "$1"; see; printf '```\n'; }
until_seen() {
  for _ in $(seq 1600); do
    see | grep -q "$1" && return
    sleep 0.25
  done
  echo "(never seen: $1)"
  missed=1
}
begin() {
  runs=$((runs + 1))  # a server of its own: the one before may still be dying
  tmux kill-server 2>/dev/null
  tmux new-session -d -s walk -x 100 -y 32 "cd $home; $bin/sumpgate demo --service \
    --speed 20 --record $job --who Kim"
  until_seen "Before you start"
}
drip() { tmux send-keys -t walk Space; keys=$((keys + 1)); }
# Enter until the last caution was in sight and is taken as read.
read_cautions() {
  until_seen "read on\|I have read"
  while see | grep -q "read on\|I have read"; do key Enter; done
}
# Enter, not sooner than a second after a page was opened.
enter() { sleep 1.1; key Enter; }
# Turn to a step's page by its name, from wherever one is.
go() {
  for _ in $(seq 20); do
    see | grep -q "▶ . $1" && return
    key Right
  done
  for _ in $(seq 20); do
    see | grep -q "▶ . $1" && return
    key Left
  done
  echo "(no step $1)"
  missed=1
}
# Put the cursor on an item by its words.
point() {
  for _ in $(seq 30); do
    see | grep -q "▶ \[.\] $1" && return
    key Down
  done
  for _ in $(seq 30); do
    see | grep -q "▶ \[.\] $1" && return
    key Up
  done
  echo "(no item $1)"
  missed=1
}
take() { point "$1"; enter; }
bench_take() { before=$keys; take "$1"; bench=$((bench + keys - before)); keys=$before; }
# A digit on the row begins the answer.
amount() { point "$1"; text "$2"; key Enter; }
# Not sooner than a second after a page was opened.
finish() {
  sleep 1.1
  if see | grep -q "▶ \[.\] This step is done"; then key Enter; else key f; fi
}

printf '# The whole service on screen\n\n`tests/show/service_walk.sh`: the simulated car, by keyboard only, 20 times life,\n100x32. Killed in the middle with kill -9, taken up again, finished.\n'
begin
read_cautions
until_seen "▶ . which gearbox"
frame "The steps begin: which gearbox is it?"
take "shallow pan"
until_seen "parts and tools"
frame "Parts and tools"
take "All here"
until_seen "Save fault codes"
amount "Odometer" "123456"
take "Save fault codes"
frame "The car before"
finish   # the fill plug
until_seen "Came out: pan"
amount "Came out: pan" "5.2 at 32"
frame "What came out"
take "Dark or brown"
frame "The old fluid"
finish
take "torque"
until_seen "▶ . refit plugs"
frame "A plug: what must be new, what torque"

# Killed in the middle.
pid=$(tmux list-panes -t walk -F '#{pane_pid}')
pkill -9 -P "$pid" 2>/dev/null; kill -9 "$pid" 2>/dev/null
sleep 1
begin
read_cautions
until_seen "▶ . refit plugs"
frame "Killed (kill -9), started again: it goes on at the step that was open"
take "new washer"
take "torque 28"
take "new seal"
take "torque 3.5"
take "then 60"
frame "Refitting: plug and pan bolts"
amount "Went in" "5.5 at 20"
until_seen "▶ . work the selector"
bench_key Left
frame "Filled: the balance"
bench_key Right
bench_take "Simulated car: start"
bench_key - -   # a hold that a busy machine notices too late does not count
take "Start: the screen paces it"
sleep 0.5
frame "The selector, paced"
until_seen "Confirm only if"
key Enter
until_seen "exercise is done"
key Enter
until_seen "▶ . set the level"
bench_key + +
take "Go to the live screen"
until_seen "Get under the car"
frame "The level: the live screen"
bench_key - -
until_seen "Open the level plug now"
bench_key - - -
key Space
sleep 1.5
for pause in 0.4 0.6 0.8 1.0 1.2 1.3; do drip; sleep "$pause"; done
until_seen "Close the level plug"
key c
until_seen "Level: "
frame "Closed and judged"
key j
until_seen "▶ . set the level"
amount "Ran out" "0.12"
take "new washer"
take "torque 16"
frame "The level step: judged, what ran off, its plug"
until_seen "▶ . close up"
bench_take "Simulated car: stop"
take "new seal"
take "torque 9"
until_seen "▶ . recheck"
finish
until_seen "▶ . the car after"
amount "Odometer" "123470"
take "Save fault codes"
frame "The car after, against before"
until_seen "▶ . next due"
frame "Next due, and what is missing"
take "Write a calendar file"
finish
take "Close the service"
until_seen "Complete\|Closed"
frame "Complete"
key q
printf '\n%s keys and %s characters in all, and %s keys only the simulated car has.\n' \
  "$keys" "$characters" "$bench"
sleep 2
tmux kill-server 2>/dev/null
printf '\n## Afterwards\n\n```\n$ sumpgate job check\n'
"$bin/sumpgate" job check "$job"
printf '$ sumpgate replay\n'
"$bin/sumpgate" replay "$job" 2>&1 | tail -3
printf '$ sumpgate job show (its end)\n'
"$bin/sumpgate" job show "$job" --units metric | sed -n '/^The service/,$p' | head -120
ls "$home"/*.ics >/dev/null 2>&1 || { echo "(no calendar file)"; missed=1; }
printf '```\n'
rm -rf "$home"
exit $missed

#!/usr/bin/env bash
# The whole service in tmux at 100x32, by keyboard only, on the simulated car at 20 times
# life: begun, killed in the middle (kill -9), taken up again, finished. Prints what the
# person sees as Markdown (docs/service-walk.md is its output) and exits 1 if anything
# expected was not seen.
walk=service
. "$(dirname "$0")/parts/walk.sh"
job=$home/walk.sumpgate
begin() {
  open 100 32 "cd $home; $sumpgate demo --service --speed 20 --record $job --who Kim"
  until_seen "Before you start"
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
counted
sleep 2
tmux kill-server 2>/dev/null
printf '\n## Afterwards\n\n```\n$ sumpgate job check\n'
$sumpgate job check "$job"
printf '$ sumpgate replay\n'
$sumpgate replay "$job" 2>&1 | tail -3
printf '$ sumpgate job show (its end)\n'
$sumpgate job show "$job" --units metric | sed -n '/^The service/,$p' | head -120
ls "$home"/*.ics >/dev/null 2>&1 || lack "no calendar file"
printf '```\n'
exit $missed

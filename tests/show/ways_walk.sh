#!/usr/bin/env bash
# Two walks through a service in tmux at 80x24, by keyboard, on the simulated car: two
# circuits in one housing, and three rounds of draining and filling. Prints what the
# person sees as Markdown (docs/ways-walk.md) and exits 1 if anything was not seen.
walk=ways
. "$(dirname "$0")/parts/walk.sh"
heading='###'
sheets=$PWD/tests/data/sheets/ways
begin() {
  keys=0 characters=0 bench=0
  open 80 24 "$sumpgate demo --profile $sheets/$1.toml --service --speed 20 --scene $2"
  until_seen "Before you start"
  read_cautions
}
# The drips as they thin out, until it says close; then closed and judged.
run_down() {
  tap Space
  sleep 1.5
  for pause in 0.4 0.6 0.8 1.0 1.2 1.3; do drip; sleep "$pause"; done
  until_seen "Close the level plug"
  tap c
  until_seen "Level: "
}
# To the step's page from the live screen, and back.
steps() { tap j; until_seen "▶ . set the level"; }
live() { take "Go to the live screen"; until_seen "Engine [0-9]"; }

printf '# Two circuits and three rounds on screen\n\n`tests/show/ways_walk.sh`: by keyboard, the simulated car at 20 times life, 80x24. The\nsheets are invented and for tests (tests/data/sheets/ways).\n\n'

printf '## Two circuits in one housing\n'
begin gill-two-circuits cold-start
until_seen "▶ . parts and tools"
enter
until_seen "▶ . drain"
frame "Each circuit has its drain"
amount "Came out: final drive plug" "0.88 at 20"
frame "The final drive is drained"
amount "Came out: pan" "4.15 at 20"
until_seen "▶ . the old fluid"
take "Dark or brown"
finish
until_seen "▶ . refit"
take "new washer"
take "torque"
until_seen "▶ . fill"
frame "Each circuit has its fluid"
amount "Went in, final drive" "0.9 at 20"
frame "The final drive is filled: its own balance"
amount "Went in, gear side" "4.2 at 20"
until_seen "▶ . set the level"
live
frame "The final drive's level first, cold, the engine off"
tap 2
until_seen "Open the level plug now"
frame "GO: the final drive"
bench_tap - - -
run_down
frame "The final drive is set"
tap x
until_seen "gear side, warm"
frame "On to the gear side (x)"
steps
bench_take "Simulated car: start"
frame "The engine is started"
live
bench_tap + + +
until_seen "Get under the car"
frame "The gear side: the call"
bench_tap - - -
until_seen "Open the level plug now"
run_down
frame "The gear side is set"
steps
frame "Both levels, what ran out is asked of each"
amount "Ran out at the level opening, final drive" "0.02"
amount "Ran out at the level opening, gear side" "0.05"
take "new seal"
take "torque"
until_seen "▶ . close up"
frame "What is missing still"
finish
frame "The end"
counted

printf '\n## Three rounds\n'
begin cairn-three-rounds warm-day
until_seen "▶ . which gearbox"
take "shallow pan"
until_seen "▶ . parts and tools"
take "All here"
until_seen "Save fault codes"
amount "Odometer" "123456"
take "Save fault codes"
until_seen "▶ . open the fill plug"
finish
until_seen "▶ . drain"
amount "Came out: pan" "5.1 at 20"
until_seen "▶ . the old fluid"
take "Dark or brown"
finish
until_seen "▶ . filter"
take "torque 7"
until_seen "▶ . refit"
take "new washer"
take "torque 28"
take "new seal"
take "torque 3.5"
take "then 60"
until_seen "▶ . fill"
frame "Round 1: drained, the filter changed, all of it closed"
amount "Went in" "5.5 at 20"
for round in 2 3; do
  until_seen "▶ . drain"
  point "Came out: pan"
  frame "Filled: led back to the drain, round $round"
  amount "Came out: pan" "5.1 at 20"
  until_seen "▶ . refit"
  frame "Round $round: its plug goes back with another washer"
  take "new washer"
  take "torque 28"
  until_seen "▶ . fill"
  frame "Round $round: drained"
  amount "Went in" "5.1 at 20"
done
until_seen "▶ . work the selector"
go "fill"
frame "Three rounds: the balance of each"
go "drain"
point "Came out: pan"
frame "And how much of the old fluid they leave"
counted
exit $missed

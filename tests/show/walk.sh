#!/usr/bin/env bash
# A walk through the level step in tmux at 80x24, on the simulated car: prints what the
# person sees at each phase as Markdown (docs/level-step-walk.md is its output).
walk=level
. "$(dirname "$0")/parts/walk.sh"

open 80 24 "$sumpgate demo --speed 20"
until_seen "Before you start"
printf '# The level step on screen\n\n`tests/show/walk.sh`: the simulated car from cold, 80x24, the clock run faster where\nnothing happens. The keys pressed stand above each picture.\n'
frame "The cautions first (Enter, to their end)"
read_cautions
until_seen "opens in"
frame "Wait: the countdown"
until_seen "Get under the car"
frame "The call, a minute before: get under the car"
bench_tap - -
until_seen "Open the level plug now"
frame "GO: open"
bench_tap - - -
tap Space
sleep 2
frame "Opened (Space)"
for pause in 0.4 0.6 0.8 1.0 1.2 1.3; do drip; sleep "$pause"; done
frame "Drips, marked (Space for each)"
until_seen "Close the level plug"
frame "Settled: close"
tap c
sleep 1
frame "Closed and judged (c)"
counted
tap q
exit $missed

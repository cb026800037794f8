#!/usr/bin/env bash
# A walk through a level by the stick in tmux at 80x24, on a simulated car that cools
# through the window: prints what the person sees as Markdown (docs/stick-walk.md).
walk=stick
. "$(dirname "$0")/parts/walk.sh"
reads() { tap d; until_seen "Stick reads"; text "$1"; tap Enter; sleep 1; }

open 80 24 "$sumpgate demo --profile fell-belt-variator --scene hot --speed 50"
until_seen "read on"
printf '# A level by the stick on screen\n\n`tests/show/stick_walk.sh`: the Fell sheet, the engine off, the fluid cooling, 80x24. No\nplug is spoken of. The keys pressed stand above each picture.\n'
read_cautions
until_seen "Too hot"
frame "The cautions are read (Enter); it is too hot still"
until_seen "Get to the stick"
frame "The call, a minute before"
bench_tap - - -
until_seen "Wipe the stick"
frame "GO: read the stick"
reads "28 mm"
frame "The first reading (d, 28 mm): one more is wanted"
reads "28.5 mm"
frame "The second one (d, 28.5 mm): two tell their scatter badly, one more is wanted"
reads "28 mm"
frame "The third one (d, 28 mm): below the marks, and how much is missing"
counted
tap q
exit $missed

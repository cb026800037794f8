#!/usr/bin/env bash
# From the start screen to GO at an adapter nobody named before, in tmux at 80x24: the
# bench serves a warm day on TCP, as an adapter with a network of its own does. Prints
# each picture and how many keys and characters it took, as Markdown (docs/start-walk.md
# is its output), and exits 1 if anything expected was not seen.
walk=start
. "$(dirname "$0")/parts/walk.sh"
port=${PORT:-35917}
# Down to the line that has these words, and Enter.
choose() {
  for _ in $(seq 20); do
    see | grep -q "▶ .*$1" && { key Enter; return; }
    key Down
  done
  lack "no line $1"
}

$sumpgate bench --tcp "127.0.0.1:$port" --scene warm-day >/dev/null 2>&1 &
serving=$!
open "${WIDE:-80}" "${HIGH:-24}" "cd $home; $sumpgate"
printf '# From the start screen to GO\n\n`tests/show/start_walk.sh`: an adapter that was never used here, by its address. Nothing\nelse is typed.\n'
until_seen "Make a sheet"
frame "The first start ($keys keys so far)"
choose "Scar"
until_seen "What is to be done"
choose "The level only"
until_seen "Where does the temperature come from"
sleep 2
frame "No adapter is plugged in: one with a network of its own is told by its address ($keys keys so far)"
choose "type its address"
until_seen "Its address"
text "127.0.0.1:$port"
frame "The address ($keys keys so far)"
key Enter
until_seen "read on\|I have read"
frame "The cautions come first ($keys keys so far)"
read_cautions
until_seen "°C/min"
frame "What the adapter tells ($keys keys so far)"
until_seen "Open the level plug now"
frame "GO ($keys keys so far)"
tap q
counted
kill "$serving" 2>/dev/null
exit $missed

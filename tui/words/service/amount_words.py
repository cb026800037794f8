"""What the pages about amounts say: what came out, goes in, stays. Pure."""

from __future__ import annotations

OUT_IN_ALL = "Came out in all: {}"
UNDER_PRESSURE = "{}: under pressure, it can spray."
SIDEWAYS = "{}: runs out sideways, move the pan."
FILL_FIRST = "Engine off. Fill in {} before it runs again."
ALL_OUT = "All of it came out: close the line."
START_AND_STOP = "Start the engine, STOP it when {} came out, type what it was."
SO_FAR = "So far out {}, in {}{}."
OLD_SHARE = (
    "About {} of the old fluid stays in (between {} and {}), if it mixes completely."
)
SHARES_NEXT = (
    "Filled, driven and drained again like this it would be {} after round {}, {} "
    "after round {}."
)
ROUNDS_WANTED = "It takes {} rounds in all to come to {} or less."
CLOSE_DRAINS = "Close every drain before you fill it again."
DRAIN_AGAIN = (
    "Run it or drive it as the sheet says, drain it again and type what came out: "
    "that begins round {}."
)
SHEET_ROUNDS = "The sheet drains and fills {} times in all."
USUAL_FILL = "The sheet's service fill: {}"
FIRST_FILL = "Put in first: {} at {} (± {})"
HOW_WARM = "How warm the new fluid is: "
POUR = "Pour {}: your fluid is {}. On a scale that is {}."
BALANCE = "All at {}: out {}, in {}, ran out {}. {} (± {})."
OVER_TOTAL = "That is {} more than it holds."
ASSUMED = "Where no temperature was given, a range is assumed."
AS_BEFORE = "As much in it as before"
THAN_BEFORE = "{} {} in it than before"
BY_MEASURE = "The level, by measure: {} By {} ± {}."
RAN_OUT = "Ran out at the level opening"
ASK_LITERS = "liters, °C? 4.8 or 4.8 at 35"
ASK_QUARTS = "quarts, °F? 5 or 5 at 95"

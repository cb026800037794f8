"""The sentences of a new sheet: the usual cautions and steps (common practice)."""

from __future__ import annotations

import json

from bridge.values.sheet import EngineRule, LevelMethod
from tui.sheet_new.questions import Answers

SEVERE = (
    "Towing, mountains or a full load most of the time (common practice).",
    "Stop-and-go, great heat or hard frost most of the time (common practice).",
)
_CAUTIONS = (
    "The maker's figures and the local rules come before anything shown here.",
    "Hot fluid runs out as soon as a plug is opened: wear gloves and eye protection.",
    (
        "Never go under a car that only a jack holds: use a lift, or "
        "stands on hard level ground, with the parking brake on and the wheels chocked."
    ),
    (
        "An idling engine makes carbon monoxide: work in the open or lead "
        "the exhaust outside."
    ),
    (
        "Shafts, belts and fans turn while the engine idles: keep hands, "
        "hair and cloth clear."
    ),
    "Hold the brake pedal while the selector is moved: the car can creep.",
    (
        "Fill, level, drain and engine plugs look alike: be sure which "
        "one is in front of you (common practice)."
    ),
    "Used fluid is waste for the collecting point: never pour it away.",
)
_DRAINED = (
    "Set the car level in all directions.",
    "Open the level plug when the banner says GO.",
    "If nothing runs out, add fluid until it does.",
    "Wait until the stream has broken into drips, then close the level plug.",
    (
        "If the fluid leaves the window first, close the plug, let "
        "everything cool and begin again."
    ),
)
_STICK = (
    "Set the car level in all directions.",
    (
        "Draw the stick when the banner says GO, wipe it, push it home, "
        "draw it again and read it."
    ),
    "Add a little fluid or draw some off until the stick shows the mark.",
    "Begin again if the fluid leaves the window first.",
)
_STEPS: tuple[tuple[str, str], ...] = (
    (
        "fill_plug",
        "Open the filler first, so that you know it opens (common practice).",
    ),
    (
        "drain",
        (
            "Drain with the engine off and the fluid hand-warm, and "
            "measure what comes out (common practice)."
        ),
    ),
    ("old_fluid", "Look at color, smell and what has settled (common practice)."),
    ("refit", "Put the drain plug in and tighten it to the maker's torque."),
    ("fill", "Fill in what came out (common practice)."),
    ("closing", "Close the filler and wipe all surfaces dry, so that a leak shows."),
    ("recheck", "Look for leaks after a short drive (common practice)."),
)
_FILTER = ("filter", "Change the filter and its seal as the maker says.")
_EXERCISE = (
    "exercise",
    (
        "Start the engine, hold the brake and rest the selector in each "
        "position (common practice)."
    ),
)


def cautions(answers: Answers) -> str:
    """Return the [cautions] section: what every such job needs."""
    lines = list(_CAUTIONS)
    if answers.get("engine") == EngineRule.OFF:
        lines.insert(4, "The fan may start by itself after the engine is off.")
    return (
        "# The usual cautions (common practice); add what the maker warns of.\n"
        f"[cautions]\n{_list('lines', lines)}"
    )


def steps(answers: Answers) -> str:
    """Return the [steps] section in the usual order."""
    order = list(_STEPS)
    if answers.get("filter") == "yes":
        order.insert(3, _FILTER)
    if "positions" in answers:
        order.insert(-2, _EXERCISE)
    stick = answers.get("method") == LevelMethod.STICK
    level = _list("level", list(_STICK if stick else _DRAINED))
    lists = [_list(key, [line]) for key, line in order]
    lists.insert(-2, level)
    return (
        "# Common practice in our words: put the maker's own steps in "
        "their place; add\n# order = [...] if the maker's order is another one.\n"
        f"[steps]\n{''.join(lists)}"
    )


def _list(key: str, lines: list[str]) -> str:
    items = "".join(f"  {json.dumps(line, ensure_ascii=False)},\n" for line in lines)
    return f"{key} = [\n{items}]\n"

"""One plain imperative line for each instruction; the screen may word it its way."""

from __future__ import annotations

from bridge.level.step.step_values import Instruction

_TEXT: dict[Instruction, str] = {
    Instruction.CONFIRM: "Go through the list and confirm every point.",
    Instruction.MEET_CONDITIONS: "Put right what the list marks as not met.",
    Instruction.WAIT_WARMING: "Wait: the fluid is warming up to the window.",
    Instruction.WAIT_COOLING: "Wait: the fluid is cooling down to the window.",
    Instruction.WAIT_READING: "Wait: there is no believable temperature now.",
    Instruction.WAIT: "Wait for the window.",
    Instruction.TOO_SHORT: "Do not open: the window would shut before it settles.",
    Instruction.MAY_NEVER: "Do not wait for it: the fluid may never get there.",
    Instruction.GET_UNDER: "Get under the car now, key on the level plug.",
    Instruction.STAND_BY: "Keep the key on the plug: do not open yet.",
    Instruction.OPEN_NOW: "Open the level plug now.",
    Instruction.WATCH: "Let it run and mark the drips; key N if nothing comes.",
    Instruction.STREAM_GOES_ON: "It runs far too long: close it, look for the cause.",
    Instruction.READING_LOST: "Have the plug in hand: the temperature is not known.",
    Instruction.CLOSE_SETTLED: "Close the level plug: the surplus has run off.",
    Instruction.CLOSE_TIMER: "Time is up: close if it drips, key S if it streams.",
    Instruction.CLOSE_WINDOW: "Close the level plug now: the window is shutting.",
    Instruction.WATCH_HEAT: "Let it run, key in hand: close at the sheet's heat.",
    Instruction.CLOSE_AT: "Close the level plug now: this is the heat to close at.",
    Instruction.CLOSE_OUTSIDE: "Close the level plug now: outside the window.",
    Instruction.CLOSE_CONDITION: "Close the level plug now: a condition broke.",
    Instruction.CLOSE_BLIND: "Close the level plug now: no temperature.",
    Instruction.CLOSE_OVERDUE: "Close the level plug at once, then mark it closed.",
    Instruction.ADD_FLUID: "Add some fluid, watch the plug, mark what you added.",
    Instruction.TIGHTEN: "Tighten the plug to the sheet's torque, new seal.",
    Instruction.JUDGED_GOOD: "Check for leaks: the level was set inside the window.",
    Instruction.JUDGED_AGAIN: "Read what is said of the level; in doubt set it again.",
    Instruction.COOL_DOWN: "Switch the engine off and let the fluid cool down.",
    Instruction.WARM_FIRST: "Let it idle to above the window, then switch it off.",
    Instruction.GET_TO_STICK: "Get to the stick now, with a clean cloth.",
    Instruction.HOLD_STICK: "Have stick and cloth ready: do not read yet.",
    Instruction.READ_STICK: "Wipe the stick, put it in all the way, read it, type it.",
    Instruction.READ_AGAIN: "Wipe the stick and read it once more.",
    Instruction.TOP_UP: "Below the marks: top up, type how much, and read again.",
    Instruction.DRAW_OFF: "Above the marks: draw some off, then begin again (key R).",
    Instruction.WARM_UP: "Let the engine warm the fluid up and begin again.",
}


def instruction_text(instruction: Instruction) -> str:
    """Return the line for an instruction."""
    return _TEXT[instruction]

"""One plain imperative line for each instruction; the screen may word it its way."""

from __future__ import annotations

from bridge.level.step.step_values import Instruction

_TEXT: dict[Instruction, str] = {
    Instruction.CONFIRM: "Go through the list and confirm every point.",
    Instruction.MEET_CONDITIONS: "Fix the items marked not OK.",
    Instruction.WAIT_WARMING: "Wait: the fluid is warming up to the window.",
    Instruction.WAIT_COOLING: "Wait: the fluid is cooling down to the window.",
    Instruction.WAIT_READING: "Wait: there is no reliable temperature now.",
    Instruction.WAIT: "Wait for the window.",
    Instruction.TOO_SHORT: "Do not open: too little time would be left.",
    Instruction.MAY_NEVER: "The fluid may not reach the window at idle.",
    Instruction.GET_UNDER: "Get under the car now, wrench on the level plug.",
    Instruction.STAND_BY: "Keep the wrench on the plug: do not open it yet.",
    Instruction.OPEN_NOW: "Open the level plug now.",
    Instruction.WATCH: "Let it run, mark the drips; n: nothing ran out.",
    Instruction.STREAM_GOES_ON: "It has run far too long: close it, find out why.",
    Instruction.READING_LOST: "Plug in hand: the temperature is not known.",
    Instruction.CLOSE_SETTLED: "Close the level plug: the excess has drained.",
    Instruction.CLOSE_TIMER: "Time is up. Drips: close. Still a steady stream: s.",
    Instruction.CLOSE_WINDOW: "Close the level plug now: the window is shutting.",
    Instruction.WATCH_HEAT: "Let it run, wrench ready: close when told.",
    Instruction.CLOSE_AT: "Close the level plug now: closing temperature.",
    Instruction.CLOSE_OUTSIDE: "Close the level plug now: outside the window.",
    Instruction.CLOSE_CONDITION: "Close the level plug now: something is not OK.",
    Instruction.CLOSE_BLIND: "Close the level plug now: no temperature.",
    Instruction.CLOSE_OVERDUE: "Close the level plug at once, then mark it closed.",
    Instruction.ADD_FLUID: "Top up a little, watch the plug; a: how much?",
    Instruction.TIGHTEN: "Tighten the plug to the sheet's torque, new seal.",
    Instruction.JUDGED_GOOD: "Level: GOOD. Check for leaks.",
    Instruction.JUDGED_AGAIN: "Level: see result.",
    Instruction.COOL_DOWN: "Engine off: let the fluid cool down.",
    Instruction.WARM_FIRST: "Let it idle to above the window, then switch it off.",
    Instruction.GET_TO_STICK: "Get to the stick now, with a clean cloth.",
    Instruction.HOLD_STICK: "Have stick and cloth ready: do not read yet.",
    Instruction.READ_STICK: "Wipe the stick, push it right in, read it, type it.",
    Instruction.READ_AGAIN: "Wipe the stick and read it once more.",
    Instruction.WAIT_OUT: "Wait: the sheet's time is not over yet.",
    Instruction.DO_PHASE: "Do this phase's work, then say that it is done (x).",
    Instruction.WAIT_HEAT: "Wait: this phase ends by itself when the fluid is warm.",
    Instruction.TELL_HEAT: "Nothing reads the fluid: warm enough? Say so (x).",
    Instruction.SHIFT: "NOBODY UNDER THE CAR: foot on the brake, then shift.",
    Instruction.COME_OUT: "COME OUT from under the car: it may move. Then look why.",
    Instruction.TOP_UP: "Below the marks: top up, type how much, and read again.",
    Instruction.DRAW_OFF: "Above the marks: draw some off, then start over (r).",
    Instruction.WARM_UP: "Start the engine and let the fluid warm up.",
}


def instruction_text(instruction: Instruction) -> str:
    """Return the line for an instruction."""
    return _TEXT[instruction]

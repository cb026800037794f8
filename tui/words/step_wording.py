"""The level step in words: the imperative of its phase, and how it stands. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.level.settling.outlasting import HELP_TEXT, helps
from bridge.level.step.step_values import (
    BEFORE_OPENING,
    OPEN_PHASES,
    Bell,
    Instruction,
    Outcome,
    Phase,
    Step,
)
from bridge.values.conditions import Verdict
from bridge.values.sheet import Confirmation, EngineRule, LegEnd
from tui.inputs.offers import marks_of
from tui.words import figures, outlook_wording
from tui.words.instructions import instruction_text

if TYPE_CHECKING:
    from bridge.snapshot import Snapshot
    from bridge.values.service_events import ServiceEvent
    from tui.words.figures import TemperatureUnit

LEADING = OPEN_PHASES | {Phase.GET_READY, Phase.GO, Phase.CLOSED, Phase.JUDGED}
"""Phases whose imperative matters more than the first reason."""

BELLS_S: dict[Bell, tuple[float, ...]] = {
    Bell.GET_READY: (0.0, 0.6),
    Bell.OPEN: (0.0, 0.2, 0.4),
    Bell.CLOSE: (0.0, 0.2, 0.9, 1.1, 1.8, 2.0),
    Bell.TROUBLE: (0.0, 0.5, 1.0, 1.5, 2.0, 2.5),
}
"""When the bell strikes, in seconds from the call: each call sounds different."""

VERDICT_BELLS_S: dict[Verdict, tuple[float, ...]] = {
    Verdict.GO: (0.0, 0.2, 0.4),
    Verdict.NO_GO: (0.0, 0.2, 0.9, 1.1, 1.8, 2.0),
}
"""The same where there is no step: as NO-GO turns to GO, and as it turns back."""

_OUTCOMES: dict[Outcome, str] = {
    Outcome.GOOD: "good: inside the window and settled",
    Outcome.NOT_OBSERVED: "not observed: inside the window, no drips marked",
    Outcome.STILL_RUNNING: "too high: closed before the excess had drained",
    Outcome.OUTSIDE: "do it again: outside the window for part of the time",
    Outcome.NOTHING_CAME: "too low: nothing ran out",
    Outcome.UNKNOWN: "do it again: temperature not known for part of the time",
    Outcome.BELOW: "too low: below the marks of the stick",
    Outcome.ABOVE: "too high: above the marks of the stick",
    Outcome.DISTURBED: "do it again: engine, selector or car were not as they must be",
    Outcome.OFF_TEMPERATURE: "closed at another temperature than the sheet's",
}


def lines(
    snapshot: Snapshot, *, go: bool, said: tuple[str, str], unit: TemperatureUnit
) -> tuple[str, str]:
    """Return the two lines under the banner; ``said`` is what the gate says alone.

    Where the level is set in several phases the second names the present one.
    """
    step, lead = snapshot.step, snapshot.lead
    if step is None:
        return said
    first, second = _lines(snapshot, step, go=go, said=said, unit=unit)
    if lead is None or not lead.legs or step.instruction in _OF_PHASE:
        return first, second
    return first, f"{figures.clean(lead.legs[step.leg].name)}: {second}"


def _lines(
    snapshot: Snapshot,
    step: Step,
    *,
    go: bool,
    said: tuple[str, str],
    unit: TemperatureUnit,
) -> tuple[str, str]:
    if step.instruction in _OF_PHASE:
        work = _work_of(snapshot, step)
        return instruction_text(step.instruction), work or said[1]
    if not go and (helped := _what_helps(snapshot, step, unit)):
        return helped
    if step.phase not in LEADING:
        return said
    if step.phase is Phase.GO and not go:
        return said
    if step.instruction is Instruction.OPEN_NOW:
        return instruction_text(step.instruction), said[0 if "soon" in said[0] else 1]
    if step.instruction in (Instruction.READ_STICK, Instruction.READ_AGAIN):
        many = len(step.reads)
        return instruction_text(step.instruction), f"Readings so far: {many}."
    return instruction_text(step.instruction), said[1 if go else 0]


_OF_PHASE = (
    *(Instruction.DO_PHASE, Instruction.WAIT_HEAT, Instruction.TELL_HEAT),
    Instruction.SHIFT,
)


def _work_of(snapshot: Snapshot, step: Step) -> str:
    """Say what the sheet wants done in a phase that sets no level; '': nothing."""
    lead = snapshot.lead
    if lead is None or not lead.legs or step.ends is LegEnd.LEVEL:
        return ""
    leg = lead.legs[step.leg]
    lines = (f"{leg.name}:", *leg.lines) if leg.lines else (leg.name,)
    return figures.clean(" ".join(lines))


def _what_helps(
    snapshot: Snapshot, step: Step, unit: TemperatureUnit
) -> tuple[str, str] | None:
    """Say early that the window will not do, and what helps; None: it may do."""
    if step.phase is Phase.MISSED:
        if snapshot.passed is not None:
            text = outlook_wording.passed(snapshot.passed, unit)[0]
            return instruction_text(step.instruction), text[0].upper() + text[1:] + "."
        return instruction_text(step.instruction), _back_in(step)
    if step.instruction is not Instruction.TOO_SHORT:
        return None
    engine = EngineRule.OFF if snapshot.engine_rpm == 0 else EngineRule.IDLING
    advice = helps(snapshot.trend, engine)
    return instruction_text(step.instruction), " ".join(
        HELP_TEXT[a] for a in advice[1:]
    )


def _back_in(step: Step) -> str:
    if step.begins_again_s is None:
        return "When it is back cannot be told yet; then begin again from the start."
    wait = figures.spoken_time(step.begins_again_s)
    return f"Back in range in about {wait}, if nothing changes."


_NO_DRIPS = "no drips marked"


def standing(step: Step, unit: TemperatureUnit) -> tuple[str, ...]:
    """Say how the running down stands, piece by piece; () unless the plug is open."""
    if not step.plug_open or step.opened_at_s is None:
        return ()
    opened = f"Open for {figures.spoken_time(step.now_at_s - step.opened_at_s)}"
    if step.closes_in_s is not None:
        return (opened, f"close in {figures.spoken_time(step.closes_in_s)}")
    state = step.settling
    if state is None:
        return (opened,)
    settled = f"settled: {figures.percent(state.settled_chance)} likely"
    count = len(step.drips_s)
    marks = f"{count} drip{'' if count == 1 else 's'} marked" if count else _NO_DRIPS
    if state.timer_only:
        return (opened, settled, f"{marks}: by the clock alone")
    if state.more_ml is None:
        return (opened, settled, "still to come: not known", marks)
    more = figures.amount(state.more_ml, unit)
    return (opened, settled, f"about {more} still to come", marks)


def outcome(found: Outcome) -> str:
    """Say how the level was set, without a figure."""
    return _OUTCOMES[found]


def kept_level(event: ServiceEvent) -> str:
    """Say how the level was set, as the service's log has it."""
    known = {o.value: o for o in Outcome}.get(event.name)
    return event.text if known is None else outcome(known)


POINTS: dict[Confirmation, str] = {
    Confirmation.CAUTIONS: "cautions read",
    Confirmation.CAR_LEVEL: "car level",
    Confirmation.SELECTOR_EXERCISED: "cycled",
    Confirmation.SELECTOR_POSITION: "selector",
    Confirmation.ENGINE: "engine",
    Confirmation.STANDING: "stationary",
    Confirmation.FIGURES: "figures checked",
    Confirmation.DRIVE_SAFE: "drive safe",
    Confirmation.BRAKE_HELD: "brake held",
}
"""What the key of a point confirms, beside the key."""


def key_hints(step: Step | None) -> tuple[tuple[str, str], ...]:
    """Return the marking keys that mean something now, as key and meaning."""
    if step is None:
        return ()
    before = step.phase in BEFORE_OPENING
    return tuple(
        (offer.key, offer.hint)
        for offer in marks_of(step)
        if offer.hint and (offer.main or not before or offer.word == "opened")
    )

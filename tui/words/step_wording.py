"""The level step in words: the imperative of its phase, and how it stands. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.level.budget import Budget, Source
from bridge.level.settling.outlasting import HELP_TEXT, helps
from bridge.level.step.instructions import instruction_text
from bridge.level.step.step_values import (
    BEFORE_OPENING,
    OPEN_PHASES,
    Bell,
    Instruction,
    Judgement,
    Outcome,
    Phase,
    Step,
)
from bridge.values.sheet import EngineRule
from tui.inputs.offers import marks_of
from tui.words import figures, outlook_wording

if TYPE_CHECKING:
    from bridge.level.step.stick import StickResult
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

_OUTCOMES: dict[Outcome, str] = {
    Outcome.GOOD: "inside the window and settled",
    Outcome.NOT_OBSERVED: "inside the window, but nobody marked that it had settled",
    Outcome.STILL_RUNNING: "closed before it had settled: likely high",
    Outcome.OUTSIDE: "outside the window for part of it: do it again",
    Outcome.NOTHING_CAME: "nothing ran out: likely low",
    Outcome.UNKNOWN: "it cannot be told: do it again",
    Outcome.OFF_TEMPERATURE: "closed at another temperature than the sheet's",
    Outcome.BELOW: "below the marks of the stick",
    Outcome.ABOVE: "above the marks of the stick",
}


def lines(
    snapshot: Snapshot, *, go: bool, said: tuple[str, str], unit: TemperatureUnit
) -> tuple[str, str]:
    """Return the two lines under the banner; ``said`` is what the gate says alone."""
    step = snapshot.step
    if step is None:
        return said
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
    detail = standing(step, unit) if go or step.plug_open or step.judgement else said[0]
    return instruction_text(step.instruction), detail


def _what_helps(
    snapshot: Snapshot, step: Step, unit: TemperatureUnit
) -> tuple[str, str] | None:
    """Say early that the window will not do, and what helps; None: it may do."""
    if step.phase is Phase.MISSED:
        if snapshot.passed is not None:
            told = outlook_wording.passed(snapshot.passed, unit)[0]
            return instruction_text(step.instruction), told[0].upper() + told[1:] + "."
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
    return f"Back where you can begin in about {wait}, if nothing changes."


def standing(step: Step, unit: TemperatureUnit) -> str:
    """Say how the running down stands, or how the level was judged."""
    if step.judgement is not None:
        return judged(step.judgement, unit)
    if not step.plug_open or step.opened_at_s is None:
        return ""
    told = [f"Open for {figures.spoken_time(step.now_at_s - step.opened_at_s)}"]
    if step.closes_in_s is not None:
        told.append(f"close in {figures.spoken_time(step.closes_in_s)}")
        return ", ".join(told)
    state = step.settling
    if state is None:
        return told[0]
    if state.timer_only:
        told.append("nothing marked: this is only the sheet's time")
    else:
        told.append(f"{len(step.drips_s)} marks")
    told.append(f"settled: chance {figures.percent(state.settled_chance)}")
    if state.more_ml is not None:
        told.append(f"about {figures.amount(state.more_ml, unit)} to come")
    return ", ".join(told)


def outcome(found: Outcome) -> str:
    """Say how the level was set, without a figure."""
    return _OUTCOMES[found]


def told_level(event: ServiceEvent) -> str:
    """Say how the level was set, as the service's log has it."""
    known = {o.value: o for o in Outcome}.get(event.name)
    return event.text if known is None else outcome(known)


def judged(judgement: Judgement, unit: TemperatureUnit) -> str:
    """Say how the level was set; it informs, the maker's window decides."""
    if judgement.stick is not None:
        return by_stick(judgement, judgement.stick, unit)
    told = [outcome(judgement.outcome)]
    if judgement.closed is not None:
        told.append(f"closed at {figures.temperature(judgement.closed.temp_c, unit)}")
    if judgement.budget is not None:
        told.append(f"the level is {budgeted(judgement.budget, unit)}")
    if judgement.timer_only and judgement.outcome is not Outcome.NOT_OBSERVED:
        told.append("by the timer alone")
    return ", ".join(told)


_SOURCES: dict[Source, str] = {
    Source.TEMPERATURE: "temperature",
    Source.SENSOR: "the sensor's accuracy",
    Source.TILT: "the tilt",
    Source.STILL_RUNNING: "what still ran",
}


def budgeted(found: Budget, unit: TemperatureUnit) -> str:
    """Say what the level is worth, and what is not in that figure."""
    told = figures.amount(found.off_ml, unit, signed=True)
    told += f" ± {figures.amount(found.expanded_ml, unit)}"
    if found.off_mm is not None and found.expanded_mm is not None:
        wide = figures.height(found.expanded_mm, unit, signed=False)
        told += f" ({figures.height(found.off_mm, unit)} ± {wide})"
    if found.unknown:
        left_out = ", ".join(_SOURCES[source] for source in found.unknown)
        told += f", not counting {left_out}"
    return told


_ON_STICK = {Outcome.GOOD: "between the marks of the stick"}


def by_stick(judgement: Judgement, found: StickResult, unit: TemperatureUnit) -> str:
    """Say what the readings of a stick came to, in mm and as an amount."""
    told = [_ON_STICK.get(judgement.outcome) or outcome(judgement.outcome)]
    told.append(f"{found.reads} readings")
    if judgement.closed is not None:
        told.append(f"at {figures.temperature(judgement.closed.temp_c, unit)}")
    if found.over_middle_mm is not None and found.expanded_mm is not None:
        told.append(
            f"{figures.height(found.over_middle_mm, unit)} "
            f"± {figures.height(found.expanded_mm, unit, signed=False)} from the middle"
        )
    if found.to_middle_ml is not None and judgement.outcome is not Outcome.GOOD:
        way = "fill in" if found.to_middle_ml > 0 else "draw off"
        told.append(f"{way} about {figures.amount(abs(found.to_middle_ml), unit)}")
    return ", ".join(told)


def key_hints(step: Step | None) -> tuple[tuple[str, str], ...]:
    """Return the marking keys that mean something now, as key and meaning."""
    if step is None:
        return ()
    before = step.phase in BEFORE_OPENING
    return tuple(
        (offer.key, offer.hint)
        for offer in marks_of(step)
        if offer.hint and (offer.main or not before)
    )

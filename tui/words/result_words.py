"""What came of the level step: one large word, why, about how much, what next. Pure."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, assert_never

from bridge.level.budget import Source
from bridge.level.step.judgement import SETTLED_CHANCE
from bridge.level.step.step_values import Outcome
from bridge.values.frozen import frozen
from tui.words import figures

if TYPE_CHECKING:
    from bridge.level.budget import Budget
    from bridge.level.step.step_values import Judgement, Step
    from bridge.level.step.stick import StickResult
    from bridge.values.sheet import Sheet
    from tui.words.figures import TemperatureUnit


class Came(StrEnum):
    """The word shown largest once the plug is in."""

    GOOD = "GOOD"
    NOT_OBSERVED = "NOT OBSERVED"
    TOO_LOW = "TOO LOW"
    TOO_HIGH = "TOO HIGH"
    AGAIN = "DO IT AGAIN"


@frozen
class Result:
    """What the result's panel says."""

    came: Came
    why: str
    how_much: str
    onward: str
    """What to do next."""

    @property
    def line(self) -> str:
        """The result in one line."""
        return f"{self.came.value}: {self.why} {self.how_much}".rstrip()


def result(step: Step, sheet: Sheet, unit: TemperatureUnit) -> Result | None:
    """Return what came of the step; None: it is not judged yet."""
    judged = step.judgement
    if judged is None:
        return None
    came = came_of(judged, sheet)
    if judged.stick is not None:
        return _by_stick(came, judged, judged.stick, unit)
    still_ml = step.settling.more_ml if step.settling is not None else None
    onward = _onward(came, judged)
    if sheet.in_gear:
        onward = f"{_OUT_FIRST} {onward}"
    return Result(
        came=came,
        why=_why(judged, sheet, unit),
        how_much=_how_much(judged, sheet, still_ml, unit),
        onward=f"{_NEXT} {onward}" if step.may_go_on else onward,
    )


_OUT_FIRST = "Nobody touches the lever before you are out from under the car."
_NEXT = "This phase is done: press x for the next one."


def came_of(judged: Judgement, sheet: Sheet) -> Came:
    """Return the one word for a judgement.

    Closed above the window the fluid shrinks below the opening as it cools: low.
    Closed below it, it grows: high, and higher still if it had not settled.
    """
    if judged.outcome is Outcome.OUTSIDE:
        return _outside(judged, sheet)
    if judged.outcome is Outcome.OFF_TEMPERATURE:
        return _off(judged, sheet)
    return _CAME.get(judged.outcome, Came.AGAIN)


_CAME: dict[Outcome, Came] = {
    Outcome.GOOD: Came.GOOD,
    Outcome.NOT_OBSERVED: Came.NOT_OBSERVED,
    Outcome.STILL_RUNNING: Came.TOO_HIGH,
    Outcome.NOTHING_CAME: Came.TOO_LOW,
    Outcome.UNKNOWN: Came.AGAIN,
    Outcome.BELOW: Came.TOO_LOW,
    Outcome.ABOVE: Came.TOO_HIGH,
}


def _outside(judged: Judgement, sheet: Sheet) -> Came:
    if judged.closed is None:
        return Came.AGAIN
    if judged.closed.temp_c < sheet.window.low_c:
        return Came.TOO_HIGH
    settled = judged.settled_chance >= SETTLED_CHANCE
    above = judged.closed.temp_c > sheet.window.high_c
    return Came.TOO_LOW if above and settled else Came.AGAIN


def _off(judged: Judgement, sheet: Sheet) -> Came:
    if judged.closed is None or sheet.close_at_c is None:
        return Came.AGAIN
    hot = judged.closed.temp_c > sheet.close_at_c
    return Came.TOO_LOW if hot else Came.TOO_HIGH


def _why(judged: Judgement, sheet: Sheet, unit: TemperatureUnit) -> str:
    if judged.outcome is Outcome.OUTSIDE:
        return _left(judged, sheet, unit)
    meant = sheet.close_at_c
    if judged.outcome is Outcome.OFF_TEMPERATURE and meant is not None:
        at = figures.temperature(meant, unit)
        return f"Closed{_at(judged, unit, '')}, the sheet says {at}."
    if judged.outcome is Outcome.GOOD and sheet.window.any:
        return f"Settled{_at(judged, unit)}; any temperature was right."
    if judged.outcome is Outcome.GOOD and meant is not None:
        return f"Closed{_at(judged, unit, '')}, as the sheet says."
    return _WHY[judged.outcome].format(at=_at(judged, unit))


_WHY: dict[Outcome, str] = {
    Outcome.GOOD: "Inside the window the whole time, and settled{at}.",
    Outcome.NOT_OBSERVED: "Inside the window, and the sheet's time was up{at}, but no "
    "drips were marked.",
    Outcome.STILL_RUNNING: "Closed before the excess had drained{at}.",
    Outcome.NOTHING_CAME: "Nothing ran out of the level opening{at}.",
    Outcome.UNKNOWN: "The temperature was not known for part of the time.",
    Outcome.DISTURBED: "Engine, selector or car were not as the sheet wants while the "
    "plug was out{at}.",
    Outcome.OFF_TEMPERATURE: "Closed at another temperature than the sheet's{at}.",
    Outcome.BELOW: "Below the lower mark of the stick{at}.",
    Outcome.ABOVE: "Above the upper mark of the stick{at}.",
}


def _left(judged: Judgement, sheet: Sheet, unit: TemperatureUnit) -> str:
    closed = judged.closed
    if closed is not None and closed.temp_c < sheet.window.low_c:
        return f"Closed{_at(judged, unit, '')}, below the window."
    if closed is not None and closed.temp_c > sheet.window.high_c:
        early = "" if judged.settled_chance >= SETTLED_CHANCE else ", before it settled"
        return f"Closed{_at(judged, unit, '')}, above the window{early}."
    return "The fluid was outside the window for part of the time."


def _at(judged: Judgement, unit: TemperatureUnit, before: str = ", closed") -> str:
    if judged.closed is None:
        return ""
    return f"{before} at {figures.temperature(judged.closed.temp_c, unit)}"


def _how_much(
    judged: Judgement, sheet: Sheet, still_ml: float | None, unit: TemperatureUnit
) -> str:
    if judged.outcome is Outcome.NOTHING_CAME:
        return "How much is missing is not known: no fluid reached the opening."
    if judged.budget is not None:
        return budgeted(judged.budget, unit)
    if judged.outcome is Outcome.STILL_RUNNING and still_ml is not None:
        return f"About {figures.amount(still_ml, unit)} still had to drain."
    if judged.outcome is Outcome.STILL_RUNNING:
        return "How much too high is not known: no drips were marked."
    if judged.closed is None:
        return "How far off it is cannot be told without a temperature."
    if sheet.window.any:
        return ""
    return "How far off it is cannot be told: the sheet gives no total fill."


_SOURCES: dict[Source, str] = {
    Source.TEMPERATURE: "the temperature",
    Source.SENSOR: "the sensor's accuracy",
    Source.TILT: "the tilt",
    Source.STILL_RUNNING: "what still ran",
    Source.JUG: "the jugs or the scale",
    Source.READING: "the readings",
    Source.DENSITY: "the density",
}


def budgeted(found: Budget, unit: TemperatureUnit) -> str:
    """Say how far off the level is, with its budget, and what that leaves out."""
    side = "low" if found.off_ml < 0 else "high"
    text = f"About {figures.amount(abs(found.off_ml), unit)} {side}"
    give = figures.amount(found.expanded_ml, unit)
    text += f", ±{give}" if give != figures.amount(0.0, unit) else ""
    if found.off_mm is not None and found.expanded_mm is not None:
        tall = figures.height(abs(found.off_mm), unit, signed=False)
        text += f" ({tall}, ±{figures.height(found.expanded_mm, unit, signed=False)})"
    return f"{text}{_not_counted(found)}."


def _not_counted(found: Budget | None) -> str:
    if found is None or not found.unknown:
        return ""
    sources = " or ".join(_SOURCES[source] for source in found.unknown)
    return f", not counting {sources}"


def shares(found: Budget, unit: TemperatureUnit) -> str:
    """Say what each source of doubt is worth (k = 2)."""
    lines = [
        f"{_SOURCES[part.source]} ±{figures.amount(2.0 * part.sd_ml, unit)}"
        for part in found.parts
        if part.sd_ml is not None
    ]
    tall = ""
    if found.expanded_mm is not None:
        tall = f"; in all ±{figures.height(found.expanded_mm, unit, signed=False)}"
    return f"Of that {', '.join(lines)}{tall} (k = 2)."


def _onward(came: Came, judged: Judgement) -> str:
    match came:
        case Came.GOOD:
            return (
                "Tighten the plug with a new seal to the sheet's torque, then check "
                "for leaks."
            )
        case Came.NOT_OBSERVED:
            return "To be sure, press r and set it again, marking the drips."
        case Came.TOO_HIGH:
            return "Press r. When GO shows again, open the plug and let the rest drain."
        case Came.TOO_LOW if judged.outcome is Outcome.NOTHING_CAME:
            return "Top up as the maker says, then press r and set it again."
        case Came.TOO_LOW:
            return (
                "Top up, let the fluid come back into the window, then press r and "
                "set it again."
            )
        case Came.AGAIN:
            return (
                "Bring the fluid back into the window, then press r and set it again."
            )
        case _:
            assert_never(came)


_ON_STICK = {
    Came.TOO_LOW: (
        "below the lower mark",
        "Top up, then read the stick again and type each reading.",
    ),
    Came.TOO_HIGH: (
        "above the upper mark",
        "Draw some off, then press r and read the stick again.",
    ),
    Came.GOOD: ("between the marks", "Push the stick right in and check for leaks."),
}


def _by_stick(
    came: Came, judged: Judgement, found: StickResult, unit: TemperatureUnit
) -> Result:
    where, onward = _ON_STICK.get(
        came,
        ("which side of a mark cannot be told", "Press r and read the stick again."),
    )
    readings = f"{found.reads} reading{'' if found.reads == 1 else 's'}"
    return Result(
        came=came,
        why=f"By the stick, {readings}{_at(judged, unit, '')}: {where}.",
        how_much=_over_marks(found, judged.budget, unit),
        onward=onward,
    )


def _over_marks(found: StickResult, worth: Budget | None, unit: TemperatureUnit) -> str:
    if found.over_middle_mm is None or found.expanded_mm is None:
        return "How far off it is cannot be told: it was read by the marks alone."
    height = figures.height(found.over_middle_mm, unit)
    give = figures.height(found.expanded_mm, unit, signed=False)
    text = f"{height} ± {give} from the middle of the marks"
    if found.to_middle_ml is None:
        return f"{text}."
    way = "short" if found.to_middle_ml > 0 else "over"
    much = figures.amount(abs(found.to_middle_ml), unit)
    return f"{text}, about {much} {way}{_not_counted(worth)}."

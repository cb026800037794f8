"""Everything the screen shows at one moment, as words and numbers. Pure.

``screen_state`` is the one way from a Snapshot to the screen. It fails safe: whatever
it cannot vouch for is blank, and the verdict is GO only if the snapshot is
sound in itself.
"""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from typing import TYPE_CHECKING, TypedDict, assert_never

from bridge.level.gate import PERSONS
from bridge.level.settling.outflow import settle_of
from bridge.level.step.step_values import Phase
from bridge.snapshot import Snapshot
from bridge.values.conditions import ConditionName, ConditionState, Verdict
from bridge.values.frozen import frozen
from bridge.values.outlook import Outlook
from bridge.values.readings import LinkState
from tui.words import (
    figures,
    outlook_wording,
    result_words,
    step_wording,
    thermometer_wording,
    wording,
)
from tui.words.instructions import instruction_text
from tui.words.screen import countdown, screen_words
from tui.words.screen.countdown import Countdown

if TYPE_CHECKING:
    from bridge.values.sheet import Sheet
    from tui.words.figures import TemperatureUnit
    from tui.words.result_words import Result


class Contact(StrEnum):
    """How the screen stands to the monitor, seen from the screen."""

    WAITING = "waiting"
    """No snapshot has come yet."""
    HELD = "held"
    LOST = "lost"
    """No snapshot for too long: the numbers are blanked."""
    ENDED = "ended"
    """The monitor has said that it cannot go on."""


@frozen
class ScreenInputs:
    """What the screen state is made from."""

    sheet: Sheet
    unit: TemperatureUnit
    contact: Contact
    snapshot: Snapshot | None = None
    failure: str = ""
    unread: bool = False
    """Whether the cautions are still to be read; above them there is no GO."""


@frozen
class ConditionLine:
    """One condition as the screen lists it."""

    name: str
    state: ConditionState
    word: str
    why: str
    """The reasons against it, in words; '' if there are none."""


@frozen
class ScreenState:
    """The screen's content; every text is one line of plain text."""

    verdict: Verdict
    headline: str
    """The first reason; under GO, what to do."""
    remedy: str
    more: int
    """How many further reasons stand."""
    hurry: bool
    """True: GO, but the window shuts soon."""
    number: str
    """The temperature for the big digits, or '--.-'."""
    unit: str
    spread: str
    trend: str
    last_seen: str
    """'last seen 38.0 °C, 14 s ago' while no live temperature is known; or ''."""
    opens: Countdown
    shuts: Countdown
    inside: bool
    conditions: tuple[ConditionLine, ...]
    link: str
    age: str
    """How long ago the last accepted reading came."""
    detail: str
    values: tuple[tuple[str, str], ...]
    """Name and text of each further value of the car."""
    standing: tuple[str, ...] = ()
    """While the plug is open: how the running down stands, piece by piece."""
    result: Result | None = None
    """What came of the level step, once it is judged."""
    do_now: str = ""
    """While the plug is out: what to do, wherever else one looks."""


class _StepPart(TypedDict):
    do_now: str
    standing: tuple[str, ...]
    result: Result | None


_OVER = (Phase.CLOSED, Phase.JUDGED)
"""The plug is in again: nothing calls to open it, so there is no GO."""
_NO_COUNTDOWN = "cannot tell"
_OPEN = Countdown(label="open now", sentences=(screen_words.OPEN_NOW,))
_PERHAPS_OPEN = Countdown(label="not sure yet", sentences=(screen_words.PERHAPS_OPEN,))
"""Inside by the estimate, but the gate does not take it as known: no word of 'open'."""
_SHUT = Countdown(label="shut", sentences=(screen_words.SHUT_TILL_THEN,))
_ANY = (
    Countdown(label="", sentences=(screen_words.ANY_TEMPERATURE,)),
    Countdown(label=""),
)
"""Where no window opens or shuts nothing is counted down."""
_NOTHING = Snapshot(t_s=0.0, link=LinkState.CONNECTING)


def screen_state(view: ScreenInputs) -> ScreenState:
    """Build the screen's content; never raises, whatever the snapshot holds."""
    snapshot = view.snapshot
    if snapshot is None or view.contact is not Contact.HELD:
        return _blank(view)
    if snapshot.lead is not None:
        view = replace(view, sheet=snapshot.lead)
    said_go = snapshot.says_go(view.sheet.window, view.sheet.stay_chance)
    early = view.unread and _calls_to_open(snapshot, go=said_go)
    over = snapshot.step is not None and snapshot.step.phase in _OVER
    go = said_go and not view.unread and not over
    opens, shuts = _countdowns(snapshot, view)
    hurry = go and _soon(shuts, view.sheet)
    headline, remedy = _go_words(view, hurry=hurry) if go else _reasons(snapshot, view)
    headline, remedy = step_wording.lines(
        snapshot, go=go, said=(headline, remedy), unit=view.unit
    )
    if early:
        headline, remedy = screen_words.UNREAD
    part = _step(snapshot, view)
    judged = part["result"] is not None  # the panel says all there is to say
    return ScreenState(
        verdict=Verdict.GO if go else Verdict.NO_GO,
        headline=headline,
        remedy="" if judged else remedy,
        more=0 if judged else max(0, len(snapshot.reasons) - 1),
        hurry=hurry,
        number=figures.temperature_number(snapshot.temp_c, view.unit),
        unit=f"°{view.unit}",
        spread=_spread(snapshot, view.sheet, view.unit),
        trend=_trend(snapshot, view.unit),
        last_seen=_last_seen(snapshot, view.unit),
        opens=opens,
        shuts=shuts,
        inside=countdown.is_open(snapshot.opens),
        conditions=_condition_lines(snapshot, view),
        link=wording.link_state(snapshot.link),
        age=_age(snapshot),
        detail=thermometer_wording.detail(snapshot, view.unit),
        values=_values(snapshot, view.unit),
        **part,
    )


def _step(snapshot: Snapshot, view: ScreenInputs) -> _StepPart:
    step = snapshot.step
    if step is None:
        return {"do_now": "", "standing": (), "result": None}
    return {
        "do_now": instruction_text(step.instruction) if step.plug_open else "",
        "standing": step_wording.standing(step, view.unit),
        "result": result_words.result(step, view.sheet, view.unit),
    }


def _calls_to_open(snapshot: Snapshot, *, go: bool) -> bool:
    """Say whether a GO, or a call to get ready, would be shown."""
    step = snapshot.step
    if step is not None and step.plug_open:
        return False
    return go or (step is not None and step.phase in (Phase.GO, Phase.GET_READY))


def _blank(view: ScreenInputs) -> ScreenState:
    headline, remedy = _no_monitor(view.contact, view.failure)
    if view.contact is Contact.WAITING and view.unread:
        headline, remedy = screen_words.UNREAD
    return ScreenState(
        verdict=Verdict.NO_GO,
        headline=headline,
        remedy=remedy,
        more=0,
        hurry=False,
        number=figures.UNKNOWN_BIG,
        unit=f"°{view.unit}",
        spread="",
        trend="not known",
        last_seen="",
        opens=countdown.counting("opens", None, _NO_COUNTDOWN),
        shuts=countdown.counting("shuts", None, _NO_COUNTDOWN),
        inside=False,
        conditions=_condition_lines(_NOTHING, view),
        link="not known",
        age="not known",
        detail="",
        values=_values(_NOTHING, view.unit),
    )


def _no_monitor(contact: Contact, failure: str) -> tuple[str, str]:
    match contact:
        case Contact.WAITING:
            return screen_words.STARTING, "One moment."
        case Contact.HELD | Contact.LOST:
            return screen_words.NO_DATA
        case Contact.ENDED:
            return screen_words.MONITOR_STOPPED, figures.clean(failure)
        case _:
            assert_never(contact)


def _go_words(view: ScreenInputs, *, hurry: bool) -> tuple[str, str]:
    step = screen_words.SET_NOW.format(wording.level_step(view.sheet.method))
    settle = wording.settle_time(view.sheet)
    stays = outlook_wording.stays(view.snapshot)
    if hurry:
        return screen_words.HURRY.format(settle), step
    takes = screen_words.TAKES.format(settle, stays)
    stands = view.snapshot.step if view.snapshot else None
    if stands is not None and stands.plug_open:
        return step, takes  # what comes first was said before it was opened
    return step, screen_words.MAKER_FIRST.format(takes)


def _reasons(snapshot: Snapshot, view: ScreenInputs) -> tuple[str, str]:
    if not snapshot.reasons:
        return screen_words.NO_REASON
    said = wording.reason(snapshot.reasons[0], snapshot, view.sheet, view.unit)
    return said.what, said.remedy


def _soon(shuts: Countdown, sheet: Sheet) -> bool:
    """Say whether the window may shut within twice the settle time."""
    settle_s = figures.known(settle_of(sheet).time_s, 0.0) or 0.0
    return shuts.early_s is not None and shuts.early_s < 2 * settle_s


def _spread(snapshot: Snapshot, sheet: Sheet, unit: TemperatureUnit) -> str:
    if figures.known_c(snapshot.temp_c) is None:
        return ""
    return figures.spread(snapshot.temp_sd_c, unit, sheet.sensor_accuracy_c)


def _trend(snapshot: Snapshot, unit: TemperatureUnit) -> str:
    if figures.known_c(snapshot.temp_c) is None:
        return "not known"
    return wording.trend(snapshot.trend, snapshot.rate_c_per_s, unit)


def _last_seen(snapshot: Snapshot, unit: TemperatureUnit) -> str:
    if figures.known_c(snapshot.temp_c) is not None:
        return ""
    seen = figures.temperature(snapshot.raw_c, unit)
    age_s = figures.known(snapshot.age_s, 0.0)
    if seen == figures.UNKNOWN or age_s is None:
        return screen_words.NO_READING
    return screen_words.LAST_SEEN.format(seen, figures.spoken_time(age_s))


def _open(snapshot: Snapshot) -> Countdown:
    """Say that the window is open only where the gate says so too."""
    states = {c.name: c.state for c in snapshot.every_condition()}
    fine = (ConditionState.MET, ConditionState.NEEDLESS)
    return _OPEN if states[ConditionName.TEMPERATURE] in fine else _PERHAPS_OPEN


def _countdowns(snapshot: Snapshot, view: ScreenInputs) -> tuple[Countdown, Countdown]:
    if view.sheet.window.any and not view.sheet.wants_air:
        return _ANY
    live = figures.known_c(snapshot.temp_c) is not None
    silent = countdown.silence(snapshot) if live else _NO_COUNTDOWN
    opens = countdown.sound(snapshot.opens) if live else None
    shuts = countdown.sound(snapshot.shuts) if live else None
    if countdown.is_open(opens):
        return _open(snapshot), countdown.staying(shuts, silent)
    if live and snapshot.passed is not None:
        lines = outlook_wording.passed(snapshot.passed, view.unit)
        return Countdown(label="passed", sentences=lines), _SHUT
    short_of = outlook_wording.short_of(snapshot, view.sheet.window, view.unit)
    opening = countdown.counting("opens", opens, silent, short_of)
    if opens is not None and snapshot.outlook is Outlook.LEARNING:
        lines = outlook_wording.learning(snapshot.figures_in_s, opens.p05_s)
        opening = replace(opening, label="opens", big="", sentences=lines)
    return opening, countdown.counting("shuts", shuts, silent)


def _condition_lines(
    snapshot: Snapshot, view: ScreenInputs
) -> tuple[ConditionLine, ...]:
    return tuple(
        ConditionLine(
            name=_name(c.name, snapshot, view),
            state=c.state,
            word=wording.condition_state(c.state),
            why=_why(c.name, snapshot, view)
            if c.state is ConditionState.MET
            else "; ".join(
                wording.reason(r, snapshot, view.sheet, view.unit).what
                for r in c.reasons
            ),
        )
        for c in snapshot.every_condition()
    )


def _name(name: ConditionName, snapshot: Snapshot, view: ScreenInputs) -> str:
    """Name a condition; with a thermometer alone there is no link to name."""
    alone = (
        snapshot.thermometer_status is not None
        and snapshot.thermometer_status.thermometer.alone
    )
    if name is ConditionName.LINK and alone:
        return "Thermometer"
    return wording.condition_name(name, view.sheet)


def _why(name: ConditionName, snapshot: Snapshot, view: ScreenInputs) -> str:
    """Say, beside a condition that is met, by what figure."""
    settle = wording.settle_time(view.sheet)
    word = {
        ConditionName.LINK: lambda: wording.link_state(snapshot.link),
        ConditionName.READING: lambda: f"read {figures.ago(snapshot.age_s)} ago",
        ConditionName.TEMPERATURE: lambda: figures.temperature(
            snapshot.temp_c, view.unit
        ),
        ConditionName.STAYS: lambda: (
            f"chance {figures.percent(snapshot.stay_chance)} for {settle}"
        ),
        ConditionName.ENGINE: lambda: wording.engine_speed(snapshot.engine_rpm),
        ConditionName.STANDING: lambda: wording.car_speed(
            snapshot.speed_kmh, view.unit
        ),
        ConditionName.VOLTAGE: lambda: wording.voltage(snapshot.voltage_v),
        ConditionName.CAR_LEVEL: lambda: (
            wording.tilt(snapshot.tilt, view.unit) if snapshot.tilt else _BY_WORD
        ),
        ConditionName.SELECTOR: lambda: figures.clean(snapshot.selector or _BY_WORD),
    }.get(name)
    said = word() if word is not None else _BY_WORD
    return said if said != _BY_WORD else _given(name, snapshot)


def _given(name: ConditionName, snapshot: Snapshot) -> str:
    """Say that the person confirmed it, and when, if that was before this run."""
    found = {n: c for c, (n, _) in PERSONS.items()}.get(name)
    utc_s = snapshot.carried.given_utc_s.get(found) if found else None
    return _BY_WORD if utc_s is None else f"{_BY_WORD} {figures.moment(utc_s)}"


_BY_WORD = "you confirmed it"


def _age(snapshot: Snapshot) -> str:
    age = figures.ago(snapshot.age_s)
    return "nothing yet" if age == figures.UNKNOWN else f"{age} ago"


def _values(snapshot: Snapshot, unit: TemperatureUnit) -> tuple[tuple[str, str], ...]:
    selector = figures.clean(snapshot.selector or "", 12) or figures.UNKNOWN
    return (
        ("Engine", wording.engine_speed(snapshot.engine_rpm)),
        ("Car", wording.car_speed(snapshot.speed_kmh, unit)),
        ("Coolant", figures.temperature(snapshot.coolant_c, unit, 0)),
        ("Air", figures.temperature(snapshot.ambient_c, unit, 0)),
        ("Battery", wording.voltage(snapshot.voltage_v)),
        ("Selector", selector),
    )

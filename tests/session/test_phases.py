"""A level that is set in phases: what each asks, what ends it, what never says GO."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from bridge.level.step.marks import mark
from bridge.level.step.resume import resume
from bridge.level.step.step_values import Instruction, Outcome, Phase
from bridge.service.level_facts import facts_of
from bridge.session.session import advance, apply
from bridge.session.session_state import Session, begin
from bridge.sheets import load
from bridge.sheets.reading.assemble import examine, parse_sheet
from bridge.snapshot import Snapshot
from bridge.values.codec import from_plain, to_plain
from bridge.values.conditions import ConditionState, Reason, Verdict
from bridge.values.events import Band, LinkChange, Mark, Marked
from bridge.values.readings import LinkState, Reading
from bridge.values.sheet import Confirmation, EngineRule, LegEnd, Role, Sheet
from tui.inputs.offers import offers
from tui.words import wording

WAYS = Path(__file__).parents[1] / "data" / "sheets" / "ways"
TOR = WAYS / "tor-static-then-warm.toml"


class Car:
    """A session, and a car whose values a test sets."""

    def __init__(self, sheet: Sheet, temp_c: float | None = 20.0) -> None:
        self.session: Session = begin(sheet, interval_s=1.0)
        self.now_s, self.rpm, self.temp_c = 0.0, 0.0, temp_c
        self.link = LinkState.LIVE
        self.tells(Mark.CONFIRMED, Confirmation.CAUTIONS, Confirmation.CAR_LEVEL)
        self.runs(1)

    def tells(self, what: Mark, *points: Confirmation, **more: object) -> None:
        for point in points or (None,):
            event = Marked(mark=what, t_s=self.now_s, confirms=point, **more)
            self.session = apply(self.session, event)

    def runs(self, seconds: int, per_s: float = 0.0) -> Snapshot:
        for _ in range(seconds):
            self.now_s += 1.0
            change = LinkChange(state=self.link, t_s=self.now_s)
            self.session = apply(self.session, change)
            told = {Role.ENGINE_SPEED: self.rpm, Role.VEHICLE_SPEED: 0.0}
            if self.temp_c is not None:
                self.temp_c += per_s
                told[Role.FLUID_TEMPERATURE] = round(self.temp_c, 1)
            for role, value in told.items() if self.link is LinkState.LIVE else ():
                reading = Reading(role=role, value=value, t_s=self.now_s)
                self.session = apply(self.session, reading)
            self.session, seen = advance(self.session, now_s=self.now_s)
        return seen

    def closes_good(self) -> None:
        """Open at GO, drip ever more slowly, close."""
        assert self.step.phase is Phase.GO
        self.tells(Mark.OPENED)
        gap = 1
        while self.step.phase not in (Phase.SETTLED, Phase.CLOSE):
            self.runs(gap)
            self.tells(Mark.DRIP)
            gap += 1
            assert gap < 60
        self.tells(Mark.CLOSED)
        self.runs(1)
        assert self.step.judgement is not None
        assert self.step.judgement.outcome is Outcome.GOOD

    @property
    def step(self):
        return self.session.step


def test_the_static_fill_needs_no_temperature_at_all() -> None:
    car = Car(load(str(TOR)), temp_c=None)
    seen = car.runs(3)
    assert seen.verdict is Verdict.GO
    needless = {
        c.name.value for c in seen.conditions if c.state is ConditionState.NEEDLESS
    }
    assert needless == {"reading", "temperature", "stays"}
    assert seen.says_go(car.session.lead.window, car.session.lead.stay_chance)
    assert car.step.phase is Phase.GO
    car.closes_good()
    car.rpm = 700.0
    assert car.runs(2).verdict is Verdict.NO_GO  # the sheet wants it off in this phase


def test_a_good_phase_before_the_last_is_no_level_of_the_service() -> None:
    car = Car(load(str(TOR)))
    car.runs(3)
    car.closes_good()
    assert car.step.may_go_on
    assert facts_of(car.step, 0).outcome is None
    car.tells(Mark.RESTART)
    car.runs(1)
    car.tells(Mark.OPENED)
    car.tells(Mark.STREAMING)
    car.runs(2)
    car.tells(Mark.CLOSED)
    car.runs(1)
    assert facts_of(car.step, 0).outcome is Outcome.STILL_RUNNING
    before = car.step
    car.tells(Mark.NEXT)
    assert car.step == before, "what still ran may not be gone on from"


def at_leg(leg: int) -> Car:
    """Return a car in a phase of the Tor gearbox, cold, its engine idling."""
    car = Car(load(str(TOR)))
    car.runs(3)
    car.closes_good()
    car.rpm = 750.0
    for _ in range(leg):
        car.tells(Mark.NEXT)
        car.runs(2)
    assert car.step.leg == leg
    return car


@pytest.mark.parametrize("temp_c", [20.0, 60.0])
@pytest.mark.parametrize("leg", [1, 2])
@pytest.mark.few(1)
def test_a_phase_that_sets_no_level_never_says_go(leg: int, temp_c: float) -> None:
    car = at_leg(leg)
    car.temp_c = temp_c if leg == 1 else 20.0
    for _ in range(120):
        seen = car.runs(1)
        assert seen.verdict is Verdict.NO_GO
        assert Reason.LEVEL_COMES_LATER in seen.reasons
    before = car.step
    for what in (Mark.OPENED, Mark.DRIP, Mark.STREAMING):
        car.tells(what)
        assert car.step == before, "nothing is opened in this phase"
    assert "opened" not in {o.word for o in offers(car.step)}


def test_the_selector_phase_ends_by_word_and_only_with_the_engine_idling() -> None:
    car = at_leg(1)
    assert car.step.instruction is Instruction.DO_PHASE
    car.rpm = 0.0
    car.runs(2)
    assert car.step.instruction is Instruction.MEET_CONDITIONS
    car.tells(Mark.NEXT)
    assert car.step.leg == 1
    car.rpm = 750.0
    car.runs(2)
    car.tells(Mark.NEXT)
    assert car.step.leg == 2


@pytest.mark.slow
def test_the_cooler_phase_ends_when_the_fluid_is_proven_warm() -> None:
    car = at_leg(2)
    assert car.step.instruction is Instruction.WAIT_HEAT
    car.tells(Mark.NEXT)
    assert car.step.leg == 2, "what is read is not overruled by a word"
    while car.temp_c < 49.8:
        car.runs(10, per_s=0.05)
    assert car.step.leg == 2
    while car.step.leg == 2:
        seen = car.runs(1, per_s=0.05)
        assert seen.temp_c is not None
        assert seen.temp_c < 52.0
        proven = seen.temp_c - 2.0 * (seen.temp_sd_c or 0.0) >= 50.0
        assert proven == (car.step.leg == 3)
    assert car.step.legs_done[-1].seen
    assert car.session.lead.window.low_c == 55.0


def test_where_nothing_reads_the_fluid_the_persons_word_ends_the_cooler_phase() -> None:
    car = at_leg(2)
    car.temp_c = None
    car.runs(30)
    assert car.step.instruction is Instruction.TELL_HEAT
    car.tells(Mark.NEXT)
    assert car.step.leg == 3
    assert not car.step.legs_done[-1].seen


def test_undo_goes_back_a_phase_and_again_stays_in_it() -> None:
    car = at_leg(1)
    car.tells(Mark.NEXT)
    assert car.session.lead.ends is LegEnd.WARM
    car.tells(Mark.UNDO)
    assert (car.step.leg, car.session.lead.ends) == (1, LegEnd.TOLD)
    car.tells(Mark.RESTART)
    assert (car.step.leg, car.step.legs, len(car.step.legs_done)) == (1, 4, 1)


def test_what_was_confirmed_of_the_car_stays_and_of_the_engine_does_not() -> None:
    car = at_leg(1)
    car.tells(Mark.CONFIRMED, Confirmation.ENGINE, Confirmation.SELECTOR_POSITION)
    car.tells(Mark.NEXT)
    left = {Confirmation.CAUTIONS, Confirmation.CAR_LEVEL}
    assert set(car.step.confirmed) == left


def test_a_step_in_a_phase_is_taken_up_in_that_phase() -> None:
    car = at_leg(2)
    kept = type(car.step)(**{f: getattr(car.step, f) for f in car.step.__slots__})
    again = from_plain(type(kept), to_plain(kept))
    moved = resume(again, now_s=1000.0, away_s=60.0)
    session = replace(begin(car.session.sheet, interval_s=1.0), step=moved)
    assert session.lead.ends is LegEnd.WARM
    assert mark(moved, session.plan, Mark.OPENED, 1001.0) == moved


WAIT = """
[gearbox]
name = "wait"
source = "invented for this test"
[level]
window = ["30 degC", "60 degC"]
engine = "off"
wait = "2 min"
settle_time = "30 s"
confirm = ["cautions"]
[[signal]]
role = "fluid-temperature"
request_id = "7E1"
service = 0x22
identifier = 0x1111
length = 2
data_length = 2
factor = 0.1
offset = -40.0
unit = "degC"
"""


def test_a_wait_counts_from_the_engines_last_turn() -> None:
    car = Car(parse_sheet(WAIT, "a.toml"), temp_c=45.0)
    car.rpm = 750.0
    seen = car.runs(60, per_s=0.01)
    assert seen.wait_left_s is None
    car.rpm = 0.0
    # for a minute after the stop nobody knows how long it stays inside
    seen = car.runs(62)
    assert seen.wait_left_s == pytest.approx(58.0, abs=2.0)
    assert seen.reasons == (Reason.WAIT_NOT_OVER,)
    said = wording.reason(Reason.WAIT_NOT_OVER, seen, car.session.lead, "C")
    assert "to go" in said.what
    car.runs(1)
    assert car.step.phase is Phase.GET_READY, "the person is called in time"
    car.rpm = 300.0  # somebody starts it for a moment
    car.runs(1)
    car.rpm = 0.0
    seen = car.runs(118)
    assert seen.verdict is Verdict.NO_GO
    seen = car.runs(4)
    assert seen.verdict is Verdict.GO


def test_a_wait_does_not_run_while_nobody_knows_the_engine() -> None:
    car = Car(parse_sheet(WAIT, "a.toml"), temp_c=45.0)
    car.runs(100)
    car.link = LinkState.LOST
    car.runs(10)
    car.link = LinkState.LIVE
    seen = car.runs(30)
    assert seen.wait_left_s == pytest.approx(90.0, abs=2.0)


def key_off(rule: str) -> Sheet:
    text = WAIT.replace('engine = "off"\nwait = "2 min"', f'engine = "{rule}"')
    return parse_sheet(text.replace('["30 degC", "60 degC"]', '["30 degC", ""]'), "k")


@pytest.mark.parametrize("rule", ["key-off", "pump"])
def test_what_no_car_tells_the_person_does(rule: str) -> None:
    car = Car(key_off(rule), temp_c=45.0)
    seen = car.runs(30)
    assert Reason.ENGINE_UNKNOWN in seen.reasons
    car.tells(Mark.CONFIRMED, Confirmation.ENGINE, Confirmation.STANDING)
    assert car.runs(30).verdict is Verdict.GO
    car.rpm = 700.0  # the car says otherwise
    seen = car.runs(2)
    assert Reason.ENGINE_RUNNING in seen.reasons
    assert seen.verdict is Verdict.NO_GO


def test_with_the_key_out_and_any_temperature_no_link_is_needed() -> None:
    text = TOR.read_text().replace('engine = "off"', 'engine = "key-off"', 1)
    car = Car(parse_sheet(text, "a.toml"), temp_c=None)
    car.link = LinkState.LOST
    car.tells(Mark.CONFIRMED, Confirmation.ENGINE, Confirmation.STANDING)
    seen = car.runs(3)
    assert car.session.lead.engine is EngineRule.KEY_OFF
    assert seen.verdict is Verdict.GO
    assert seen.says_go(car.session.lead.window, 0.9)
    car.closes_good()


TEXT = TOR.read_text().replace("factor = 0.1\n", 'factor = 0.1\nmaximum = "120 degC"\n')
MISTAKES = {
    "the last sets the level": ('name = "warm check"', 'name = "w"\nends = "told"'),
    "last one sets the level": ('name = "warm check"', 'name = "w"\nends = "warm"'),
    "a name of its own": ('"static fill"', '"warm check"'),
    "needs a temperature": ('window = ["50 degC", ""]', 'window = ["", ""]'),
    "sets none; take it out": ('ends = "told"', 'ends = "told"\nmethod = "stick"'),
    "lies outside": ('name = "warm check"', 'name = "w"\nclose_at = "80 degC"'),
    "unknown word": ('ends = "told"', 'ends = "done"'),
    "is open at both ends": ('window = ["55 degC", "65 degC"]', 'window = ["", ""]'),
    "sets none; take one": ('method = "level-plug"', 'method = "measured-refill"'),
    "leaves out part": ('window = ["50 degC", ""]', 'window = ["149 degC", ""]'),
}


@pytest.mark.parametrize("said", MISTAKES)
def test_phases_that_cannot_be_led_are_refused(said: str) -> None:
    right, wrong = MISTAKES[said]
    assert right in TEXT
    sheet, mistakes = examine(TEXT.replace(right, wrong, 1), "a.toml")
    assert sheet is None
    assert any(said.split("the last ")[-1] in str(m) for m in mistakes), mistakes


@pytest.mark.slow
def test_a_stick_phase_takes_readings_and_no_opening() -> None:
    text = TOR.read_text().replace(
        'name = "warm check"', 'name = "warm check"\nmethod = "stick"'
    )
    car = Car(parse_sheet(text, "a.toml"))
    car.runs(3)
    car.closes_good()
    car.tells(Mark.NEXT)
    car.rpm = 750.0
    car.runs(2)
    car.tells(Mark.NEXT)
    while car.step.phase is not Phase.GO:
        assert car.temp_c < 62.0
        car.runs(10, per_s=0.03)
    assert {"stick"} <= {o.word for o in offers(car.step)}
    for _ in range(3):
        car.tells(Mark.STICK, band=Band.INSIDE)
        car.runs(2)
    assert car.step.judgement is not None
    assert facts_of(car.step, 0).outcome is Outcome.GOOD

"""Facts of the level step in the service: each is told once and counts in both."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from bridge.level.step.step_values import Outcome
from bridge.service.against import against
from bridge.service.level_facts import LevelFacts, as_fact, whole
from bridge.service.log import Log, is_done, last, of, standing
from bridge.service.sums import balance_of
from bridge.values.events import Mark, Marked
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.service_sheet import StepKind
from bridge.values.sheet import Confirmation, LevelMethod, Sheet
from tests.service.service_help import SHEET, Taker
from tests.show.parts.service import leg_ways


def told(kind: ServiceKind, **more: object) -> ServiceEvent:
    return ServiceEvent(kind=kind, **more)


def net_ml(taker: Taker) -> float:
    """What the net is of all that was told, half of what each amount may lose apart."""
    done = balance_of(SHEET, taker.session.log)
    assert not isinstance(done, str)
    return done.net.ml + sum(a.lost_ml for a in (done.out, done.put_in, done.ran_off))


def poured(*, added_ml: float | None = None) -> Taker:
    """4.8 L out and 4.3 L in, both at the reference temperature."""
    taker = Taker()
    taker.tell(told(ServiceKind.OUT, name="sump", ml=4800.0, temp_c=20.0))
    taker.tell(told(ServiceKind.IN, ml=4300.0, temp_c=20.0))
    if added_ml is not None:
        taker.tell(Marked(mark=Mark.ADDED, ml=added_ml))
    return taker


def test_what_is_added_at_the_level_step_balances() -> None:
    # sums by hand: 4.3 - 4.8 = -0.5 L; with the 0.5 L that was added, nothing
    assert net_ml(poured()) == pytest.approx(-500.0, abs=0.1)
    assert net_ml(poured(added_ml=500.0)) == pytest.approx(0.0, abs=0.1)


def test_an_amount_taken_back_does_not_count() -> None:
    taker = poured(added_ml=500.0)
    taker.tell(Marked(mark=Mark.ADDED, ml=999.0))
    taker.tell(Marked(mark=Mark.UNDO))
    assert net_ml(taker) == pytest.approx(0.0, abs=0.1)


def test_what_is_added_is_brought_to_one_temperature_where_its_own_is_told() -> None:
    """The same amounts told as poured in are the measure: API MPMS 11.1 does both."""
    warm, cool = poured(), poured()
    for ml, temp_c in ((300.0, 70.0), (200.0, 20.0)):
        warm.tell(Marked(mark=Mark.ADDED, ml=ml, temp_c=temp_c))
        cool.tell(told(ServiceKind.IN, ml=ml, temp_c=temp_c))
    # by hand: 300 mL lose about 0.08 % for each of 50 degrees, some 12 mL
    assert net_ml(warm) == pytest.approx(-12.0, abs=4.0)
    assert net_ml(warm) == pytest.approx(net_ml(cool), abs=0.2)
    warm.tell(Marked(mark=Mark.ADDED, ml=100.0))  # of that it is not known
    (added,) = of(warm.session.log, ServiceKind.ADDED)
    assert (added.ml, added.temp_c) == (600.0, None)
    warm.tell(Marked(mark=Mark.UNDO))
    (added,) = of(warm.session.log, ServiceKind.ADDED)
    assert added.temp_c == pytest.approx(50.0)


@pytest.mark.parametrize("mark", [None, Mark.OPENED, Mark.CLOSED, Mark.RESTART])
def test_it_counts_in_whatever_phase_it_is_told(mark: Mark | None) -> None:
    taker = poured()
    if mark is not None:
        taker.tell(Marked(mark=Mark.OPENED))
        taker.tell(Marked(mark=mark))
    taker.tell(Marked(mark=Mark.ADDED, ml=500.0))
    assert net_ml(taker) == pytest.approx(0.0, abs=0.1)


def test_what_ran_off_counts_against_it() -> None:
    taker = poured(added_ml=700.0)
    taker.tell(told(ServiceKind.RAN_OFF, ml=200.0, temp_c=20.0))
    assert net_ml(taker) == pytest.approx(0.0, abs=0.1)


@pytest.mark.parametrize(
    ("step", "what"),
    [
        (StepKind.CAUTIONS, Confirmation.CAUTIONS),
        (StepKind.EXERCISE, Confirmation.SELECTOR_EXERCISED),
    ],
)
def test_a_step_that_is_a_confirmation_is_told_once(
    step: StepKind, what: Confirmation
) -> None:
    taker = Taker()
    taker.tell(as_fact(told(ServiceKind.DONE, step=step)))
    assert what in taker.session.step.confirmed
    assert is_done(taker.session.log, step)
    assert taker.session.told == ()
    taker.tell(as_fact(told(ServiceKind.DONE, step=step), given=False))
    assert what not in taker.session.step.confirmed
    assert not is_done(taker.session.log, step)


def test_a_new_judgement_takes_the_place_of_all_said_before() -> None:
    before = (
        told(ServiceKind.LEVEL, text="good", step=StepKind.LEVEL),
        told(ServiceKind.DONE, step=StepKind.LEVEL),
        told(ServiceKind.NOTE, step=StepKind.LEVEL, text="stays"),
    )
    facts = LevelFacts()
    assert is_done(whole(before, facts), StepKind.LEVEL)  # nothing judged since
    bad = replace(facts, outcome=Outcome.OUTSIDE, since=3)
    log = whole(before, bad)
    assert [e.name for e in of(log, ServiceKind.LEVEL)] == ["outside"]
    assert not is_done(log, StepKind.LEVEL)
    assert last(log, ServiceKind.NOTE) is not None
    assert of(whole(before, replace(facts, since=3)), ServiceKind.LEVEL) == ()
    after = (*before, told(ServiceKind.DONE, step=StepKind.LEVEL))
    assert is_done(whole(after, bad), StepKind.LEVEL)  # the person's word since
    assert standing(log)[0][0] == 2


def test_the_judgement_of_a_step_is_in_the_log_and_goes_with_it() -> None:
    taker = Taker()
    taker.tell(Marked(mark=Mark.OPENED))
    taker.tell(Marked(mark=Mark.CLOSED))
    judged = last(taker.session.log, ServiceKind.LEVEL)
    assert judged is not None
    assert judged.name == Outcome.UNKNOWN.value  # nobody read a temperature
    taker.tell(Marked(mark=Mark.UNDO))
    assert last(taker.session.log, ServiceKind.LEVEL) is None


OUT = ServiceEvent(kind=ServiceKind.OUT, name="sump", ml=4800.0)
IN = ServiceEvent(kind=ServiceKind.IN, ml=5200.0)
RAN_OFF = ServiceEvent(kind=ServiceKind.RAN_OFF, ml=300.0)


def of_the_level(log: Log, facts: LevelFacts, sheet: Sheet = SHEET) -> list[str]:
    found = against(sheet, whole(log, facts))
    return [one.id for one in found if one.id.startswith("level")]


def test_fluid_that_moved_after_the_level_was_set_stands_against_it() -> None:
    """It was judged good, then drained and filled once more: it is not set any more."""
    good = LevelFacts(outcome=Outcome.GOOD, since=2)
    assert of_the_level((OUT, IN), good) == []
    assert of_the_level((OUT, IN, RAN_OFF), good) == []  # told after closing
    for more in ((IN,), (OUT,), (OUT, IN)):
        assert of_the_level((OUT, IN, *more), good) == ["level-fluid-moved"]
    by_stick = replace(SHEET, method=LevelMethod.STICK)
    assert of_the_level((OUT, IN, RAN_OFF), good, by_stick) == ["level-fluid-moved"]
    again = replace(good, since=4)
    assert of_the_level((OUT, IN, OUT, IN), again) == []


def test_it_may_be_answered_as_told_late_and_rises_again_with_more() -> None:
    good = LevelFacts(outcome=Outcome.GOOD, since=1)
    late = ServiceEvent(
        kind=ServiceKind.ANSWERED, name="level-fluid-moved", text="told late"
    )
    assert of_the_level((OUT, IN, late), good) == []
    assert of_the_level((OUT, IN, late, IN), good) == ["level-fluid-moved"]


def test_what_was_added_after_the_level_was_judged_stands_against_it() -> None:
    good = LevelFacts(outcome=Outcome.GOOD, added_ml=1300.0)
    assert of_the_level((), good) == []
    more = replace(good, added_after_ml=800.0)
    assert of_the_level((), more) == ["level-added-800-ml"]


def two_circuits(*between: str, after: tuple[str, ...] = ()) -> list[str]:
    """Set both levels, lines typed between them or after; return what is found."""
    job = leg_ways.begin("gill-two-circuits", Random(5), start_c=33.0)
    for line in (
        "out final drive plug 0.9 L at 20 C",
        "out pan 4.2 L at 20 C",
        "in final drive 0.9 L at 20 C",
        "in gear side 4.2 L at 20 C",
    ):
        job.say(line)
    leg_ways.confirm(job)
    leg_ways.drips(job, [])
    for line in (*between, "next"):
        job.say(line)
    job.engine_rpm = 750.0
    leg_ways.drips(job, [])
    for line in after:
        job.say(line)
    assert not job.refused
    found = against(job.sheet, job.session.log)
    return [one.id for one in found if one.id.startswith("level")]


AGAIN = ("out final drive plug 0.9 L at 20 C", "in final drive 0.9 L at 20 C")


@pytest.mark.parametrize(
    ("between", "after", "found"),
    [
        ((), (), []),
        (AGAIN, (), ["level-fluid-moved:final drive"]),
        (("added 0.2 L",), (), ["level-added-200-ml:final drive"]),
        ((), AGAIN, ["level-fluid-moved:final drive"]),
        ((), ("in gear side 0.5 L at 20 C",), ["level-fluid-moved:gear side"]),
    ],
)
def test_each_circuits_level_is_lost_by_its_own_fluid_alone(
    between: tuple[str, ...], after: tuple[str, ...], found: list[str]
) -> None:
    assert two_circuits(*between, after=after) == found

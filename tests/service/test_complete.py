"""Complete only when nothing is missing and nothing found speaks against it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.service import sums
from bridge.service.against import against, is_complete
from bridge.service.log import Log, undoing
from bridge.service.missing import missing
from bridge.service.old_fluid import FluidFinding
from bridge.service.rounds import pump_out, runs_dry
from bridge.values.service_events import CarFacts, ServiceEvent, ServiceKind
from bridge.values.service_sheet import Drain, StepKind, Tick
from tests.service.service_help import SERVICE, SHEET


def entry(kind: ServiceKind, **told: object) -> ServiceEvent:
    return ServiceEvent(kind=kind, **told)


def out(ml: float, name: str = "sump") -> ServiceEvent:
    return entry(ServiceKind.OUT, name=name, ml=ml, temp_c=20.0)


def put_in(ml: float) -> ServiceEvent:
    return entry(ServiceKind.IN, ml=ml, temp_c=20.0)


def car(step: StepKind, *codes: str) -> ServiceEvent:
    facts = CarFacts(stored=codes, pending=(), permanent=(), vin="X" * 17)
    return entry(ServiceKind.CAR, step=step, car=facts)


TICKS = (
    ("drain plug", Tick.RENEWED),
    ("drain plug", Tick.TIGHTENED),
    ("cover", Tick.TIGHTENED),
    ("overflow tube", Tick.TIGHTENED),
    ("overflow tube", Tick.BACKED_OFF),
)
DONE: Log = (
    entry(ServiceKind.VARIANT, name="A"),
    car(StepKind.BEFORE),
    *(entry(ServiceKind.TICKED, name=n, tick=t) for n, t in TICKS),
    entry(ServiceKind.AT_HAND, name="filter"),
    entry(ServiceKind.AT_HAND, name="hex key"),
    out(4800.0),
    out(150.0, "cooler"),
    put_in(5200.0),
    entry(ServiceKind.EXERCISED, text="all"),
    entry(ServiceKind.LEVEL, name="good"),
    car(StepKind.AFTER),
    *(entry(ServiceKind.DONE, step=step) for step in StepKind),
    entry(ServiceKind.COMPLETE),
)


AGAIN = tuple(e for e in DONE if e.kind is ServiceKind.TICKED)
"""Put back once more, after another drain."""


def swapped(kind: ServiceKind, *instead: ServiceEvent) -> Log:
    """Return DONE with all of a kind taken out and others in the place of the first."""
    first = next(n for n, e in enumerate(DONE) if e.kind is kind)
    kept = [e for e in DONE[first:] if e.kind is not kind]
    return (*DONE[:first], *instead, *kept)


def answer(name: str) -> ServiceEvent:
    return entry(ServiceKind.ANSWERED, name=name, text="cooler changed, flushed")


def names(log: Log) -> list[str]:
    return [a.id for a in against(SHEET, log)]


def test_a_good_service_is_complete() -> None:
    assert missing(SERVICE, DONE) == ()
    assert against(SHEET, DONE) == ()
    assert is_complete(SHEET, DONE)
    assert not is_complete(SHEET, DONE[:-1])  # nobody closed it


@pytest.mark.parametrize(
    ("log", "name"),
    [
        ((*DONE, entry(ServiceKind.OLD_FLUID, name="milky")), "old-fluid-milky"),
        ((*DONE, entry(ServiceKind.OLD_FLUID, name="chips")), "old-fluid-chips"),
        ((*DONE, entry(ServiceKind.OLD_FLUID, name="glitter")), "old-fluid-glitter"),
        (
            swapped(ServiceKind.LEVEL, entry(ServiceKind.LEVEL, name="outside")),
            "level-outside",
        ),
        (
            swapped(ServiceKind.LEVEL, entry(ServiceKind.LEVEL, name="unknown")),
            "level-unknown",
        ),
        (swapped(ServiceKind.IN, put_in(4200.0)), "balance-low"),
        (swapped(ServiceKind.IN, put_in(6200.0)), "balance-high"),
        (swapped(ServiceKind.IN, put_in(9000.0)), "balance-over-total"),
        (
            swapped(ServiceKind.OUT, out(2400.0), out(150.0, "cooler")),
            "old-fluid-very-short",
        ),
        (
            (*DONE, entry(ServiceKind.TORQUE, name="drain plug", torque_nm=250.0)),
            "torque:drain plug",  # ten times too much, though no tolerance is told
        ),
        (
            (*DONE, entry(ServiceKind.TORQUE, name="drain plug", torque_nm=26.0)),
            None,
        ),
        ((*DONE, car(StepKind.AFTER, "P0711")), "fluid-sensor-code"),
        ((*DONE, car(StepKind.AFTER, "P0700")), "new-codes"),
        ((*DONE, entry(ServiceKind.RAN_DRY)), "ran-dry"),
        ((*DONE, out(4000.0), *AGAIN), "drained"),
    ],
)
def test_what_is_found_counts_though_all_is_ticked(log: Log, name: str | None) -> None:
    assert missing(SERVICE, log) == ()
    assert is_complete(SHEET, log) is (name is None)
    if name is not None:
        assert name in names(log)


def test_a_torque_beyond_the_sheets_tolerance_speaks_against_it() -> None:
    plug = replace(SERVICE.fasteners[0], torque_tolerance_nm=2.0)
    service = replace(SERVICE, fasteners=(plug, *SERVICE.fasteners[1:]))
    sheet = replace(SHEET, service=service)
    told = entry(ServiceKind.TORQUE, name="drain plug", torque_nm=28.0)
    assert [a.id for a in against(sheet, (*DONE, told))] == ["torque:drain plug"]
    right = entry(ServiceKind.TORQUE, name="drain plug", torque_nm=26.0)
    assert against(sheet, (*DONE, told, right)) == ()


@pytest.mark.parametrize("name", ["sump", "cooler"])
def test_a_drain_of_two_that_was_not_measured_speaks_against_it(name: str) -> None:
    kept = tuple(e for e in DONE if not (e.kind is ServiceKind.OUT and e.name == name))
    assert f"drain-not-measured:{name}" in names(kept)


def test_a_part_that_is_not_at_hand_is_missing() -> None:
    kept = tuple(e for e in DONE if e.name != "filter")
    assert "filter: not ticked off as at hand." in missing(SERVICE, kept)


def test_an_answer_settles_what_can_be_looked_into_and_nothing_else() -> None:
    milky = (*DONE, entry(ServiceKind.OLD_FLUID, name="milky"))
    assert is_complete(SHEET, (*milky, answer("old-fluid-milky")))
    assert not is_complete(SHEET, (*milky, answer("old-fluid-chips")))
    blank = entry(ServiceKind.ANSWERED, name="old-fluid-milky", text="")
    assert not is_complete(SHEET, (*milky, blank))
    bad = swapped(ServiceKind.LEVEL, entry(ServiceKind.LEVEL, name="outside"))
    assert not is_complete(SHEET, (*bad, answer("level-outside")))
    sensor = (*DONE, car(StepKind.AFTER, "P0711"))
    assert "fluid-sensor-code" in names((*sensor, answer("fluid-sensor-code")))


def test_an_answer_before_the_finding_answers_nothing() -> None:
    early = (answer("old-fluid-milky"), entry(ServiceKind.OLD_FLUID, name="milky"))
    assert "old-fluid-milky" in names((*DONE, *early))
    again = (*DONE, car(StepKind.AFTER, "P0700"), answer("new-codes"))
    assert "new-codes" not in names(again)
    assert "new-codes" in names((*again, car(StepKind.AFTER, "P0700", "P0730")))


# --- rounds -------------------------------------------------------------------------


def test_two_rounds_leave_the_square_of_one() -> None:
    """3.1 of 7.6 L twice: (1 - 3.1/7.6)^2 by hand 0.35059; in one 6.2 it were 0.184."""
    sheet = replace(SHEET, fill_ml=7600.0)
    read = 3090.0  # 10 mL of each did not reach the jug (JCGM 100, 4.3.8)
    log = (out(read), put_in(read), out(read), put_in(read))
    left = sums.old_share_of(sheet, log)
    assert left is not None
    assert left.share == pytest.approx(0.35059, abs=1e-4)
    assert left.low < left.share < left.high


def test_a_later_round_gets_back_what_came_out_in_it() -> None:
    """After two rounds of 3.1 L and in the third, 3.1 L are due, without a filter."""
    service = replace(SERVICE, service_fill_ml=3500.0)
    sheet = replace(SHEET, fill_ml=7600.0, service=service)
    filter_done = entry(ServiceKind.DONE, step=StepKind.FILTER)
    log = (out(3100.0), filter_done, put_in(3400.0), out(3100.0), put_in(3100.0))
    judged = sums.judged_of(sheet, service, log)
    assert judged is not None
    assert judged.by_ml == pytest.approx(-130.0)  # 3.4 L stayed in: not 6.5 L
    first = sums.first_fill_of(sheet, service, (*log, out(3100.0)))
    assert first is not None
    assert not isinstance(first, str)
    assert first.ml == pytest.approx(3100.0)


def test_the_rounds_a_share_takes_are_counted() -> None:
    """0.5921^n: 0.2076 after 3, 0.1229 after 4, 0.0728 after 5 (by hand)."""
    sheet = replace(SHEET, fill_ml=7600.0)
    log = (out(3100.0), put_in(3100.0))
    assert sums.rounds_wanted_of(sheet, log, 0.25) == 3
    assert sums.rounds_wanted_of(sheet, log, 0.1) == 5
    assert sums.rounds_wanted_of(sheet, log, 0.6) == 1
    assert sums.rounds_wanted_of(sheet, log, 1e-9) is None


def test_fewer_rounds_than_the_sheet_asks_for_are_missing() -> None:
    thrice = replace(SERVICE, rounds=3)
    said = [s for s in missing(thrice, DONE) if "times the sheet asks for" in s]
    assert said == ["Drained 1 of the 3 times the sheet asks for."]
    more = 2 * (out(4800.0), *AGAIN, put_in(4800.0))
    assert missing(thrice, (*DONE, *more)) == ()


def test_two_places_of_one_round_are_one_round() -> None:
    log = (out(4500.0), out(500.0, "cooler"), out(100.0), put_in(5100.0))
    balances = sums.balances_of(SHEET, log)
    assert len(balances) == 1


# --- short --------------------------------------------------------------------------


def test_the_filters_share_does_not_come_out_at_the_drain() -> None:
    """5.2 L service fill, 0.3 L of it in the filter, 0.3 L tolerance: 4.82 is usual."""
    plain = replace(SERVICE, drains=(Drain(name="sump"),))
    sheet = replace(SHEET, service=plain)
    assert sums.shortage_of(sheet, plain, (out(4820.0),)) is None
    assert sums.shortage_of(sheet, plain, (out(4400.0),)) is FluidFinding.SHORT
    assert sums.shortage_of(sheet, plain, (out(2400.0),)) is FluidFinding.VERY_SHORT


def test_half_of_it_missing_is_said_though_nothing_was_ticked() -> None:
    log = (out(2400.0), out(0.0, "cooler"))
    assert sums.old_fluid_of(SHEET, SERVICE, log) == (FluidFinding.VERY_SHORT,)


def test_nothing_is_short_until_every_drain_is_measured() -> None:
    assert sums.shortage_of(SHEET, SERVICE, (out(2400.0),)) is None


# --- run dry ------------------------------------------------------------------------


def test_the_engine_runs_dry_once_for_each_drain() -> None:
    drained = (out(4800.0),)
    assert runs_dry(drained, SERVICE, 700.0)
    assert not runs_dry(drained, SERVICE, 0.0)
    assert not runs_dry((*drained, put_in(4800.0)), SERVICE, 700.0)
    told = (*drained, entry(ServiceKind.RAN_DRY))
    assert not runs_dry(told, SERVICE, 700.0)
    undo = undoing(told)
    assert undo is not None
    assert undo.back == 0  # the drain: what the car did is nobody's entry


# --- pumped out in portions -----------------------------------------------------------

LINE = Drain(name="cooler line", expected_ml=8000.0, portion_ml=1000.0)
PUMPED = replace(SERVICE, drains=(LINE,))


def line(ml: float) -> ServiceEvent:
    return out(ml, LINE.name)


def test_a_portion_is_filled_in_again_before_the_next() -> None:
    log = (line(1000.0), put_in(1000.0), line(1100.0))
    done = pump_out(log, LINE)
    assert done is not None
    assert (done.out_ml, done.in_ml, done.owed_ml) == (2100.0, 1000.0, 1100.0)
    assert done.left_ml == 5900.0
    more = pump_out((*log, put_in(1100.0)), LINE)
    assert more is not None
    assert more.owed_ml == 0.0
    assert pump_out(log, SERVICE.drains[0]) is None


def test_an_engine_that_pumps_a_portion_out_does_not_run_dry() -> None:
    assert not runs_dry((line(1000.0),), PUMPED, 700.0)
    assert runs_dry((line(1000.0), line(1000.0)), PUMPED, 700.0)
    assert runs_dry((line(5000.0),), PUMPED, 700.0)
    log = (line(2600.0), put_in(2600.0)) * 2
    judged = sums.judged_of(SHEET, replace(PUMPED, service_fill_ml=5200.0), log)
    assert judged is not None
    assert judged.by_ml == pytest.approx(-20.0)  # all of it was exchanged, not half
    # a portion is not a drain that came up short
    assert sums.shortage_of(SHEET, PUMPED, (line(1000.0),)) is None


# --- the first fill at the fluid's own heat -------------------------------------------


def test_the_first_fill_is_told_at_the_fluids_own_temperature() -> None:
    """API MPMS 11.1, 54D by hand: alpha 0.6278/850 = 7.386e-4 per K at 15 °C.

    4.6 L at 20 °C is 4.5491 L at 5 °C: VCF(20)/VCF(5) = 0.99630/1.00741.
    """
    warm = entry(ServiceKind.NEW_FLUID, temp_c=5.0)
    log = (out(4600.0), warm)
    pour = sums.pour_wanted_of(SHEET, SERVICE, log)
    assert pour is not None
    assert pour.ml == pytest.approx(4600.0 * 0.99630 / 1.00735, rel=2e-4)
    assert pour.kg == pytest.approx(4.600 * 0.99630 * 0.850, rel=1e-4)
    assert sums.pour_wanted_of(SHEET, SERVICE, (out(4600.0),)) is None


def test_a_later_round_does_not_make_good_that_one_ran_low() -> None:
    sheet = replace(SHEET, fill_ml=9000.0)
    slip = (out(4500.0), put_in(3200.0), out(4500.0), put_in(5800.0))
    found = {a.id: a for a in against(sheet, slip)}
    assert found["round-1-low"].answerable
    even = (out(4500.0), put_in(4500.0), out(4500.0), put_in(4500.0))
    assert not any(a.id.startswith("round-") for a in against(sheet, even))
    # the last round is the level step's to put right
    last = (out(4500.0), put_in(4500.0), out(4500.0), put_in(3200.0))
    assert not any(a.id.startswith("round-") for a in against(sheet, last))


@pytest.mark.parametrize("text", ["", ".", "  ", "?!", "123", "x"])
def test_an_answer_without_a_word_is_none(text: str) -> None:
    log = (*DONE, entry(ServiceKind.OLD_FLUID, name="chips"))
    answered = entry(ServiceKind.ANSWERED, name="old-fluid-chips", text=text)
    assert [a.id for a in against(SHEET, (*log, answered))] == ["old-fluid-chips"]
    assert against(SHEET, (*log, answer("old-fluid-chips"))) == ()


def test_two_things_seen_together_rise_again_when_one_is_seen_again() -> None:
    seen = [entry(ServiceKind.OLD_FLUID, name=n) for n in ("milky", "chips")]
    both = [a.id for a in against(SHEET, (*DONE, *seen)) if "+" in a.id]
    log = (*DONE, *seen, *(answer(one) for one in both))
    assert not [a for a in against(SHEET, log) if "+" in a.id]
    assert [a.id for a in against(SHEET, (*log, seen[1])) if "+" in a.id] == both

"""The service's log: only added to, taken back by later entries, kept as plain."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.service.against import against
from bridge.service.fastening import ticks_wanted
from bridge.service.log import (
    Log,
    applying,
    is_done,
    last,
    of,
    standing,
    ticked,
    toggling,
    undoing,
    variant_of,
)
from bridge.service.missing import lacks_of, missing
from bridge.service.rounds import next_open, refits, reopened
from bridge.service.sums import (
    balance_of,
    due_of,
    first_fill_of,
    judged_of,
    old_share_of,
    rounds_wanted_of,
)
from bridge.values.codec import from_plain, to_plain
from bridge.values.service_events import CarFacts, ServiceEvent, ServiceKind
from bridge.values.service_sheet import (
    Drain,
    Fastener,
    Renewal,
    Service,
    StepKind,
    Tick,
)
from tests.service.service_help import SERVICE, SHEET


def entry(kind: ServiceKind, **told: object) -> ServiceEvent:
    return ServiceEvent(kind=kind, at_utc_s=1.0, **told)


def done(*steps: StepKind) -> tuple[ServiceEvent, ...]:
    return tuple(entry(ServiceKind.DONE, step=step) for step in steps)


def toggled(log: Log, told: ServiceEvent, times: int = 1) -> Log:
    return (*log, toggling(log, told, times))


def undone(log: Log) -> Log:
    back = undoing(log)
    return log if back is None else (*log, back)


def test_a_toggle_twice_leaves_nothing_standing_and_forgets_nothing() -> None:
    tick = entry(ServiceKind.TICKED, name="drain plug", tick=Tick.RENEWED)
    log = toggled(toggled((), tick), tick)
    assert standing(log) == ()
    assert len(log) == 2
    assert ticked(toggled(log, tick), Fastener(name="drain plug")) == {Tick.RENEWED}


def test_undo_takes_back_the_newest_that_stands() -> None:
    log = undone(done(StepKind.CAUTIONS, StepKind.PARTS))
    assert is_done(log, StepKind.CAUTIONS)
    assert not is_done(log, StepKind.PARTS)
    log = undone(undone(log))
    assert standing(log) == ()


def test_only_what_is_for_the_gearbox_found_is_left() -> None:
    log = (entry(ServiceKind.VARIANT, name="C"),)
    here = applying(SERVICE, log)
    assert [p.name for p in here.parts] == ["filter", "hex key", "seal C"]
    assert [f.name for f in here.fasteners] == ["drain plug", "cover"]
    assert [d.name for d in here.drains] == ["sump"]
    assert applying(SERVICE, ()) == SERVICE


def test_another_variant_told_later_counts() -> None:
    log = (entry(ServiceKind.VARIANT, name="A"), entry(ServiceKind.VARIANT, name="B"))
    found = variant_of(SERVICE, log)
    assert found is not None
    assert found.name == "B"


def test_everything_lacking_is_listed_and_the_wrong_gearbox_first() -> None:
    lacks = missing(SERVICE, (entry(ServiceKind.VARIANT, name="B"),))
    assert "not for 'B'" in lacks[0]
    assert "sheet b" in lacks[0]
    assert "drain plug: new washer is not ticked off." in lacks
    assert "drain plug: torque is not ticked off." in lacks
    assert "cover: hand tight is not ticked off." in lacks
    assert len([x for x in lacks if "is not marked done" in x]) == len(StepKind)


def test_nothing_lacks_when_all_is_told() -> None:
    log = (
        entry(ServiceKind.VARIANT, name="A"),
        *(
            entry(ServiceKind.TICKED, name=name, tick=tick)
            for name, tick in (
                ("drain plug", Tick.RENEWED),
                ("drain plug", Tick.TIGHTENED),
                ("cover", Tick.TIGHTENED),
                ("overflow tube", Tick.TIGHTENED),
                ("overflow tube", Tick.BACKED_OFF),
            )
        ),
        entry(ServiceKind.OUT, name="sump", ml=4800.0),
        entry(ServiceKind.OUT, name="cooler", ml=200.0),
        entry(ServiceKind.AT_HAND, name="filter"),
        entry(ServiceKind.AT_HAND, name="hex key"),
        entry(ServiceKind.IN, ml=5000.0),
        entry(ServiceKind.EXERCISED, text="all"),
        entry(ServiceKind.LEVEL, name="good"),
        *done(*StepKind),
    )
    assert missing(SERVICE, log) == ()
    for n in range(len(log)):
        without = (*log, entry(ServiceKind.TAKEN_BACK, back=n))
        if log[n].kind is not ServiceKind.VARIANT:
            assert missing(SERVICE, without) or against(SHEET, without), log[n]


def test_a_step_left_out_on_purpose_is_not_missing() -> None:
    left_out = entry(ServiceKind.SKIPPED, step=StepKind.FILTER, text="none fitted")
    said = [x for x in missing(SERVICE, (left_out,)) if "is not marked done" in x]
    assert len(said) == len(StepKind) - 1


OUT = entry(ServiceKind.OUT, name="pan", ml=5100.0)
IN = entry(ServiceKind.IN, ml=5100.0)


def test_a_round_the_sheet_wants_comes_before_what_follows() -> None:
    """Three rounds: drain and fill are not done with one, and are led back to."""
    three = replace(SHEET, service=replace(SERVICE, rounds=3, drains=()))
    log = done(*StepKind)[:5]
    drain, fill = StepKind.DRAIN, StepKind.FILL
    log = (*log, OUT, entry(ServiceKind.DONE, step=drain))
    assert reopened(three, log) == ()
    log = (*log, IN, entry(ServiceKind.DONE, step=fill))
    for _ in range(2):
        assert reopened(three, log) == (drain, fill)
        assert next_open(three, log, fill) is drain
        log = (*log, OUT)
        assert reopened(three, log) == (fill,)
        assert next_open(three, log, drain) is fill
        log = (*log, IN)
    assert reopened(three, log) == ()
    assert next_open(three, log, fill) is not drain
    assert reopened(SHEET, log[:9]) == ()  # it wants no second one


PLUG = Fastener(name="drain plug", renew=(Renewal.WASHER,), torque_nm=30.0)
THREE = replace(
    SHEET,
    service=Service(
        order=(StepKind.DRAIN, StepKind.REFIT, StepKind.FILL),
        rounds=3,
        fasteners=(PLUG, Fastener(name="pan bolts")),
        drains=(Drain(name="pan", fastener=PLUG.name),),
    ),
)


def open_ticks(log: Log) -> set[str]:
    found = {lack.id for lack in lacks_of(THREE.service, log)}
    return {lack for lack in found if lack.startswith("tick:")}


def test_a_plug_that_each_round_opens_is_put_back_in_each_round() -> None:
    """A washer and a torque of the first round do not stand for the later ones."""
    drain, refit, fill = THREE.service.order
    torque, washer = (
        entry(ServiceKind.TICKED, name=PLUG.name, tick=t)
        for t in (Tick.TIGHTENED, Tick.RENEWED)
    )
    plug = {"tick:drain plug:tightened", "tick:drain plug:renewed"}
    log: Log = (entry(ServiceKind.TICKED, name="pan bolts", tick=Tick.TIGHTENED),)
    for number in (1, 2, 3):
        assert open_ticks(log) == plug  # before it is drained again, already
        log = (*log, OUT, entry(ServiceKind.DONE, step=drain))
        assert next_open(THREE, log, drain) is refit
        assert open_ticks(log) == plug
        log = toggled(log, torque, number)
        assert open_ticks(log) == {"tick:drain plug:renewed"}
        assert refit in reopened(THREE, log) or number == 1
        log = (*toggled(log, washer, number), entry(ServiceKind.DONE, step=refit))
        assert open_ticks(log) == set()
        assert refit not in reopened(THREE, log)
        log = (*log, IN, entry(ServiceKind.DONE, step=fill))
    assert missing(THREE.service, log) == ()
    for n, event in enumerate(log):
        if event.kind is ServiceKind.TICKED:
            assert missing(THREE.service, (*log, entry(ServiceKind.TAKEN_BACK, back=n)))


def test_a_plug_not_ticked_in_one_round_is_not_made_good_by_the_next() -> None:
    log: Log = ()
    for _ in range(3):
        log = (*log, OUT, IN)
    for number in (1, 2):
        for tick in ticks_wanted(PLUG):
            log = toggled(log, entry(ServiceKind.TICKED, name=PLUG.name, tick=tick), 3)
        left = [x for x in missing(THREE.service, log) if "drain plug" in x]
        assert len(left) == 2
        assert "in round 3" in left[0], number


def test_what_is_pumped_out_in_portions_opens_no_plug_in_each() -> None:
    portions = (replace(THREE.service.drains[0], portion_ml=1000.0),)
    service = replace(THREE.service, drains=portions)
    assert refits(service, (OUT, IN, OUT, IN), PLUG) == 1


def test_a_gearbox_is_pumped_out_to_the_end_of_what_the_sheet_expects() -> None:
    drain = Drain(name="pan", expected_ml=4000.0, portion_ml=1000.0)
    service = Service(order=(StepKind.DRAIN,), drains=(drain,))
    one = (replace(OUT, ml=1000.0), replace(IN, ml=1000.0))
    for times, lacks in ((0, False), (1, True), (3, True), (4, False)):
        found = {lack.id for lack in lacks_of(service, times * one)}
        assert ("pumped:pan" in found) is lacks, times


def test_the_next_open_step_goes_round_the_end() -> None:
    log = done(*StepKind)
    assert next_open(SHEET, log, StepKind.DUE) is None
    back = (*log, entry(ServiceKind.TAKEN_BACK, back=0))
    assert next_open(SHEET, back, StepKind.DRAIN) is StepKind.CAUTIONS
    assert next_open(SHEET, (), StepKind.DUE) is StepKind.CAUTIONS


texts = st.text(max_size=20)
numbers = st.none() | st.floats(-1e6, 1e6)
codes = st.none() | st.lists(texts, max_size=3).map(tuple)
cars = st.none() | st.builds(
    CarFacts,
    stored=codes,
    pending=codes,
    permanent=codes,
    lamp=st.none() | st.booleans(),
    vin=texts,
    voltage_v=numbers,
    engine_rpm=numbers,
)
entries = st.builds(
    ServiceEvent,
    kind=st.sampled_from(ServiceKind),
    at_utc_s=st.floats(0, 1e10),
    step=st.none() | st.sampled_from(StepKind),
    name=texts,
    tick=st.none() | st.sampled_from(Tick),
    text=texts,
    ml=numbers,
    temp_c=numbers,
    km=numbers,
    torque_nm=numbers,
    car=cars,
    back=st.none() | st.integers(0, 50),
    who=texts,
)


@given(entries)
def test_an_entry_comes_back_from_its_plain_form(told: ServiceEvent) -> None:
    assert from_plain(ServiceEvent, json.loads(json.dumps(to_plain(told)))) == told


@given(st.lists(entries, max_size=12).map(tuple))
def test_no_log_makes_anything_raise(log: tuple[ServiceEvent, ...]) -> None:
    from datetime import date

    missing(SERVICE, log)
    missing(Service(), log)
    applying(SERVICE, log)
    balance_of(SHEET, log)
    first_fill_of(SHEET, SERVICE, log)
    judged_of(SHEET, SERVICE, log)
    old_share_of(SHEET, log)
    rounds_wanted_of(SHEET, log, 0.1)
    against(SHEET, log)
    due_of(SERVICE, log, date(2026, 11, 25))


@pytest.mark.parametrize(
    "told",
    [
        {},
        {"kind": "nonsense", "at_utc_s": 1},
        {"kind": "done", "at_utc_s": "x"},
        {"kind": "done", "at_utc_s": 1, "step": "nowhere"},
        {"kind": "done", "at_utc_s": float("nan")},
        {"kind": "out", "at_utc_s": 1, "ml": "much"},
        {"kind": "car", "at_utc_s": 1, "car": 3},
        {"kind": "taken-back", "at_utc_s": 1, "back": "x"},
    ],
)
def test_what_is_no_entry_is_refused(told: dict[str, object]) -> None:
    with pytest.raises(ValueError):
        from_plain(ServiceEvent, told)


def test_the_sums_follow_the_log() -> None:
    log = (
        entry(ServiceKind.OUT, name="sump", ml=4500.0, temp_c=20.0),
        entry(ServiceKind.OUT, name="clutch case", ml=300.0, temp_c=20.0),
        entry(ServiceKind.IN, ml=5200.0, temp_c=20.0),
        entry(ServiceKind.RAN_OFF, ml=100.0, temp_c=20.0),
        *done(StepKind.FILTER),
    )
    balance = balance_of(SHEET, log)
    assert not isinstance(balance, str)
    assert balance.net.ml == pytest.approx(260.0)  # 10 mL lost of each of four
    first = first_fill_of(SHEET, SERVICE, log)
    assert first is not None
    assert not isinstance(first, str)
    assert first.ml == pytest.approx(5100.0)
    assert last(log, ServiceKind.IN) is of(log, ServiceKind.IN)[-1]
    share = old_share_of(SHEET, log)
    assert share is not None
    assert share.share == pytest.approx(1 - 4820 / 6800)
    assert isinstance(balance_of(SHEET, (replace(log[0], temp_c=900.0),)), str)


def test_each_further_drain_takes_its_share_of_what_is_left() -> None:
    log = (entry(ServiceKind.OUT, name="sump", ml=3390.0, temp_c=20.0),)
    shares = [old_share_of(SHEET, log, n) for n in (0, 1, 2)]
    left = [share.share for share in shares if share is not None]
    assert left == pytest.approx(
        [0.5, 0.25, 0.125]
    )  # half of 6.8 L each time, 10 mL unread

"""What old fluid means: severity, order, care in the wording."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.service import balance
from bridge.service.amounts import MeasuredAmount
from bridge.service.old_fluid import (
    COMMON_PRACTICE,
    MEANINGS,
    SEEN_TEXT,
    TOGETHER,
    FluidFinding,
    Severity,
    meanings,
    shortage,
    worst,
)
from bridge.values.service_sheet import Service

SERVICE = Service(service_fill_ml=5000.0, service_fill_tolerance_ml=100.0)
many = st.sets(st.sampled_from(FluidFinding))


def test_everything_that_can_be_seen_has_words_and_a_meaning():
    assert set(SEEN_TEXT) == set(FluidFinding)
    assert [m.seen for m in MEANINGS] == [(s,) for s in FluidFinding]
    assert "no source" in COMMON_PRACTICE


@pytest.mark.parametrize("one", MEANINGS + TOGETHER, ids=lambda m: "+".join(m.seen))
def test_what_is_severe_says_what_not_to_do(one):
    """Trade facts: metal -> inspect, milky = water, burnt or black -> cause first."""
    if one.severity is Severity.STOP:
        assert "Do not refill" in one.do
        assert "professional" in one.do
    if one.severity is Severity.INSPECT:
        assert "refill" in one.do
    assert one.means.endswith(".")
    assert one.do.endswith(".")


@given(many)
def test_the_most_severe_comes_first_and_nothing_is_dropped(seen):
    found = meanings(seen)
    severities = [m.severity for m in found]
    assert severities == sorted(severities, reverse=True)
    told = {s for m in found for s in m.seen}
    assert told == (seen if len(seen) < 2 else seen - {FluidFinding.LIKE_NEW})
    assert worst(seen) == (max(severities) if severities else None)


@given(many, st.sampled_from(FluidFinding))
def test_seeing_more_is_never_less_severe(seen, more):
    before = worst(seen)
    if before is not None:
        assert worst({*seen, more}) >= min(before, worst({*seen, more}))
        assert seen == {FluidFinding.LIKE_NEW} or worst({*seen, more}) >= before


def test_together_they_mean_more():
    assert worst({FluidFinding.BLACK}) is Severity.INSPECT
    assert worst({FluidFinding.BURNT_SMELL}) is Severity.INSPECT
    found = meanings(
        {FluidFinding.BLACK, FluidFinding.BURNT_SMELL, FluidFinding.GREY_PASTE}
    )
    assert found[0].seen == (FluidFinding.BLACK, FluidFinding.BURNT_SMELL)
    assert found[0].severity is Severity.STOP
    assert found[-1].seen == (FluidFinding.GREY_PASTE,)


def test_usual_things_are_usual():
    for one in (FluidFinding.LIKE_NEW, FluidFinding.DARK, FluidFinding.GREY_PASTE):
        assert worst({one}) is Severity.USUAL
    for one in (FluidFinding.MILKY, FluidFinding.CHIPS, FluidFinding.LINING_BITS):
        assert worst({one}) is Severity.STOP
    assert worst(()) is None
    assert meanings(()) == ()


def test_no_pair_that_means_more_is_milder_than_its_parts():
    for pair in combinations(FluidFinding, 2):
        both = [m for m in TOGETHER if set(m.seen) == set(pair)]
        for one in both:
            parts = [m.severity for m in MEANINGS if m.seen[0] in pair]
            assert one.severity >= max(parts)


@pytest.mark.parametrize(
    ("ml", "seen"),
    [
        (5000.0, None),
        (4900.0, None),
        (4785.0, None),  # +-124 by hand: may be 4900
        (4770.0, FluidFinding.SHORT),
        (4500.0, FluidFinding.SHORT),
        (3700.0, FluidFinding.SHORT),
        (3000.0, FluidFinding.VERY_SHORT),
        (0.0, None),  # nothing was measured
    ],
)
def test_short_only_where_it_is_sure(ml, seen):
    out = balance.balance([MeasuredAmount(ml=ml, temp_c=20.0)], []).out
    assert shortage(out, SERVICE) is seen
    assert shortage(out, Service()) is None

"""The word beside the temperature: it does not come and go, and says what is so."""

from __future__ import annotations

import csv
from itertools import pairwise
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from bridge.session.session import advance, apply
from bridge.session.session_state import Session, begin
from bridge.snapshot import Snapshot
from bridge.values.events import LinkChange
from bridge.values.outlook import STEADY_C_PER_S, Trend, trend_of
from bridge.values.readings import LinkState, Reading
from bridge.values.sheet import Role
from tests.session.test_session import SHEET

DRIVEN = Path(__file__).parents[1] / "data" / "warmup" / "warmup-06.csv"
RATES = st.floats(-0.2, 0.2)
SDS = st.floats(1e-4, 0.1)


def watched(forget: bool) -> list[Snapshot]:
    """Ten minutes of a recorded driven warm-up, a snapshot a second."""
    with DRIVEN.open() as file:
        rows = [(float(r["time_s"]), float(r["temp_c"])) for r in csv.DictReader(file)]
    live = LinkChange(state=LinkState.LIVE, t_s=0.0)
    session: Session = apply(begin(SHEET, interval_s=1.0), live)
    seen = []
    for t_s, temp_c in rows:
        if t_s > 600.0:
            break
        session = apply(
            session, Reading(role=Role.FLUID_TEMPERATURE, value=temp_c, t_s=t_s)
        )
        then, snapshot = advance(session, now_s=t_s)
        session = session if forget else then
        seen.append(snapshot)
    return seen


def changes(seen: list[Snapshot]) -> int:
    return sum(one.trend is not two.trend for one, two in pairwise(seen))


def test_a_driven_cars_word_does_not_come_and_go_with_each_degree() -> None:
    kept, bare = watched(forget=False), watched(forget=True)
    # what the car does is the same; without a memory the word flickers
    assert [s.rate_c_per_s for s in kept] == [s.rate_c_per_s for s in bare]
    assert 0 < changes(kept) <= 0.5 * changes(bare)


def test_the_words_direction_is_the_rates() -> None:
    for seen in watched(forget=False):
        rate = seen.rate_c_per_s
        assert rate is None or seen.trend is not Trend.WARMING or rate > 0.0
        assert rate is None or seen.trend is not Trend.COOLING or rate < 0.0


@given(RATES, SDS, st.sampled_from(Trend))
def test_a_clear_rate_is_said_whatever_was_said_before(
    rate: float, sd: float, before: Trend
) -> None:
    told = trend_of(rate, sd, before)
    if abs(rate) > 1.5 * max(sd, STEADY_C_PER_S):
        assert told is (Trend.WARMING if rate > 0.0 else Trend.COOLING)
    if told is Trend.WARMING:
        assert rate > 0.0
    if told is Trend.COOLING:
        assert rate < 0.0


@given(RATES, SDS, st.sampled_from(Trend))
def test_said_again_under_the_same_rate_it_stands(
    rate: float, sd: float, before: Trend
) -> None:
    told = trend_of(rate, sd, before)
    assert trend_of(rate, sd, told) is told

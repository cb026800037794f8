"""From marks to settled: clean trains, noisy marks, pulses, the tube, no marks."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.level.settling.drips import _TIMES, _Grid, settling, usable
from bridge.level.settling.gaps import MANNER_CHANCE, MANNERS, log_gaps, silence
from bridge.level.settling.pulses import overlaps, pulse_slots, touched
from bridge.level.settling.settle_time import usual
from bridge.level.settling.settle_values import DripRule, Marks
from tests.everyday import examples


def train(settles_s, steep, b, until_s, start_s=6.0):
    """Perfectly regular drops along one of Arps' curves through 1 a second."""
    t = np.arange(0.0, until_s, 0.01)
    if b == 0:
        lam = np.exp(steep * (1 - t / settles_s))
    else:
        lam = ((1 + b * steep) / (1 + b * steep * t / settles_s)) ** (1 / b)
    done = np.cumsum(lam) * 0.01
    at = np.interp(np.arange(1.0, done[-1]), done, t)
    return tuple(float(a) for a in at if a >= start_s and _slow(at, a))


def _slow(at, a):
    """Nobody marks faster than five a second."""
    i = int(np.searchsorted(at, a))
    return i == 0 or at[i] - at[i - 1] > 0.2


def called(marks, expected_s, rule=None, step_s=1.0, until_s=400.0):
    rule = rule or DripRule()
    t = rule.tube_s
    while t < until_s:
        seen = Marks(drips_s=tuple(m for m in marks if m <= t))
        state = settling(seen, usual(expected_s), elapsed_s=t, rule=rule)
        if not state.timer_only and state.settled_chance >= rule.sure:
            return t
        t += step_s
    return math.inf


@pytest.mark.parametrize(
    ("steep", "b"), [(2.5, 0.0), (5.0, 0.0), (8.0, 0.5), (10.0, 1.0), (25.0, 1.0)]
)
@pytest.mark.parametrize("wrong", [0.6, 1.0, 1.6])
@pytest.mark.few(2)
def test_clean_trains_are_called_within_a_fifth(steep, b, wrong):
    marks = train(70.0, steep, b, 160.0)
    assert called(marks, 70.0 * wrong) == pytest.approx(70.0, rel=0.2)


def test_doubled_marks_change_nothing():
    marks = train(70.0, 4.0, 0.0, 160.0)
    doubled = tuple(sorted([*marks, *(m + 0.08 for m in marks[::5])]))
    assert called(doubled, 70.0) == called(marks, 70.0)


def test_missed_marks_shift_it_little():
    marks = train(70.0, 4.0, 0.0, 160.0)
    some = tuple(m for i, m in enumerate(marks) if i % 6)
    assert called(some, 70.0) == pytest.approx(70.0, rel=0.2)


def test_the_tube_is_never_surplus():
    tube = Marks(drips_s=(0.4, 0.6, 1.0, 1.5, 2.2, 2.9))
    state = settling(tube, usual(60.0), elapsed_s=30.0)
    assert state.timer_only
    assert state.more_ml is None
    with_tube = tuple(sorted([*tube.drips_s, *train(70.0, 4.0, 0.0, 160.0)]))
    assert called(with_tube, 70.0) == called(train(70.0, 4.0, 0.0, 160.0), 70.0)


def test_without_marks_it_is_a_timer_and_says_so():
    early = settling(Marks(), usual(60.0), elapsed_s=30.0)
    late = settling(Marks(), usual(60.0), elapsed_s=90.0)
    assert early.timer_only
    assert late.timer_only
    assert early.settled_chance < 0.05
    assert late.settled_chance > 0.95
    assert late.rate_per_s is None


def test_a_stream_that_outlasts_the_timer_moves_it_on():
    state = settling(Marks(streaming_s=100.0), usual(60.0), elapsed_s=101.0)
    assert state.settled_chance < 0.05
    assert state.settle.p05_s > 100.0


def test_marks_after_a_stream_still_count():
    marks = train(70.0, 4.0, 0.0, 160.0)
    seen = tuple(m for m in marks if m <= 80.0)
    state = settling(Marks(drips_s=seen, streaming_s=20.0), usual(70.0), elapsed_s=80.0)
    assert state.settled_chance > 0.5


def test_what_still_comes_is_about_what_comes():
    # one drop in eight missed, as most people do
    marks = tuple(m for i, m in enumerate(train(70.0, 4.0, 0.0, 160.0)) if i % 8)
    now = 62.0
    state = settling(
        Marks(drips_s=tuple(m for m in marks if m <= now)), usual(70.0), elapsed_s=now
    )
    # integral of exp(4 (1 - t / 70)) from 62 to 70 s, in drops of 0.05 mL
    truth = 0.05 * (70.0 / 4.0) * (math.exp(4 * (1 - now / 70.0)) - 1.0)
    assert truth / 3 < state.more_ml < truth * 3
    rate = math.exp(4 * (1 - now / 70.0))
    assert state.rate_per_s == pytest.approx(rate, rel=0.2)


def test_who_stops_marking_does_not_make_it_settled_at_once():
    marks = tuple(m for m in train(70.0, 4.0, 0.0, 160.0) if m <= 30.0)
    state = settling(Marks(drips_s=marks), usual(70.0), elapsed_s=34.0)
    assert state.settled_chance < 0.5


def test_a_blind_span_is_not_silence():
    marks = train(90.0, 2.0, 0.0, 200.0)
    early = tuple(m for m in marks if m <= 60.0)
    declared = Marks(drips_s=early, blind_s=((60.0, 75.0),))
    blind = settling(declared, usual(90.0), elapsed_s=75.0)
    before = settling(Marks(drips_s=early), usual(90.0), elapsed_s=60.0)
    assert blind.settle.points_s == pytest.approx(before.settle.points_s, rel=0.02)
    assert blind.settled_chance < 0.3


def test_marks_on_both_sides_of_a_blind_span_count():
    marks = train(90.0, 2.0, 0.0, 200.0)
    seen = tuple(m for m in marks if m <= 40.0 or 75.0 <= m <= 80.0)
    declared = Marks(drips_s=seen, blind_s=((40.0, 75.0),))
    state = settling(declared, usual(90.0), elapsed_s=80.0)
    assert state.settle.p05_s < 90.0 < state.settle.p95_s
    assert state.rate_per_s == pytest.approx(math.exp(2 * (1 - 80 / 90)), rel=0.2)


PULSES = tuple(
    12.0 + 30.0 * k + d for k in range(6) for d in (0.0, 0.3, 0.7, 1.0, 1.4, 1.7)
)


def test_pulses_alone_are_found_and_are_no_surplus():
    state = settling(
        Marks(drips_s=tuple(p for p in PULSES if p < 110)), usual(60.0), elapsed_s=110.0
    )
    assert state.pulse_period_s == pytest.approx(30.0, abs=1.0)
    assert state.settled_chance > 0.9
    assert state.more_ml < 0.5


@pytest.mark.parametrize("known", [None, 30.0])
@pytest.mark.few(1)
def test_pulses_in_slow_dripping_do_not_hold_up_settling(known):
    rule = DripRule(settled_rate_per_s=0.2, pulse_period_s=known)
    drips = tuple(sorted([*_sparse(60.0), *PULSES]))
    plain = called(_sparse(60.0), 60.0, rule)
    assert called(drips, 60.0, rule) == pytest.approx(plain, rel=0.2)


def _sparse(settles_s):
    """Regular drops, 0.2 a second at ``settles_s``, exponential."""
    t = np.arange(0.0, 160.0, 0.01)
    done = np.cumsum(0.2 * np.exp(5.0 * (1 - t / settles_s))) * 0.01
    at = np.interp(np.arange(1.0, done[-1]), done, t)
    return tuple(float(a) for a in at if a > 8.0)


def test_steady_dripping_has_no_pulse():
    marks = np.array([m for m in train(70.0, 4.0, 0.0, 200.0) if m < 150.0])
    table = (
        np.arange(0.0, 160.0),
        np.interp(np.arange(0.0, 160.0), marks, range(len(marks))),
    )
    assert pulse_slots(marks, 150.0, table) is None


def test_spans():
    at = np.array([1.0, 2.0, 3.0])
    assert overlaps(at, ((1.5, 2.5),)).tolist() == [False, True, False]
    assert touched(at[:-1], at[1:], ((2.2, 2.4),)).tolist() == [False, True]


def test_usable_drops_the_tube_the_future_and_the_doubled():
    rule = DripRule(tube_s=3.0, dead_s=0.15)
    kept = usable((1.0, 4.0, 4.1, 4.3, 9.0), 5.0, rule)
    assert kept.tolist() == [4.0, 4.3]


def test_the_integral_is_that_of_the_rate():
    grid = _Grid(60.0, 0.2, 1.0, _TIMES)
    t = np.linspace(10.0, 50.0, 4001)
    rates = np.exp(grid.log_rate(t))
    numeric = ((rates[..., 1:] + rates[..., :-1]) / 2 * (t[1] - t[0])).sum(axis=2)
    counts = grid.drops(np.array([10.0, 50.0]))
    fine = numeric < 1e6
    assert (counts[..., 1] - counts[..., 0])[fine] == pytest.approx(
        numeric[fine], rel=1e-3
    )


def test_the_rate_is_the_criterion_at_the_settle_time():
    grid = _Grid(60.0, 0.2, 0.4, _TIMES)
    at_end = np.exp(grid.log_rate(grid.times))
    assert at_end == pytest.approx(0.4)


def test_gap_tables_are_distributions():
    assert MANNER_CHANCE.sum() == pytest.approx(1.0)
    tau = np.exp(np.arange(-6.0, 4.4, 0.02))
    dens = np.exp(np.stack([log_gaps(np.array([x])) for x in tau]))
    mass = (dens * (tau * 0.02)[:, None]).sum(axis=0)
    # what is missing: runs of five or more missed drops
    missing = np.array([missed**4 for _, missed in MANNERS])
    assert mass == pytest.approx(1.0 - missing, abs=0.01)
    quiet = silence(np.array([1e-3, 1.0, 30.0]))
    assert (np.diff(quiet, axis=0) <= 0).all()
    assert quiet[0] == pytest.approx(1.0 - missing, abs=0.01)


@examples(60)
@given(
    st.lists(st.floats(-5, 500, allow_nan=False), max_size=40),
    st.floats(0, 500),
    st.floats(5, 300),
)
def test_any_marks_give_a_sane_answer(marks, elapsed, expected):
    state = settling(
        Marks(drips_s=tuple(sorted(marks))), usual(expected), elapsed_s=elapsed
    )
    assert 0.0 <= state.settled_chance <= 1.0
    assert 0.0 < state.settle.p05_s <= state.settle.p50_s <= state.settle.p95_s
    assert state.more_ml is None or 0.0 <= state.more_ml < math.inf

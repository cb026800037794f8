"""What a forecast is made of, each part held against a law whose answer is known."""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np
import pytest

from bridge.thermal import estimator
from bridge.thermal import forecast as parts
from bridge.thermal.bank_horizon import ENDLESS_PER_S, HORIZONS_S, Ahead, settle
from bridge.thermal.estimator import Sensor
from bridge.thermal.forecast import Forecast
from bridge.thermal.interval_width import IntervalWidth
from bridge.thermal.normal_curve import phi
from bridge.thermal.surroundings import surroundings
from bridge.values.outlook import HORIZON_S, Crossing, Outlook
from bridge.values.sheet import Window

WINDOW = Window(low_c=35.0, high_c=45.0)
SOON = Crossing(p05_s=90.0, p50_s=100.0, p95_s=110.0, chance=1.0)
BELL = NormalDist()


def told(stays, *, shuts: Crossing | None = SOON) -> Forecast:
    return Forecast(
        opens=SOON,
        shuts=shuts,
        outlook=Outlook.TELLING,
        settles_at_c=None,
        settles_at_sd_c=None,
        inside_chance=0.8,
        stays=tuple(stays),
    )


def decaying(tau_s: float, start: float = 1.0) -> np.ndarray:
    """Chances of having stayed that fall as exp(-t/tau) does."""
    return start * np.exp(-HORIZONS_S / tau_s)


@pytest.mark.parametrize("chance", [0.95, 0.9, 0.5])
@pytest.mark.parametrize("start", [1.0, 0.5])
def test_how_long_it_stays_is_the_law_s_own_time(chance: float, start: float) -> None:
    # exp(-t/600) has fallen to p at -600 ln p, given that it is inside now
    told_s = told(decaying(600.0, start)).stays_s(chance)
    assert told_s == pytest.approx(-600.0 * math.log(chance), rel=0.01)


def test_what_stays_for_the_hour_is_told_to_stay_an_hour_and_no_longer() -> None:
    assert told(decaying(1e6)).stays_s(0.9) == HORIZON_S
    # exp(-3600/40000) = 0.914: more than 0.9 and less than 0.95
    assert told(decaying(40_000.0)).stays_s(0.9) == HORIZON_S
    least_s = told(decaying(40_000.0)).stays_s(0.95)
    assert least_s == pytest.approx(-40_000.0 * math.log(0.95), rel=0.01)


@pytest.mark.parametrize(
    "one",
    [
        told(decaying(600.0), shuts=None),
        told(()),
        told((), shuts=None),
        told(np.zeros(len(HORIZONS_S))),
    ],
)
def test_how_long_it_stays_is_not_told_where_nobody_knows(one: Forecast) -> None:
    assert one.stays_s(0.9) is None


def test_what_is_about_to_leave_stays_for_a_part_of_the_first_horizon() -> None:
    leaving = told([0.5] + [0.0] * (len(HORIZONS_S) - 1))
    # on a straight line to nothing at 2 s: a tenth of it gone after 0.2 s
    assert leaving.stays_s(0.9) == pytest.approx(0.2)


def test_the_chance_of_staying_is_told_from_now_to_the_hour() -> None:
    one = told(decaying(600.0, 0.8))
    assert one.stay_chance(0.0) == pytest.approx(0.8)
    assert one.stay_chance(300.0) == pytest.approx(0.8 * math.exp(-0.5), rel=0.01)
    assert one.stay_chance(HORIZON_S) == pytest.approx(0.8 * math.exp(-6.0))
    assert one.stay_chance(HORIZON_S + 0.1) is None
    assert one.stay_chance(-0.1) is None


@pytest.mark.parametrize("level", [0.05, 0.5, 0.95])
@pytest.mark.parametrize(("mean_s", "sd_s"), [(60.0, 20.0), (600.0, 60.0)])
def test_a_bell_curve_s_quantiles_are_its_own(level, mean_s, sd_s) -> None:
    # the time of a crossing spread as N(mean, sd): mean + z * sd (any normal table)
    chances = np.array([BELL.cdf((t - mean_s) / sd_s) for t in HORIZONS_S])
    expected_s = mean_s + BELL.inv_cdf(level) * sd_s
    assert parts._quantile(chances, level) == pytest.approx(expected_s, rel=1e-6)


@pytest.mark.parametrize("level", [0.05, 0.3, 0.5, 0.7, 0.95])
@pytest.mark.parametrize("median_s", [20.0, 300.0, 2000.0])
def test_a_bent_law_s_quantiles_are_nearly_its_own(level, median_s) -> None:
    # log-normal with a spread of 0.3: median * exp(0.3 z)
    times = np.maximum(HORIZONS_S, 1e-6)
    chances = np.array([BELL.cdf(math.log(t / median_s) / 0.3) for t in times])
    expected_s = median_s * math.exp(0.3 * BELL.inv_cdf(level))
    assert parts._quantile(chances, level) == pytest.approx(expected_s, rel=0.003)


@pytest.mark.parametrize("median_s", [3.0, 400.0, 3000.0])
def test_a_quantile_passes_through_every_horizon(median_s: float) -> None:
    times = np.maximum(HORIZONS_S, 1e-6)
    chances = np.array([BELL.cdf(math.log(t / median_s) / 0.6) for t in times])
    for t, chance in zip(HORIZONS_S, chances, strict=True):
        if 0.001 < chance < 0.999:
            assert parts._quantile(chances, float(chance)) == pytest.approx(t)


def test_what_is_never_reached_has_no_quantile_and_what_is_already_has_zero() -> None:
    rising = np.linspace(0.2, 0.6, len(HORIZONS_S))
    assert parts._quantile(rising, 0.61) is None
    assert parts._quantile(rising, 0.6) == pytest.approx(HORIZON_S)
    assert parts._quantile(rising, 0.2) == 0.0
    assert parts._quantile(rising, 0.1) == 0.0
    assert parts._quantile(rising, 0.21) > 0.0


def test_a_law_that_is_sure_at_one_horizon_is_told_between_it_and_the_one_before():
    at = 10
    step = np.where(np.arange(len(HORIZONS_S)) < at, 0.0, 1.0)
    for level in (0.05, 0.5, 0.95):
        seen = parts._quantile(step, level)
        assert HORIZONS_S[at - 1] < seen < HORIZONS_S[at]


def test_a_law_that_hardly_rises_is_told_where_it_does() -> None:
    chances = np.full(len(HORIZONS_S), 0.5)
    chances[10:] += 1e-8
    seen = parts._quantile(chances, 0.5 + 5e-9)
    assert HORIZONS_S[9] < seen < HORIZONS_S[10]
    assert parts._quantile(chances, 0.6) is None


def test_a_law_that_leaps_early_is_told_within_its_leap() -> None:
    leap = np.concatenate([[0.0, 0.2], np.linspace(0.6, 0.7, len(HORIZONS_S) - 2)])
    for level in (0.25, 0.4, 0.55):
        assert HORIZONS_S[1] < parts._quantile(leap, level) < HORIZONS_S[2]


def test_what_is_reached_only_at_the_hour_is_told() -> None:
    chances = np.zeros(len(HORIZONS_S))
    chances[-1] = 0.6
    seen = parts._quantile(chances, 0.5)
    assert HORIZONS_S[-2] < seen < HORIZON_S


def hermite(z0, z1, t0, t1, d0, d1, at) -> float:
    """The cubic through two points with two slopes, by solving for its coefficients."""
    rows = [
        *([1.0, z, z**2, z**3] for z in (z0, z1)),
        *([0.0, 1.0, 2 * z, 3 * z**2] for z in (z0, z1)),
    ]
    c = np.linalg.solve(np.array(rows), np.array([t0, t1, d0, d1]))
    return float(c @ [1.0, at, at**2, at**3])


def test_the_curve_is_hermites_with_the_slopes_of_fritsch_and_butland() -> None:
    # A method for constructing local monotone piecewise cubic interpolants (SIAM J.
    # Sci. Stat. Comput. 5, 1984): at a knot the harmonic mean of both secants
    z, t = [0.0, 1.0, 3.0, 4.0], [0.0, 2.0, 3.0, 7.0]  # secants 2, 1/2, 4
    at_1, at_3 = 2 * 2 * 0.5 / 2.5, 2 * 0.5 * 4 / 4.5
    for at in (1.0, 1.4, 2.0, 2.9, 3.0):
        want = hermite(1.0, 3.0, 2.0, 3.0, at_1, at_3, at)
        assert parts._bend(z, t, at, 2) == pytest.approx(want)
    for at in (0.0, 0.3, 0.9):  # at an end the secant itself
        want = hermite(0.0, 1.0, 0.0, 2.0, 2.0, at_1, at)
        assert parts._bend(z[:3], t[:3], at, 1) == pytest.approx(want)
    for at in (1.2, 2.5, 3.0):
        want = hermite(1.0, 3.0, 2.0, 3.0, at_1, 0.5, at)
        assert parts._bend(z[:3], t[:3], at, 2) == pytest.approx(want)


def test_where_the_law_stands_still_the_next_secant_stands_in() -> None:
    z, t = [0.0, 0.0, 2.0, 3.0], [0.0, 1.0, 3.0, 5.0]
    want = hermite(0.0, 2.0, 1.0, 3.0, 1.0, 2 * 1.0 * 2.0 / 3.0, 0.7)
    assert parts._bend(z, t, 0.7, 2) == pytest.approx(want)


def test_deviates_are_held_within_six() -> None:
    # any normal table: 1.959964 at 0.975; 5.9978 at one in 10**9
    assert parts._probit(0.975) == pytest.approx(1.959964, abs=1e-6)
    assert parts._probit(0.0) == pytest.approx(-5.9978, abs=1e-4)
    assert parts._probit(1.0) == pytest.approx(5.9978, abs=1e-4)


@pytest.mark.parametrize(
    ("bounds", "learning", "new", "crossing", "inside", "outlook"),
    [
        (False, True, True, SOON, False, Outlook.CANNOT_TELL),
        (True, True, True, SOON, False, Outlook.LEARNING),
        (True, False, True, SOON, False, Outlook.TELLING),
        (True, False, False, (None, 0.5), False, Outlook.ROUGH),
        (True, False, False, (None, 0.5), True, Outlook.ROUGH),
        (True, False, True, (None, 0.1), False, Outlook.ROUGH),
        (True, False, True, (None, 0.1), True, Outlook.ROUGH),
        (True, False, False, (None, 0.49), False, Outlook.MAY_NEVER),
        (True, False, False, (None, 0.49), True, Outlook.TELLING),
    ],
)
def test_how_far_a_crossing_is_trusted(
    bounds, learning, new, crossing, inside, outlook
) -> None:
    if isinstance(crossing, tuple):
        crossing = Crossing(p05_s=90.0, p50_s=None, p95_s=None, chance=crossing[1])
    rule = parts._Rule(bounds=bounds, learning=learning, new=new)
    assert rule.outlook(crossing, inside=inside) is outlook


def ahead(*means, sd=1e-3, stirred=1e-3, calm=1.0, weight=None, settles=None, var=None):
    mean = np.array([np.broadcast_to(m, HORIZONS_S.shape) for m in means])
    count = len(means)
    shape = (count, len(HORIZONS_S))
    return Ahead(
        weight=np.array(weight or [1.0 / count] * count),
        mean=mean,
        calm_sd=np.full(shape, sd),
        stirred_sd=np.full(shape, stirred),
        calm_chance=np.full(shape, calm),
        settles_c=np.array(settles or [0.0] * count),
        settles_var=np.array(var or [1e12] * count),
    )


def test_two_bell_curves_about_one_mean_are_mixed_by_their_chance() -> None:
    future = ahead(40.0, sd=1.0, stirred=2.0, calm=0.25)
    (chance, *_) = parts._short_of(future, np.full_like(future.mean, 1.5))[0]
    want = 0.25 * BELL.cdf(1.5) + 0.75 * BELL.cdf(0.75)
    assert chance == pytest.approx(want, abs=0.001)


def test_a_sure_ramp_enters_over_one_edge_and_leaves_over_the_other() -> None:
    for sign in (1.0, -1.0):
        mean = 40.0 + sign * (0.02 * HORIZONS_S - 20.0)  # 35 at 750 s, 45 at 1250 s
        seen = parts._passage(ahead(mean), WINDOW)
        assert seen.entered == pytest.approx(1.0 * (HORIZONS_S > 750.0), abs=0.01)
        assert seen.left == pytest.approx(1.0 * (HORIZONS_S > 1250.0), abs=0.01)
        assert seen.stayed == pytest.approx(np.zeros(len(HORIZONS_S)), abs=0.01)
        assert seen.inside == pytest.approx(0.0, abs=0.01)


def test_what_turns_round_inside_leaves_over_the_edge_it_came_by() -> None:
    for sign in (1.0, -1.0):
        path = np.minimum(0.02 * HORIZONS_S, 20.0 - 0.02 * (HORIZONS_S - 1000.0))
        seen = parts._passage(ahead(40.0 + sign * (path - 17.0)), WINDOW)  # turns at 43
        assert seen.entered == pytest.approx(1.0 * (HORIZONS_S > 600.0), abs=0.01)
        assert seen.left == pytest.approx(1.0 * (HORIZONS_S > 1400.0), abs=0.01)


def test_what_is_inside_has_entered_and_stays_until_it_leaves() -> None:
    seen = parts._passage(ahead(40.0 + 0.01 * HORIZONS_S), WINDOW)  # 45 at 500 s
    assert seen.inside == pytest.approx(1.0, abs=0.01)
    assert seen.entered == pytest.approx(np.ones(len(HORIZONS_S)), abs=0.01)
    assert seen.left == pytest.approx(1.0 * (HORIZONS_S > 500.0), abs=0.01)
    assert seen.stayed == pytest.approx(1.0 * (HORIZONS_S < 500.0), abs=0.01)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_inside_is_inside_now_and_not_in_two_seconds(sign: float) -> None:
    seen = parts._passage(ahead(40.0 + sign * (4.9 + HORIZONS_S)), WINDOW)
    assert seen.inside == pytest.approx(1.0, abs=0.01)


def test_at_rest_on_the_edge_half_of_it_is_inside() -> None:
    seen = parts._passage(ahead(45.0, sd=1.0, stirred=1.0), WINDOW)
    assert seen.inside == pytest.approx(0.5, abs=0.01)
    assert seen.stayed[-1] == pytest.approx(0.5, abs=0.01)
    narrow = Window(low_c=39.0, high_c=41.0)
    wide = parts._passage(ahead(40.0, sd=1.0, stirred=1.0), narrow)
    # one standard deviation to either side: 68.27 % (any normal table)
    assert wide.inside == pytest.approx(0.6827, abs=0.002)


def test_models_count_by_their_weight() -> None:
    seen = parts._passage(ahead(40.0, 20.0, weight=[0.3, 0.7]), WINDOW)
    assert seen.inside == pytest.approx(0.3, abs=0.01)
    assert seen.entered[-1] == pytest.approx(0.3, abs=0.01)
    assert seen.stayed[-1] == pytest.approx(0.3, abs=0.01)
    assert seen.left[-1] == pytest.approx(0.0, abs=0.01)


def test_where_it_settles_is_the_mixture_of_what_the_models_say() -> None:
    # variance of a mixture: the mean of the variances and the variance of the means
    one = ahead(20.0, 20.0, settles=[80.0, 90.0], var=[4.0, 6.0], weight=[0.25, 0.75])
    mean, sd = parts._settling(one)
    assert mean == pytest.approx(87.5)
    assert sd == pytest.approx(math.sqrt(5.5 + 0.25 * 7.5**2 + 0.75 * 2.5**2))


@pytest.mark.parametrize(
    ("var", "weight", "tells"),
    [
        ([4.0, 4.0], [0.5, 0.5], True),
        ([4.0, 1e12], [0.5, 0.5], True),  # half of them know
        ([4.0, 1e12], [0.49, 0.51], False),
        ([4.0, 60.0**2], [0.49, 0.51], False),  # as unsure as that is none
        ([4.0, 60.0**2], [0.9, 0.1], True),  # and does not count
        ([0.25, 1e12], [0.9, 0.1], True),
        ([24.9**2, 1e12], [0.9, 0.1], True),
        ([25.0**2, 1e12], [0.9, 0.1], False),  # too vague to be worth telling
    ],
)
def test_where_it_settles_is_told_only_if_most_models_know(var, weight, tells) -> None:
    one = ahead(20.0, 20.0, settles=[80.0, 80.0], var=var, weight=weight)
    mean, sd = parts._settling(one)
    assert (mean is not None) == (sd is not None) == tells
    if tells:
        assert mean == pytest.approx(80.0)
        assert sd == pytest.approx(math.sqrt(var[0]))


def test_the_table_s_normal_law_is_the_law() -> None:
    z = np.linspace(-3.0, 3.0, 61)
    assert phi(z) == pytest.approx([BELL.cdf(float(x)) for x in z], abs=0.0004)


def watched(
    seconds, *, end_c=90.0, tau_s=1500.0, begun_s=0.0, engine_rpm=None, ambient_c=None
):
    """A track that saw fluid go from 20 degC to its end, told to 1/16 degC."""
    track = estimator.begin(Sensor(resolution_c=1 / 16))
    for t in seconds:
        reading = round((end_c - (end_c - 20.0) * math.exp(-t / tau_s)) * 16) / 16
        track = estimator.observe(track, t_s=begun_s + t, temp_c=reading)
    if engine_rpm is not None:
        track = surroundings(
            track, t_s=track.t_s, ambient_c=ambient_c, engine_rpm=engine_rpm
        )
    return track


@pytest.mark.parametrize("last_s", [31, 120])
def test_when_a_clock_began_to_count_changes_nothing(last_s: int) -> None:
    seen = [
        parts.forecast(
            watched(range(last_s), begun_s=begun_s), WINDOW, now_s=begun_s + last_s
        )
        for begun_s in (0.0, 4096.0)
    ]
    assert seen[0] == seen[1]


@pytest.mark.parametrize(
    ("seconds", "now_s", "figures_in_s"),
    [
        ((0.0, 1.0, 2.0), 44.5, 0.5),
        ((0.0, 1.0, 2.0), 45.0, 0.0),  # three readings are enough
        ((0.0, 1.0), 44.5, 0.5),
        ((0.0, 1.0), 45.0, None),  # two are not: it hangs on the next one
    ],
)
def test_bounds_take_45_s_and_three_readings(seconds, now_s, figures_in_s) -> None:
    seen = parts.forecast(watched(seconds), WINDOW, now_s=now_s)
    assert seen.figures_in_s == figures_in_s
    assert (seen.shuts is not None) == (figures_in_s == 0.0)


@pytest.mark.parametrize(
    ("rpm", "above_c", "give_c"), [(750.0, 85.0, 35.0), (0.0, 4.0, 8.0)]
)
@pytest.mark.parametrize("ambient_c", [-10.0, 18.0])
def test_fluid_is_expected_to_settle_so_far_above_the_air(
    rpm, above_c, give_c, ambient_c
) -> None:
    one = watched(range(3), engine_rpm=rpm, ambient_c=ambient_c)
    bank = estimator.bank_at(one, now_s=3.0)
    where_c, _var = settle(bank.grid, merged := parts._settled(one, bank))
    ends = bank.grid.slow[merged.path] > ENDLESS_PER_S
    share = merged.weight[ends] / merged.weight[ends].sum()
    assert share @ where_c[ends] == pytest.approx(ambient_c + above_c, abs=give_c)


def test_how_sure_it_is_of_where_it_settles_is_told() -> None:
    seen = parts.forecast(watched(range(600)), WINDOW, now_s=599.0)
    assert seen.settles_at_c == pytest.approx(90.0, abs=15.0)
    assert 0.0 < seen.settles_at_sd_c < 25.0


def test_outside_the_opening_is_what_counts_and_inside_the_shutting() -> None:
    coming = watched(range(400), end_c=60.0)
    seen = parts.forecast(coming, WINDOW, now_s=399.0)
    assert (seen.opens.narrow, seen.shuts.narrow) == (True, False)
    assert seen.outlook is Outlook.TELLING
    there = watched(range(240), end_c=60.0, tau_s=300.0)
    seen = parts.forecast(there, WINDOW, now_s=239.0)
    assert (seen.opens.p95_s, seen.shuts.narrow) == (0.0, False)
    assert seen.outlook is Outlook.ROUGH


def test_at_rest_far_from_both_edges_that_it_may_never_shut_is_told() -> None:
    resting = watched(range(1800), end_c=20.0)
    seen = parts.forecast(resting, Window(low_c=0.0, high_c=40.0), now_s=1799.0)
    assert seen.shuts.chance < 0.5
    assert seen.outlook is Outlook.TELLING


def test_the_chance_of_a_crossing_is_that_of_the_whole_hour() -> None:
    late = np.zeros(len(HORIZONS_S))
    late[-1] = 0.6
    plain = IntervalWidth(driven=0.0, warming=0.0, spread=1.0, age_s=1e4)
    seen = parts._crossing(late, plain)
    assert seen.chance > 0.3
    assert seen.p95_s is None

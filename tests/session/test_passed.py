"""Beyond the window with the engine idling: what is said, and when it stops."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from bridge.session.session import advance, apply
from bridge.session.session_facts import passed, tells_stay
from bridge.session.session_state import begin
from bridge.sheets import load
from bridge.thermal.cooling_back import TIME_CONSTANT_S, cools_back
from bridge.thermal.forecast import forecast
from bridge.values.events import LinkChange
from bridge.values.outlook import Crossing, Estimate, Outlook, Trend
from bridge.values.readings import LinkState, Reading
from bridge.values.sheet import Role
from tui.words import outlook_wording

SHEET = load("weir-trace-bench")
HIGH_C = SHEET.window.high_c


def watched(temps_c, rpm=750.0):
    session = begin(SHEET, interval_s=1.0)
    session = apply(session, LinkChange(state=LinkState.LIVE, t_s=0.0))
    seen = None
    for n, temp_c in enumerate(temps_c):
        t_s = float(n)
        for role, value in (
            (Role.ENGINE_SPEED, rpm),
            (Role.AMBIENT_TEMPERATURE, 20.0),
            (Role.FLUID_TEMPERATURE, round(temp_c, 1)),
        ):
            session = apply(session, Reading(role=role, value=value, t_s=t_s))
        session, seen = advance(session, now_s=t_s)
    return seen


def test_passing_is_told_with_its_age_and_the_way_back() -> None:
    seen = watched([HIGH_C - 5.0 + 0.05 * n for n in range(161)])
    assert seen.passed is not None
    assert seen.passed.ago_s == pytest.approx(60.0, abs=6.0)
    told = outlook_wording.passed(seen.passed, "C")[0]
    assert told.startswith(f"passed {HIGH_C:g} °C a minute ago: engine off, cools back")


def test_a_start_beyond_the_window_claims_no_age() -> None:
    seen = watched([HIGH_C + 5.0 + 0.05 * n for n in range(30)])
    assert seen.passed is not None
    assert seen.passed.ago_s is None
    assert outlook_wording.passed(seen.passed, "C")[0].startswith("already above")


def test_nothing_is_behind_below_it_or_with_the_engine_off() -> None:
    assert watched([HIGH_C - 9.0 + 0.05 * n for n in range(60)]).passed is None
    off = watched([HIGH_C + 9.0 - 0.05 * n for n in range(60)], rpm=0.0)
    assert off.passed is None


def test_the_way_back_follows_newtons_law_of_cooling() -> None:
    # T(t) = A + (T0 - A) exp(-t / tau), so t = tau ln((T0 - A) / (T - A))
    told = cools_back(47.0, 40.0, 20.0)
    assert told is not None
    assert told.p50_s == pytest.approx(TIME_CONSTANT_S[1] * math.log(27.0 / 20.0))
    blind = cools_back(47.0, 40.0, None)
    assert blind is not None
    assert blind.p05_s < told.p05_s
    assert cools_back(47.0, 21.0, 20.0) is None


@pytest.mark.parametrize(("chance", "behind"), [(0.1, True), (0.9, False)])
def test_what_a_thermostat_cools_a_little_is_still_behind(chance, behind) -> None:
    session = begin(SHEET, interval_s=1.0)
    engine = Reading(role=Role.ENGINE_SPEED, value=750.0, t_s=0.0)
    session = apply(session, LinkChange(state=LinkState.LIVE, t_s=0.0))
    session = apply(session, engine)
    cooling = Estimate(
        temp_c=HIGH_C + 30.0,
        temp_sd_c=0.1,
        rate_c_per_s=-0.03,
        rate_sd_c_per_s=0.003,
        trend=Trend.COOLING,
    )
    opens = Crossing(p05_s=600.0, p50_s=None, p95_s=None, chance=chance)
    ahead = replace(forecast(session.track, SHEET.window, now_s=0.0), opens=opens)
    assert (passed(session, cooling, ahead, 0.0) is not None) is behind
    assert passed(session, cooling, None, 0.0) is None


def test_a_low_chance_of_staying_is_news_though_bounds_are_wide() -> None:
    ahead = forecast(begin(SHEET, interval_s=1.0).track, SHEET.window, now_s=0.0)
    rough = replace(ahead, outlook=Outlook.ROUGH)
    assert tells_stay(rough, 0.3)
    assert not tells_stay(rough, 0.7)
    assert not tells_stay(rough, None)
    assert not tells_stay(replace(ahead, outlook=Outlook.CANNOT_TELL), 0.3)
    assert not tells_stay(None, 0.3)
    assert tells_stay(replace(ahead, outlook=Outlook.TELLING), 0.7)

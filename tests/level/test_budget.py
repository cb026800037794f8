"""Budgets of doubt, against hand sums and a Monte Carlo."""

from __future__ import annotations

import math

import pytest

from bridge.level.budget import Budget, Closing, Source, budget
from bridge.values.conditions import TiltWorth
from tests.show.parts.service import budgets

AT = Closing(
    temp_c=40.0,
    sd_c=0.2,
    meant_c=40.0,
    fill_ml=7000.0,
    area_cm2=500.0,
    sensor_accuracy_c=1.5,
    tilt_limit_deg=0.5,
    opening_forward_mm=150.0,
    opening_right_mm=-60.0,
    more_ml=30.0,
)


def part(found: Budget, source: Source) -> tuple[float | None, float | None]:
    one = next(p for p in found.parts if p.source is source)
    return one.off_ml, one.sd_ml


def test_each_part_by_hand() -> None:
    """7 L x 0.000739/K (0.6278/850, API MPMS 11.1 54D) is 5.17 mL/K at 15 °C.

    At 40 °C the expansion is some 3 % more by the formula's second term.
    """
    found = budget(AT)
    per_k = 7000.0 * 0.6278 / 850.0
    heat, sensor = part(found, Source.TEMPERATURE), part(found, Source.SENSOR)
    assert heat[0] == pytest.approx(0.0)
    assert heat[1] == pytest.approx(0.2 * per_k, rel=0.05)
    assert sensor[1] == pytest.approx(1.5 / math.sqrt(3) * per_k, rel=0.05)
    tilt = math.tan(math.radians(0.5)) * math.hypot(150.0, 60.0) * 50.0
    assert part(found, Source.TILT)[1] == pytest.approx(tilt / math.sqrt(3))
    # GUM 4.3.8: 0..30 mL is 15 mL off, 15 over root three of doubt
    running = part(found, Source.STILL_RUNNING)
    assert running == pytest.approx((15.0, 15.0 / math.sqrt(3)))


@pytest.mark.parametrize("case", [*budgets.cases()], ids=lambda case: case.name)
def test_the_stated_doubt_holds_in_a_monte_carlo(case: budgets.Case) -> None:
    """JCGM 101, 7 and 8: draw every source, 95 % must lie within the stated doubt."""
    found = budgets.run(case, seed=1, draws=4000)
    assert found.held >= budgets.HELD
    assert found.wide <= budgets.WIDEST
    assert found.off <= 0.03


def test_what_nobody_told_is_named_and_not_counted() -> None:
    bare = budget(Closing(temp_c=40.0, sd_c=0.2, meant_c=40.0, fill_ml=7000.0))
    assert bare.unknown == (Source.SENSOR, Source.TILT, Source.STILL_RUNNING)
    assert bare.off_mm is None
    assert bare.expanded_ml < budget(AT).expanded_ml


def test_typed_angles_shift_the_level_and_leave_little_doubt() -> None:
    tilt = TiltWorth(
        lengthways_deg=1.0,
        across_deg=0.0,
        error_mm=2.6,
        error_ml=130.0,
        inside_limit=False,
    )
    from dataclasses import replace

    told, limit = budget(replace(AT, tilt=tilt)), budget(AT)
    assert part(told, Source.TILT)[0] == pytest.approx(130.0)
    narrow, wide = part(told, Source.TILT)[1], part(limit, Source.TILT)[1]
    assert narrow is not None
    assert wide is not None
    assert narrow < wide


def test_millimetres_follow_from_the_area() -> None:
    found = budget(AT)
    assert found.off_mm == pytest.approx(found.off_ml / 50.0)  # 1 mm is 50 mL
    assert found.expanded_mm == pytest.approx(found.expanded_ml / 50.0)

"""Two jobs on one car: amounts, differences, and rates over the same degrees."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from bridge.jobfile.recorder import add_to, start
from bridge.jobfile.report.document import Para, ReportTable
from bridge.jobfile.report.summary import Summary, tell
from bridge.jobfile.several.compare_jobs import compare
from bridge.jobfile.several.warm_up import time_constant, warm_up_c_per_s
from bridge.units import Units
from bridge.values.events import LinkChange
from bridge.values.readings import CheckDigit, LinkState, Reading, VehicleNumber
from bridge.values.sheet import Role
from tests.jobfile.job_help import complain, job, new_session

# The worked example of 49 CFR 565 and ISO 3779: all ones, whose check digit is 1.
VIN = "1" * 17


def warmed(path: Path, curve: list[tuple[float, float]], *extra: Any) -> Summary:
    """Record these (second, °C), and add some events."""
    recorder = start(path, job(), complain)
    recorder.began(now_s=0.0, interval_s=1.0, session=new_session())
    recorder.took(LinkChange(state=LinkState.LIVE, t_s=0.0))
    recorder.took(VehicleNumber(t_s=0.0, text=VIN, check_digit=CheckDigit.RIGHT))
    for t_s, temp_c in curve:
        recorder.took(
            Reading(role=Role.FLUID_TEMPERATURE, value=temp_c, t_s=t_s, raw=b"\x01")
        )
    assert recorder.close()
    if extra:
        assert add_to(path, list(extra))
    return tell(path)


def line(first: Summary, second: Summary, what: str, units: Units = Units.METRIC):
    (section,) = compare([first, second], units).sections
    table = next(b for b in section.blocks if isinstance(b, ReportTable))
    return next(row for row in table.rows if row[0].startswith(what))


def ramp(from_c: float, c_per_s: float, seconds: int) -> list[tuple[float, float]]:
    return [(float(t), from_c + c_per_s * t) for t in range(seconds)]


def drained(ml: float) -> tuple[str, dict[str, Any]]:
    return ("volume", {"what": "drained", "ml": ml, "temp_c": 20.0})


def test_amounts_are_added_up_and_subtracted(tmp_path: Path) -> None:
    curve = ramp(20.0, 0.02, 60)
    first = warmed(tmp_path / "a.job", curve, drained(4000.0), drained(200.0))
    second = warmed(tmp_path / "b.job", curve, drained(3900.0))
    assert line(first, second, "Drained")[0] == "Drained at"
    (section,) = compare([first, second], Units.METRIC).sections
    table = next(b for b in section.blocks if isinstance(b, ReportTable))
    rows = {row[0]: row[1:] for row in table.rows}
    assert rows["Drained"] == ("4.20 L", "3.90 L", "-300 mL")
    assert rows["Filled"] == ("--", "--", "--")
    # NIST SP 811 (2008), B.8: a US liquid quart is 9.463529 E-04 m3.
    us = compare([first, second], Units.US).sections[0].blocks[1]
    assert isinstance(us, ReportTable)
    told = {row[0]: row[1:] for row in us.rows}["Drained"]
    assert told == ("4.44 qt", "4.12 qt", "-0.32 qt")
    assert isinstance(section.blocks[0], Para)
    assert section.blocks[0].text == "One car, on one sheet."


def test_a_kind_of_volume_that_is_new_has_a_row_of_its_own(tmp_path: Path) -> None:
    curve = ramp(20.0, 0.02, 60)
    odd = ("volume", {"what": "topped-up", "ml": 150.0})
    first = warmed(tmp_path / "a.job", curve, odd)
    second = warmed(tmp_path / "b.job", curve, ("volume", {"ml": "much"}))
    assert line(first, second, "Topped up")[1:] == ("150 mL", "--", "--")


def test_rates_are_compared_over_the_same_degrees(tmp_path: Path) -> None:
    """A warm-up that slows down as it nears its end (two straight pieces).

    Over its whole length the first is the faster one only because it began colder;
    between 25 °C and 42 °C both went at 0.02 °C/s, which is 1.2 °C/min.
    """
    quick_then_slow = [(float(t), 5.0 + 0.1 * t) for t in range(201)]
    quick_then_slow += [(200.0 + t, 25.0 + 0.02 * t) for t in range(1, 1000)]
    slow = ramp(25.0, 0.02, 1000)
    first = warmed(tmp_path / "a.job", quick_then_slow)
    second = warmed(tmp_path / "b.job", slow)
    whole = warm_up_c_per_s(first)
    assert whole is not None
    assert whole * 60 == pytest.approx(37.0 / 1050.0 * 60, rel=0.01)
    found = line(first, second, "Warm-up, ")
    assert found == (
        "Warm-up, 25 to 42 °C",
        "+1.2 °C/min",
        "+1.2 °C/min",
        "+0.0 °C/min",
    )
    assert line(first, second, "Warm-up, ", Units.US)[1] == "+2.2 °F/min"


@pytest.mark.parametrize(
    "curve", [[], [(0.0, 50.0), (60.0, 55.0)], [(0.0, 41.0), (60.0, 43.0)]]
)
def test_without_shared_degrees_no_rate_is_made_up(tmp_path: Path, curve) -> None:
    first = warmed(tmp_path / "a.job", curve)
    second = warmed(tmp_path / "b.job", ramp(20.0, 0.02, 900))
    assert line(first, second, "Warm-up over the same")[1:] == ("--", "--", "--")


def test_three_jobs_stand_side_by_side(tmp_path: Path) -> None:
    curves = (ramp(20.0, 0.02, 1200), ramp(25.0, 0.02, 1000), ramp(21.0, 0.04, 600))
    made = [
        warmed(tmp_path / f"{n}.job", curve, drained(4000.0 - 100.0 * i))
        for i, (n, curve) in enumerate(zip("abc", curves, strict=True))
    ]
    (section,) = compare(made, Units.METRIC).sections
    same, table = section.blocks
    assert isinstance(same, Para)
    assert same.text == "One car, on one sheet."
    assert isinstance(table, ReportTable)
    assert table.head == ("What", "A: a", "B: b", "C: c", "C less A")
    rows = {row[0]: row[1:] for row in table.rows}
    assert rows["Drained"] == ("4.00 L", "3.90 L", "3.80 L", "-200 mL")
    told = rows["Warm-up, 25 to 42 °C"]
    assert told == ("+1.2 °C/min", "+1.2 °C/min", "+2.4 °C/min", "+1.2 °C/min")


def test_the_verb_takes_two_to_eight_different_jobs(tmp_path, capsys) -> None:
    from tui.cli.main import main

    path = tmp_path / "a.job"
    warmed(path, ramp(20.0, 0.02, 60))
    for names in ([path], [path, path], [path] * 9):
        assert main(["job", "compare", *map(str, names)]) == 2
        assert len(capsys.readouterr().err.splitlines()) == 1


# A first-order step reaches 63.2 % of its way after one time constant (any textbook of
# control; the same closed form as in tests/outside/test_newton.py).
@pytest.mark.parametrize("step_c", [1.0, 0.5, 0.1])
@pytest.mark.parametrize("tau_s", [400.0, 1200.0, 2400.0])
def test_the_time_constant_of_a_known_step_is_found(step_c, tau_s) -> None:
    for start_c, end_c in ((5.0, 90.0), (20.0, 85.0), (-10.0, 100.0)):
        curve = [
            (t, end_c + (start_c - end_c) * math.exp(-t / tau_s))
            for t in (4.0 * i for i in range(int(1.2 * tau_s / 4.0)))
        ]
        seen = [(t, round(v / step_c) * step_c) for t, v in curve]
        found = time_constant(seen)
        assert found is not None
        assert found.low_s <= tau_s <= found.high_s
        assert found.high_s < 1.6 * found.low_s


def test_what_does_not_tell_a_time_constant_gives_none() -> None:
    assert time_constant([]) is None
    assert time_constant(ramp(20.0, 0.02, 100)) is None  # too short
    assert time_constant(ramp(20.0, 0.0, 1000)) is None  # flat
    assert time_constant(ramp(20.0, 0.02, 1000)) is None  # straight: any long one fits
    for wild in (1e308, 1e160, -1e308):
        odd = [*ramp(20.0, 0.02, 1000), (1000.0, wild)]
        assert time_constant(odd) is None
        time_constant([*ramp(20.0, 0.02, 1000), (abs(wild), 45.0)])  # does not raise

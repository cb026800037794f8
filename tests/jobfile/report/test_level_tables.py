"""What the report says of a level in figures: how well known, how the car leaned."""

from pathlib import Path

import pytest

from bridge.jobfile.report.short.level_tables import fluid, judgement_table
from bridge.jobfile.report.summary import Moment, Summary
from bridge.units import Units

SEEN = {"at_s": 1.0, "temp_c": 35.1, "sd_c": 0.015}


def moment(seq: int, kind: str, **told: object) -> Moment:
    return Moment(seq=seq, kind=kind, at_s=float(seq), utc_s=float(seq), content=told)


def summary(accuracy_c: float | None = None, *tilts: Moment) -> Summary:
    told = Summary(path=Path("x.job"), kept={"tilt": list(tilts)})
    told.start = {"sheet": {"sensor_accuracy_c": accuracy_c}}
    return told


def rows_of(told: Summary) -> dict[str, str]:
    judged = moment(9, "judgement", outcome="good", opened=SEEN, closed=SEEN)
    return dict(judgement_table(told, judged, Units.METRIC).rows)


def test_a_deviation_is_told_twice_and_with_the_sensors_own():
    # JCGM 100:2008: k = 2 (6.2.1); within 1.5 degC: 2 x 1.5 / root 3 = 1.73 (4.3.7)
    assert fluid(summary(1.5), 35.1, 0.015, Units.METRIC) == (
        "35.1 °C ± 1.73 °C (k = 2, with the sensor's own)"
    )
    assert fluid(summary(), 35.1, 0.015, Units.METRIC) == (
        "35.1 °C ± 0.03 °C (k = 2, the sensor's own not stated)"
    )
    assert fluid(summary(), 35.1, None, Units.METRIC) == "35.1 °C"
    assert "± 1.73" in rows_of(summary(1.5))["Fluid at closing"]


@pytest.mark.parametrize(
    ("tilts", "said"),
    [
        ((), "not measured"),
        ([(3, 0.4, -0.2)], "+0.4° lengthways (nose up), -0.2° across (right side up)"),
        ([(3, 0.4, -0.2), (5, 0.1, 0.0)], "+0.1° lengthways (nose up), +0.0° across"),
        ([(3, 0.1, 0.0), (12, 9.0, 9.0)], "+0.1° lengthways"),
    ],
)
def test_the_angles_that_stood_when_it_was_judged_are_in_the_report(tilts, said):
    typed = [
        moment(seq, "tilt", lengthways_deg=along, across_deg=across)
        for seq, along, across in tilts
    ]
    assert said in rows_of(summary(None, *typed))["How the car leaned, as typed"]

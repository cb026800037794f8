"""A service in a job file: read back, reported in the person's units, resumed."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.jobfile.recorder import Job, add_to, start
from bridge.jobfile.report.compose import compose
from bridge.jobfile.report.report_html import as_html
from bridge.jobfile.report.report_text import as_text
from bridge.jobfile.report.summary import tell
from bridge.jobfile.service_log import service_in
from bridge.jobfile.several.compare_jobs import compare
from bridge.service.log import is_begun
from bridge.service.sums import balance_of
from bridge.units import Units
from bridge.values.service_events import CarFacts, ServiceEvent, ServiceKind
from bridge.values.service_sheet import StepKind, Tick
from tests.service.service_help import SHEET


def entry(kind: ServiceKind, **told: object) -> ServiceEvent:
    return ServiceEvent(kind=kind, at_utc_s=1.8e9, who="Kim", **told)


LOG = (
    entry(ServiceKind.DONE, step=StepKind.CAUTIONS),
    entry(ServiceKind.VARIANT, name="A"),
    entry(ServiceKind.ODOMETER, step=StepKind.BEFORE, km=123456.0),
    entry(
        ServiceKind.CAR, step=StepKind.BEFORE, car=CarFacts(stored=(), voltage_v=12.4)
    ),
    entry(ServiceKind.OUT, name="sump", ml=4500.0, temp_c=20.0),
    entry(ServiceKind.OUT, name="wrong", ml=9999.0, temp_c=20.0),
    entry(ServiceKind.TAKEN_BACK, back=5),
    entry(ServiceKind.IN, ml=5200.0, temp_c=20.0),
    entry(ServiceKind.RAN_OFF, ml=100.0, temp_c=40.0),
    entry(ServiceKind.TICKED, name="drain plug", tick=Tick.RENEWED),
    entry(ServiceKind.OLD_FLUID, name="milky"),
    entry(
        ServiceKind.CAR,
        step=StepKind.AFTER,
        car=CarFacts(stored=("P0711",), voltage_v=12.4),
    ),
    entry(ServiceKind.NOTE, step=StepKind.DRAIN, text="slow <to> run & cold"),
    entry(ServiceKind.DUE, name="2030-11-25", km=183456.0, text="told"),
    entry(ServiceKind.COMPLETE, text=""),
)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return recorded(tmp_path / "a.sumpgate")


def recorded(path: Path) -> Path:
    made = Job(sheet=SHEET, sheet_text="#", tool="t", source="bench", simulated=True)
    recorder = start(path, made, print)
    for told in LOG:
        recorder.took(told)
    assert recorder.close()
    return path


def test_the_log_is_read_back_whole(job: Path) -> None:
    assert service_in(job) == LOG


def test_the_report_says_what_was_done_and_what_is_missing(job: Path) -> None:
    text = as_text(compose(tell(job), Units.METRIC))
    assert "Gearbox found: A" in text
    assert "5.20 L" in text
    assert "10.00 L" not in text
    assert "torque 25.0 N·m" in text
    assert "Milky" in text
    assert "Do not refill" in text
    assert "2030-11-25" in text
    assert "183456 km" in text
    assert "P0711" in text
    assert "code of the fluid's temperature sensor" in text
    assert "drain plug: torque is not ticked off." in text
    assert "drain plug: new washer is not" not in text
    assert "NOT complete" in text  # milky, a sensor code, a torque open: though closed
    assert text.index("NOT complete") < text.index("Gearbox")
    assert "closed as complete" not in text
    assert "left open" in text


def test_what_is_added_later_counts_in_the_same_balance(tmp_path: Path) -> None:
    made = Job(sheet=SHEET, sheet_text="#", tool="t", source="bench", simulated=True)
    recorder = start(tmp_path / "a.job", made, print)
    recorder.took(entry(ServiceKind.OUT, name="sump", ml=4800.0, temp_c=20.0))
    recorder.close()
    later = (
        ServiceEvent(kind=ServiceKind.IN, ml=4800.0),
        ServiceEvent(kind=ServiceKind.ODOMETER, km=61200.0, text="61200 km"),
        ServiceEvent(kind=ServiceKind.NOTE, text="drove it warm"),
    )
    assert add_to(tmp_path / "a.job", later)
    summary = tell(tmp_path / "a.job")
    done = balance_of(SHEET, summary.log)
    assert not isinstance(done, str)
    assert done.put_in.ml == pytest.approx(4800.0, rel=0.02)
    assert [m.content["km"] for m in summary.of("odometer")] == [61200.0]
    assert "drove it warm" in as_text(compose(summary, Units.METRIC))


def test_a_note_and_the_odometer_are_no_service() -> None:
    assert not is_begun(
        (entry(ServiceKind.NOTE, text="so"), entry(ServiceKind.ODOMETER, km=1.0))
    )
    assert is_begun((entry(ServiceKind.NOTE, text="x", step=StepKind.DRAIN),))


def test_nothing_of_the_person_can_break_the_page(job: Path) -> None:
    page = as_html(compose(tell(job), Units.METRIC))
    assert "slow &lt;to&gt; run &amp; cold" in page


def test_us_units_are_the_only_ones_in_the_report(job: Path) -> None:
    text = as_text(compose(tell(job), Units.US))
    assert "5.49 qt" in text  # 5.2 L: 0.946352946 L a quart (NIST SP 811, B.8)
    assert "18.4 lbf·ft" in text  # 25 N·m: 1.3558179 N·m (the same)
    assert "76712 mi" in text  # 123456 km: 1.609344 km a mile (the same)
    assert "68.0 °F" in text
    for unit in (" L ", " L.", " mL", "°C", "N·m", " km", " mm"):
        assert unit not in text, unit


def test_the_service_counts_in_a_comparison(job: Path, tmp_path: Path) -> None:
    other = recorded(tmp_path / "b.sumpgate")
    text = as_text(compare([tell(job), tell(other)], Units.METRIC))
    assert "4.50 L" in text
    assert "123456 km" in text

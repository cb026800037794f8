"""The link at one end of the wire, the bench at the other, in simulated time."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.link.ports.port import GuardedPort
from bridge.sheets import load, shipped_sheets
from bridge.values.errors import ForbiddenRequest
from bridge.values.readings import LinkState
from bridge.values.sheet import Role
from simulators.car.scenes import make_bench
from simulators.serve.pipe import BenchPipe
from tests.link.rig import watch

WITH_FLUID = [n for n in shipped_sheets() if load(n).signal(Role.FLUID_TEMPERATURE)]


@pytest.mark.parametrize("name", WITH_FLUID)
@pytest.mark.parametrize("scene", ["cold-start", "warm-day"])
@pytest.mark.few(2)
def test_every_shipped_sheet_reads_its_own_fluid(name: str, scene: str) -> None:
    sheet = load(name)
    bench = make_bench(scene, sheet)
    snapshots, _ = watch(bench, sheet, 20.0)
    last = snapshots[-1]
    truth = bench.truth()
    signal = sheet.signal(Role.FLUID_TEMPERATURE)
    assert truth is not None
    assert truth.sensor_c is not None
    assert signal is not None
    assert last.link is LinkState.LIVE
    assert last.raw_c == pytest.approx(truth.sensor_c, abs=abs(signal.factor) + 0.1)
    assert last.speed_kmh == 0.0
    assert last.engine_rpm is not None
    assert last.coolant_c is not None
    assert last.voltage_v is not None
    assert not last.faults


@pytest.mark.slow
def test_only_reading_requests_and_plain_settings_reach_the_wire() -> None:
    sheet = load("tarn-step-automatic")
    _, lines = watch(make_bench("cold-start", sheet), sheet, 30.0)
    requests = {s for s in lines if not s.startswith("AT") and s != "!"}
    assert requests
    assert {r[:2] for r in requests} <= {"01", "03", "07", "09", "0A", "21", "22"}


def test_the_first_fluid_reading_comes_within_a_second_and_a_half() -> None:
    sheet = load("scar-eight-speed")
    snapshots, _ = watch(make_bench("warm-day", sheet), sheet, 5.0)
    first = next(s for s in snapshots if s.raw_c is not None)
    assert first.t_s <= 1.5  # simulated seconds: no machine's speed is in it


def test_an_unplugged_adapter_is_lost_at_once_and_comes_back_by_itself() -> None:
    sheet = load("scar-eight-speed")
    bench = make_bench("warm-day", sheet)
    snapshots, _ = watch(bench, sheet, 90.0, at={70.0: lambda: bench.unplug(8.0)})
    lost = next(s for s in snapshots if s.link is LinkState.LOST)
    assert lost.t_s == pytest.approx(70.0, abs=0.2)
    assert {s.verdict for s in snapshots if 65.0 < s.t_s < 70.0} == {"GO"}
    assert "GO" not in {s.verdict for s in snapshots if 70.3 < s.t_s < 78.0}
    assert snapshots[-1].link is LinkState.LIVE
    back = next(s for s in snapshots if s.t_s > 78.0 and s.temp_c is not None)
    assert back.t_s < 82.0


def test_a_silent_adapter_is_known_within_a_second() -> None:
    sheet = load("scar-eight-speed")
    bench = make_bench("warm-day", sheet)
    snapshots, _ = watch(
        bench,
        sheet,
        100.0,
        at={
            70.0: lambda: bench.fault("silent"),
            85.0: lambda: bench.fault("silent", on=False),
        },
    )
    silent = next(s for s in snapshots if s.link is LinkState.SILENT)
    assert silent.t_s <= 71.0
    assert {s.verdict for s in snapshots if 65.0 < s.t_s < 70.0} == {"GO"}
    assert all(s.verdict == "NO-GO" for s in snapshots if 71.0 < s.t_s < 85.0)
    assert all(s.temp_c is None for s in snapshots if 72.5 < s.t_s < 85.0)
    assert snapshots[-1].link is LinkState.LIVE


@pytest.mark.slow
def test_flat_out_asks_more_often_than_paced() -> None:
    sheet = load("scar-eight-speed")
    _, paced = watch(make_bench("warm-day", sheet), sheet, 20.0)
    _, flat = watch(make_bench("warm-day", sheet), sheet, 20.0, interval_s=0.0)
    assert len([s for s in flat if s.startswith("22")]) > 2 * len(
        [s for s in paced if s.startswith("22")]
    )


def test_a_sheet_of_the_wrong_id_width_is_named() -> None:
    sheet = load("scar-eight-speed")
    wide = replace(
        sheet,
        signals=tuple(
            replace(s, request_id=0x18DA18F1, reply_id=0x18DAF118)
            for s in sheet.signals
        ),
    )
    snapshots, _ = watch(make_bench("warm-day", sheet), wide, 10.0)
    faults = dict(snapshots[-1].faults)
    assert "11-bit" in faults[Role.FLUID_TEMPERATURE].detail


async def test_the_guarded_port_refuses_what_is_not_reading() -> None:
    bench = make_bench("warm-day", None)
    port = GuardedPort(BenchPipe(bench))
    for line in ("04", "2E115700", "1003", "3101FF00", "ATPP0CSV23", "221157\r04"):
        with pytest.raises(ForbiddenRequest):
            port.write_line(line)
    port.close()
    bench.close()

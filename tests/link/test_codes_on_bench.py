"""Codes and number through link and bench: read beside the readings, never before."""

from __future__ import annotations

import asyncio
import itertools
import json
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import pytest

from bridge.link.ports.port import Port
from bridge.monitor import Monitor
from bridge.sheets import load
from bridge.snapshot import Snapshot
from bridge.values.conditions import Reason, Verdict
from bridge.values.readings import CheckDigit
from bridge.values.sheet import Role, Sheet, Window
from simulators.adapter.hooks import Hooks
from simulators.car.scenes import make_bench
from simulators.serve.bench import Bench
from simulators.serve.paced_loop import PacedLoop
from simulators.serve.pipe import BenchPipe
from tests.link.rig import Noted
from tui.headless.json_lines import as_dict

SHEET = load("scar-eight-speed")


@dataclass
class Run:
    """What a monitor on a bench showed and wrote."""

    snapshots: list[Snapshot] = field(default_factory=list)
    written: list[list[Any]] = field(default_factory=list)

    @property
    def requests(self) -> list[str]:
        return [s for _, s, _ in self.written if not s.startswith("AT") and s != "!"]

    @property
    def last(self) -> Snapshot:
        return self.snapshots[-1]

    def when(self, line: str) -> list[float]:
        return [t_s for t_s, said, _ in self.written if said == line]


def watch(
    bench: Bench,
    *,
    for_s: float = 12.0,
    sheet: Sheet = SHEET,
    at: dict[float, Callable[[], None]] | None = None,
    during: Callable[[Monitor, Snapshot], None] | None = None,
    interval_s: float = 0.2,
) -> Run:
    run = Run()

    async def opener() -> Port:
        return Noted(BenchPipe(bench), run.written)

    async def main() -> None:
        for moment, action in (at or {}).items():
            bench.at(moment, action)

        def deliver(snapshot: Snapshot) -> None:
            run.snapshots.append(snapshot)
            if during is not None:
                during(monitor, snapshot)

        monitor = Monitor(
            sheet=sheet, open_port=opener, deliver=deliver, interval_s=interval_s
        )
        await monitor.run(for_s=for_s)
        bench.close()

    with asyncio.Runner(loop_factory=PacedLoop) as runner:
        runner.run(main())
    return run


def car_with(**facts: object) -> Bench:
    bench = make_bench("warm-day", SHEET)
    for name, value in facts.items():
        setattr(bench.car, name, value)
    return bench


def test_codes_lamp_and_number_of_a_sound_car() -> None:
    run = watch(car_with())
    told = as_dict(run.last)
    assert as_dict(run.snapshots[0])["codes"] is None
    assert as_dict(run.snapshots[0])["vin"] is None
    assert told["codes"] == {
        "stored": [], "pending": [], "permanent": [], "mil": False,
    }  # fmt: skip
    assert told["vin"] == {"text": "1" * 17, "check_digit": "right"}
    assert json.dumps(told)


def test_codes_of_every_kind_are_told_once_each() -> None:
    run = watch(
        car_with(stored=("P0700", "U0101"), pending=("C0123",), permanent=("P0700",))
    )
    assert as_dict(run.last)["codes"] == {
        "stored": ["P0700", "U0101"], "pending": ["C0123"], "permanent": ["P0700"],
        "mil": True,
    }  # fmt: skip
    assert Reason.SENSOR_CODE not in run.last.reasons


def test_an_answer_of_many_frames_is_read() -> None:
    many = tuple(f"P{n:04X}" for n in range(0x0100, 0x0128))
    run = watch(car_with(stored=many))
    assert as_dict(run.last)["codes"]["stored"] == list(many)


@pytest.mark.parametrize(
    "kind",
    [
        "stored",
        "pending",
        "permanent",
    ],
)
@pytest.mark.slow
def test_a_fluid_sensor_code_blocks_a_level_that_was_go(kind: str) -> None:
    sound = watch(car_with(), for_s=75.0)
    assert Verdict.GO in {s.verdict for s in sound.snapshots}
    run = watch(car_with(**{kind: ("P0712",)}), for_s=75.0)
    read = [s for s in run.snapshots if s.codes is not None]
    assert read
    assert all(Reason.SENSOR_CODE in s.reasons for s in read)
    assert Verdict.GO not in {s.verdict for s in run.snapshots}


def test_nothing_is_read_once_before_the_readings_flow() -> None:
    with_codes = watch(car_with())
    fluid_s = next(s.t_s for s in with_codes.snapshots if s.raw_c is not None)
    first = next(
        t for t, s, _ in with_codes.written if s[:2] in ("03", "07", "09", "0A")
    )
    assert first > fluid_s
    asked = with_codes.when("222C861")
    assert sum(t < first for t in asked) >= 3


def test_one_thing_a_round_and_each_once() -> None:
    run = watch(car_with(), for_s=11.0)
    once = [s for s in run.requests if s[:2] in ("03", "07", "09", "0A")]
    assert sorted(once) == ["03", "03", "07", "07", "0902", "0A", "0A"]
    rounds = [t for t, s, _ in run.written if s == "222C861"]
    for start, end in itertools.pairwise(rounds):
        inside = [s for t, s, _ in run.written if start < t <= end and s in once]
        assert len(inside) <= 1


def test_the_fluid_stays_fresh_while_codes_are_read() -> None:
    run = watch(car_with())
    begun = next(i for i, s in enumerate(run.snapshots) if s.raw_c is not None)
    ages = [s.age_s for s in run.snapshots[begun:]]
    assert max(a for a in ages if a is not None) < 1.0


def test_a_unit_that_will_not_tell_leaves_the_list_unknown() -> None:
    bench = car_with()
    for unit in bench.adapter.units:
        unit.codes = {k: v for k, v in unit.codes.items() if k != 0x0A}
    told = as_dict(watch(bench).last)["codes"]
    assert told == {"stored": [], "pending": [], "permanent": None, "mil": False}


def test_codes_come_also_when_the_gearbox_unit_alone_has_them() -> None:
    bench = car_with()
    gearbox = next(u for u in bench.adapter.units if u.name == "gearbox")
    gearbox.codes = {**gearbox.codes, 0x03: lambda _car: ("P0711",)}
    run = watch(bench)
    assert as_dict(run.last)["codes"]["stored"] == ["P0711"]
    assert Reason.SENSOR_CODE in run.last.reasons


def test_codes_that_come_later_are_found_at_the_planned_end() -> None:
    bench = car_with()
    run = watch(
        bench,
        for_s=30.0,
        at={20.0: lambda: setattr(bench.car, "stored", ("P0713",))},
    )
    assert run.snapshots[60].codes is not None
    assert run.snapshots[60].codes.stored == ()
    assert run.last.codes is not None
    assert run.last.codes.stored == ("P0713",)
    assert run.last.t_s <= 30.25  # the planned end is kept
    assert len(run.when("0902")) == 1  # the number does not change


def test_codes_can_be_read_again_at_any_time() -> None:
    bench = car_with()
    asked = []

    def during(monitor: Monitor, snapshot: Snapshot) -> None:
        if snapshot.t_s > 6.0 and not asked:
            asked.append(snapshot.t_s)
            bench.car.pending = ("P0711",)
            monitor.read_codes()

    run = watch(bench, for_s=11.0, during=during)
    assert as_dict(run.last)["codes"]["pending"] == ["P0711"]


def test_a_unit_that_falls_silent_has_not_lost_its_codes() -> None:
    bench = car_with()
    gearbox = next(u for u in bench.adapter.units if u.name == "gearbox")
    gearbox.codes = {**gearbox.codes, 0x03: lambda _car: ("P0711",)}

    def mute() -> None:
        gearbox.codes = {}

    run = watch(bench, for_s=30.0, at={15.0: mute})
    assert as_dict(run.last)["codes"]["stored"] == ["P0711"]
    assert Reason.SENSOR_CODE in run.last.reasons


def test_after_unplugging_the_codes_are_read_anew() -> None:
    bench = car_with(stored=("P0711",))

    def out() -> None:
        bench.car.stored = ()
        bench.unplug(3.0)

    run = watch(bench, for_s=11.5, at={5.0: out})
    assert Reason.SENSOR_CODE in next(s for s in run.snapshots if s.t_s > 4.5).reasons
    assert as_dict(run.last)["codes"]["stored"] == []


@pytest.mark.parametrize("line", ["03", "0902"])
@pytest.mark.few(1)
def test_a_question_that_resets_the_adapter_is_given_up(line: str) -> None:
    bench = car_with()

    class Touchy(Hooks):
        """Restarts whenever it is asked for this."""

        def typed(self, text: str) -> str | None:
            return "LV RESET" if text == line else None

    bench.adapter.hooks.append(Touchy())
    run = watch(bench, for_s=40.0)
    assert 1 <= len(run.when(line)) <= 6
    assert run.last.raw_c is not None
    assert run.last.link == "live"
    late = [s for s in run.snapshots if s.t_s > 20.0]
    assert all(s.link == "live" for s in late)


def test_a_wrong_check_digit_is_reported_and_the_number_kept() -> None:
    run = watch(car_with(vin="1" * 8 + "7" + "1" * 8))
    assert run.last.vin is not None
    assert run.last.vin.check_digit is CheckDigit.WRONG
    assert run.last.vin.text == "1" * 8 + "7" + "1" * 8


def test_no_number_no_harm() -> None:
    run = watch(car_with(vin=""))
    assert run.last.vin is None
    assert run.last.codes is not None


def test_a_car_of_29_bit_ids() -> None:
    sheet = load("scar-eight-speed")
    wide = replace(
        sheet,
        protocol="7",
        signals=tuple(
            replace(s, request_id=0x18DA18F1, reply_id=0x18DAF118)
            if s.request_id is not None
            else s
            for s in sheet.signals
        ),
    )
    bench = make_bench("warm-day", wide)
    bench.car.stored = ("P0711",)
    run = watch(bench, sheet=wide)
    assert as_dict(run.last)["codes"]["stored"] == ["P0711"]
    assert run.last.vin is not None
    assert run.last.vin.text == "1" * 17
    assert sheet.signal(Role.FLUID_TEMPERATURE) is not None


@pytest.mark.parametrize("protocol", ["1", "2", "3", "4", "5"])
@pytest.mark.few(2)
def test_a_car_from_before_can(protocol: str) -> None:
    sheet = Sheet(name="t", source="t", window=Window(low_c=35.0, high_c=45.0))
    bench = make_bench("warm-day", sheet)
    bench.car.protocol = protocol
    bench.car.stored = ("P0700", "P0711", "U0101", "P0741", "P0218")
    bench.car.pending = ("P0713",)
    run = watch(bench, sheet=sheet, for_s=20.0)
    assert as_dict(run.last)["codes"] == {
        "stored": ["P0700", "P0711", "U0101", "P0741", "P0218"],
        "pending": ["P0713"], "permanent": [], "mil": True,
    }  # fmt: skip
    assert run.last.vin is not None
    assert run.last.vin.text == "1" * 17

"""A job goes on from its file alone: what was told is there, what was not is not."""

from __future__ import annotations

import asyncio
import json
import shutil
import sqlite3
import time
from argparse import Namespace
from collections.abc import Awaitable, Callable
from dataclasses import replace
from pathlib import Path

import pytest

from bridge.jobfile.file.check import FileState, check
from bridge.jobfile.open_job import open_job, open_jobs
from bridge.jobfile.recorder import Job, Recorder, start
from bridge.jobfile.rerun import rerun
from bridge.jobfile.taking_up import taken_up
from bridge.link.clock import sleep
from bridge.link.ports.port import Port
from bridge.monitor import Monitor
from bridge.session.session import apply
from bridge.session.session_state import begin
from bridge.session.taken_up import NEW, TakenUp
from bridge.sheets import find_sheet, load, parse_sheet
from bridge.snapshot import Snapshot
from bridge.values.carried import Carried
from bridge.values.errors import UsageError
from bridge.values.events import Mark, Marked
from bridge.values.readings import CheckDigit, VehicleNumber
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.service_sheet import StepKind
from bridge.values.sheet import Confirmation, Sheet
from simulators.car.scenes import make_bench
from simulators.serve.paced_loop import PacedLoop
from simulators.serve.pipe import BenchPipe
from tests.jobfile.job_help import complain, job
from tui.cli.flags.record_flags import recording

NAME = "scar-eight-speed"
SHEET = load(NAME)
TEXT = find_sheet(NAME).read_text("utf-8")
JOB = replace(job(), sheet=SHEET, sheet_text=TEXT)
REAL = replace(JOB, simulated=False)
NOW_S = 1.8e9

Script = Callable[[Monitor, list[Snapshot]], Awaitable[None]]


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    return tmp_path / "home" / "sumpgate"


def watch(
    recorder: Recorder,
    script: Script,
    *,
    so_far: TakenUp = NEW,
    car: bool = True,
    sheet: Sheet = SHEET,
    scene: str = "warm-day",
) -> Snapshot:
    """Run a monitor until its script ends, and leave it as a kill does."""

    async def main() -> Snapshot:
        bench = make_bench(scene, sheet, seed=3)
        seen: list[Snapshot] = []

        async def opener() -> Port:
            return BenchPipe(bench)

        monitor = Monitor(
            sheet=sheet,
            open_port=opener if car else None,
            deliver=seen.append,
            interval_s=1.0,
            witness=recorder,
            taken_up=so_far,
        )
        running = asyncio.create_task(monitor.run())
        await sleep(0.1)
        await script(monitor, seen)
        running.cancel()
        return seen[-1]

    with asyncio.Runner(loop_factory=lambda: PacedLoop(1e6)) as runner:
        return runner.run(main())


def cut_off(recorder: Recorder) -> Path:
    """Return the file as a kill would leave it now: all that was told, and no end."""
    recorder.keep(within_s=10.0)
    cut = recorder.path.with_name(f"cut-{recorder.path.name}")
    for end in ("", "-wal"):
        shutil.copy(f"{recorder.path}{end}", f"{cut}{end}")
    recorder.close()
    recorder.path.unlink()
    return cut


async def open_plug(monitor: Monitor, seen: list[Snapshot]) -> None:
    """Confirm everything, open on GO, mark three drips."""
    monitor.tell(ServiceEvent(kind=ServiceKind.OUT, name="pan", ml=4000.0))
    for what in Confirmation:
        monitor.tell(Marked(mark=Mark.CONFIRMED, confirms=what))
    while seen[-1].verdict.value != "GO":
        await sleep(0.5)
    monitor.tell(Marked(mark=Mark.OPENED))
    monitor.tell(Marked(mark=Mark.ADDED, ml=250.0, temp_c=21.0))
    for _ in range(3):
        await sleep(4.0)
        monitor.tell(Marked(mark=Mark.DRIP))


async def nothing(_: Monitor, __: list[Snapshot]) -> None:
    await sleep(2.0)


def test_an_open_plug_is_taken_up_with_every_mark(tmp_path: Path) -> None:
    recorder = start(tmp_path / "a.job", JOB, complain)
    last = watch(recorder, open_plug)
    path = cut_off(recorder)
    assert check(path).state is FileState.OPEN
    so_far = taken_up(path, SHEET, TEXT)
    assert last.step is not None
    assert so_far.step is not None
    assert so_far.step.plug_open
    assert len(so_far.step.drips_s) == 3
    for fact in ("phase", "drips_s", "confirmed", "added_ml", "opened_at_s", "opened"):
        assert getattr(so_far.step, fact) == getattr(last.step, fact), fact
    assert so_far.step.on_go
    # The engine idles and nothing was filled in: that is noted beside what was typed.
    assert [e.kind for e in so_far.told] == [ServiceKind.OUT, ServiceKind.RAN_DRY]
    assert so_far.told[0].name == "pan"
    assert Confirmation.CAR_LEVEL in so_far.step.confirmed
    assert set(so_far.carried.given_utc_s) == set(so_far.step.confirmed)
    assert so_far.carried.vin


async def go(monitor: Monitor, seen: list[Snapshot]) -> None:
    for what in Confirmation:
        monitor.tell(Marked(mark=Mark.CONFIRMED, confirms=what))
    while seen[-1].verdict.value != "GO":
        await sleep(0.5)


async def read_stick(monitor: Monitor, seen: list[Snapshot]) -> None:
    await go(monitor, seen)
    monitor.tell(Marked(mark=Mark.STICK, mm=28.0))
    await sleep(6.0)


async def judge_by_stick(monitor: Monitor, seen: list[Snapshot]) -> None:
    await read_stick(monitor, seen)
    monitor.tell(Marked(mark=Mark.STICK, mm=28.5))
    await sleep(3.0)


async def drip_unopened(monitor: Monitor, seen: list[Snapshot]) -> None:
    await go(monitor, seen)
    monitor.tell(Marked(mark=Mark.DRIP))
    await sleep(3.0)


@pytest.mark.parametrize("script", [drip_unopened, read_stick, judge_by_stick])
@pytest.mark.few(1)
def test_every_mark_that_the_readings_bear_on_is_taken_up(
    tmp_path: Path, script: Script
) -> None:
    """A stick is read, and a drip marked, with no mark that anything was opened."""
    name, scene = (
        (NAME, "warm-day") if script is drip_unopened else ("fell-belt-variator", "hot")
    )
    sheet, text = load(name), find_sheet(name).read_text("utf-8")
    told = replace(JOB, sheet=sheet, sheet_text=text)
    recorder = start(tmp_path / "a.job", told, complain)
    last = watch(recorder, script, sheet=sheet, scene=scene).step
    step = taken_up(cut_off(recorder), sheet, text).step
    assert last is not None
    assert step is not None
    assert last.reads or last.drips_s
    for fact in ("phase", "reads", "drips_s", "opened_at_s", "opened", "judgement"):
        assert getattr(step, fact) == getattr(last, fact), fact


@pytest.mark.slow
def test_it_goes_on_in_the_same_file_and_replays_the_same(tmp_path: Path) -> None:
    path = cut_off_after(tmp_path / "a.job", open_plug)
    recorder = start(path, JOB, complain)
    last = watch(recorder, nothing, so_far=taken_up(path, SHEET, TEXT))
    assert recorder.close()
    assert last.step is not None
    assert last.step.plug_open
    assert len(last.step.drips_s) == 3
    assert last.log is not None
    added = [(e.ml, e.temp_c) for e in last.log if e.kind is ServiceKind.ADDED]
    assert added == [(250.0, 21.0)]
    again = rerun(path, parse_sheet)
    assert again.watches == 2
    assert again.differences == []


def cut_off_after(
    path: Path, script: Script, *, car: bool = True, of: Job = JOB
) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    recorder = start(path, of, complain)
    watch(recorder, script, car=car)
    return cut_off(recorder)


async def serve(monitor: Monitor, _: list[Snapshot]) -> None:
    monitor.tell(ServiceEvent(kind=ServiceKind.DONE, step=StepKind.PARTS))
    monitor.tell(ServiceEvent(kind=ServiceKind.OUT, name="pan", ml=9000.0))
    monitor.tell(ServiceEvent(kind=ServiceKind.TAKEN_BACK, back=1))
    monitor.tell(Marked(mark=Mark.ADDED, ml=500.0))
    monitor.tell(Marked(mark=Mark.CONFIRMED, confirms=Confirmation.CAUTIONS))
    monitor.tell(Marked(mark=Mark.CONFIRMED, confirms=Confirmation.CAR_LEVEL))
    monitor.tell(Marked(mark=Mark.WITHDRAWN, confirms=Confirmation.CAR_LEVEL))


def test_a_service_without_a_car_is_taken_up_and_what_was_withdrawn_is_not(
    tmp_path: Path,
) -> None:
    path = cut_off_after(tmp_path / "a.job", serve, car=False)
    so_far = taken_up(path, SHEET, TEXT)
    assert [e.kind.value for e in so_far.told] == ["done", "out", "taken-back"]
    assert so_far.step is not None
    assert so_far.step.confirmed == (Confirmation.CAUTIONS,)
    assert so_far.step.added_ml == 500.0
    assert set(so_far.carried.given_utc_s) == {Confirmation.CAUTIONS}


def test_of_another_sheet_or_a_changed_file_no_word_is_taken_up(tmp_path: Path) -> None:
    path = cut_off_after(tmp_path / "a.job", serve, car=False)
    other = taken_up(path, SHEET, TEXT + "\n# changed\n")
    assert other.step is None
    assert other.carried == Carried()
    db = sqlite3.connect(path)
    db.execute("UPDATE event SET body = replace(body, 'car-level', 'cautions')")
    db.commit()
    db.close()
    assert check(path).state is FileState.CHANGED
    assert taken_up(path, SHEET, TEXT) == NEW


def test_a_confirmation_belongs_to_one_car() -> None:
    number = VehicleNumber(t_s=1.0, text="1" * 17, check_digit=CheckDigit.RIGHT)
    given = {Confirmation.CAR_LEVEL: NOW_S}
    session = begin(SHEET, interval_s=0.2)
    told = Marked(mark=Mark.CONFIRMED, confirms=Confirmation.CAR_LEVEL)
    session = replace(
        apply(session, told), carried=Carried(given_utc_s=given, vin="1" * 17)
    )
    same = apply(session, number)
    assert same.step.confirmed == (Confirmation.CAR_LEVEL,)
    other = apply(session, replace(number, text="2" * 17))
    assert other.step.confirmed == ()
    assert other.carried.other_car
    undone = apply(other, Marked(mark=Mark.UNDO))
    assert undone.step.confirmed == ()  # not by the back door either
    anew = apply(apply(session, told), replace(number, text="2" * 17))
    assert anew.step.confirmed == (Confirmation.CAR_LEVEL,)  # given at this very car


def flags(**told: object) -> Namespace:
    usual: dict[str, object] = {
        "record": None,
        "no_record": False,
        "afresh": False,
        "json": True,
        "odometer": None,
    }
    return Namespace(**{**usual, **told})


def begun_in(folder: Path, script: Script, *, afresh: bool = False) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"2026-{len(list(folder.iterdir()))}.job"
    recorder = start(path, replace(REAL, afresh=afresh), complain)
    watch(recorder, script, car=False)
    assert recorder.close()
    return path


async def finish(monitor: Monitor, _: list[Snapshot]) -> None:
    monitor.tell(ServiceEvent(kind=ServiceKind.DONE, step=StepKind.PARTS))
    monitor.tell(ServiceEvent(kind=ServiceKind.COMPLETE))


def test_the_service_that_was_not_closed_is_the_open_job(home: Path) -> None:
    first = begun_in(home / "jobs", serve)
    begun_in(home / "jobs", finish)
    (listed,) = open_jobs(None, now_utc_s=time.time())
    assert listed.path == first
    assert listed.sheet == SHEET.name
    assert listed.service
    with recording(flags(), SHEET, NAME, "x", live=True) as record:
        assert record.recorder is not None
        assert record.recorder.path == first
        assert record.job.step is not None
        assert record.job.says
        with recording(flags(), SHEET, NAME, "y", live=True) as second:
            assert second.recorder is not None
            assert second.recorder.path != first  # one is being recorded already


@pytest.mark.parametrize("told", [{"afresh": True}, {"record": "b.job"}])
def test_a_new_job_begins_with_nothing(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, told: dict[str, object]
) -> None:
    monkeypatch.chdir(tmp_path)
    old = begun_in(home / "jobs", serve)
    with recording(flags(**told), SHEET, NAME, "x", live=True) as record:
        assert record.recorder is not None
        assert record.recorder.path != old
        assert record.job == NEW
    if "afresh" in told:  # what is older is over, also at the next start
        assert open_job(TEXT, None, now_utc_s=NOW_S) is None
        assert open_jobs(None, now_utc_s=NOW_S) == ()


@pytest.mark.slow
def test_every_way_of_starting_takes_a_named_job_up(home: Path, tmp_path: Path) -> None:
    path = cut_off_after(tmp_path / "a.job", open_plug)
    args = flags(record=str(path))
    for live in (True, False):  # False: demo
        with recording(args, SHEET, NAME, "x", live=live) as record:
            assert record.job.step is not None
            assert record.job.step.plug_open
    with (
        pytest.raises(UsageError, match="--start-over"),
        recording(flags(record=str(path), afresh=True), SHEET, NAME, "x", live=True),
    ):
        pass


def test_a_job_begun_afresh_says_which_older_one_was_left_with_its_plug_out(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    left = cut_off_after(home / "jobs" / "2026-0.job", open_plug, of=REAL)
    assert "the level plug is out, mark it closed" in taken_up(left, SHEET, TEXT).says
    with recording(flags(afresh=True), SHEET, NAME, "x", live=True):
        pass
    assert f"In the older job {left.stem} the level plug" in capsys.readouterr().err
    with recording(flags(), SHEET, NAME, "x", live=True):
        pass
    assert "older job" not in capsys.readouterr().err  # begun afresh: that is over


def test_what_older_versions_remembered_is_read_once_and_removed(
    home: Path, tmp_path: Path
) -> None:
    elsewhere = begun_in(tmp_path / "elsewhere", serve)
    home.mkdir(parents=True, exist_ok=True)
    noted = {f"{SHEET.name} ({SHEET.origin})": {"job": str(elsewhere), "wall_s": 1.0}}
    (home / "services.json").write_text(json.dumps(noted))
    (home / "level-step.json").write_text("{")
    with recording(flags(), SHEET, NAME, "x", live=True) as record:
        assert record.recorder is not None
        assert record.recorder.path == elsewhere
    assert not list(home.glob("*.json"))
    with recording(flags(), SHEET, NAME, "x", live=True) as record:
        assert record.job == NEW

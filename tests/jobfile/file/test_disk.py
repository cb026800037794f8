"""Two different troubles: a disk that is full, and one that may not be written.

Each is the real thing: SQLite's own SQLITE_FULL and SQLITE_READONLY, the system's
limit on a file's size, a folder without the right to write.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from bridge.jobfile.file import writer
from bridge.jobfile.file.chain import RowDraft
from bridge.jobfile.file.check import FileState, check
from bridge.jobfile.file.store import Store
from bridge.jobfile.recorder import NOT_YET, NOW_SAVED, Recorder, start
from bridge.values.events import Dropout, Mark, Marked
from tests.jobfile.job_help import complain, job, new_session
from tests.jobfile.test_notebook import on_screen, said
from tests.tui.helpers import settle
from tests.tui.stage import WARM_UP
from tui.cli.flags.record_flags import Notes

ROOT = Path(__file__).resolve().parents[3]


class Ailing(Store):
    """A store whose disk can be made full, or not to be written, and well again."""

    def fill(self) -> None:
        """Let the file grow no more: SQLite then answers SQLITE_FULL."""
        (pages,) = self._db.execute("PRAGMA page_count").fetchone()
        self._db.execute(f"PRAGMA max_page_count={pages}")

    def make_room(self) -> None:
        self._db.execute("PRAGMA max_page_count=1000000")

    def forbid(self) -> None:
        """Take the right to write away: SQLite then answers SQLITE_READONLY."""
        self._db.execute("PRAGMA query_only=ON")

    def allow(self) -> None:
        self._db.execute("PRAGMA query_only=OFF")


AILMENTS = [
    pytest.param("fill", "make_room", "database or disk is full", id="full"),
    pytest.param("forbid", "allow", "readonly database", id="read-only"),
]


@pytest.fixture
def ailing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Ailing:
    monkeypatch.setattr(writer, "RETRY_S", 0.02)
    path = tmp_path / "a.job"
    start(path, job(), complain).close()
    return Ailing(path)


def wait_for(what) -> None:
    for _ in range(3000):
        if what():
            return
        time.sleep(0.01)
    raise AssertionError("it never happened")


@pytest.mark.parametrize(("fall_ill", "recover", "why"), AILMENTS)
def test_it_is_told_at_once_and_nothing_is_lost(
    ailing: Ailing, fall_ill: str, recover: str, why: str
) -> None:
    notes: list[str] = []
    recorder = Recorder(ailing, notes.append, batch_s=0.01)
    recorder.began(now_s=0.0, interval_s=0.2, session=new_session())
    recorder.note_event("note", {"text": "well"}).result(30)
    getattr(ailing, fall_ill)()
    late = recorder.note_event("note", {"text": "x" * 20_000})
    wait_for(lambda: notes)
    assert why in notes[0]
    assert str(ailing.path) in notes[0]
    assert "the view goes on" in notes[0]
    for i in range(200):
        recorder.took(Dropout(t_s=float(i)))
    assert not late.done()
    assert len(notes) == 1
    getattr(ailing, recover)()
    assert late.result(30)
    assert "written again" in notes[1]
    assert recorder.close()
    found = check(ailing.path)
    assert found.state is FileState.INTACT
    db = sqlite3.connect(ailing.path)
    (count,) = db.execute("SELECT count(*) FROM event WHERE kind='dropout'").fetchone()
    db.close()
    assert count == 200


class Slow(Store):
    """A store whose disk takes its time."""

    gate = threading.Event()

    def append(self, drafts: list[RowDraft]) -> list[int]:
        assert self.gate.wait(30)
        return super().append(drafts)


def test_what_a_slow_disk_has_not_taken_yet_is_said_once_and_said_when_it_is(
    tmp_path: Path,
) -> None:
    path = tmp_path / "a.job"
    start(path, job(), complain).close()
    notes: list[str] = []
    Slow.gate.set()
    recorder = Recorder(Slow(path), notes.append, batch_s=0.01)
    recorder.began(now_s=0.0, interval_s=0.2, session=new_session())
    recorder.took(Marked(mark=Mark.OPENED, t_s=1.0))
    recorder.keep(within_s=30.0)
    assert notes == []
    Slow.gate.clear()
    for t_s in (2.0, 3.0):
        recorder.took(Marked(mark=Mark.DRIP, t_s=t_s))
        recorder.keep(within_s=0.01)
    assert [NOT_YET in note for note in notes] == [True]
    Slow.gate.set()
    wait_for(lambda: len(notes) > 1)
    assert NOW_SAVED in notes[1]
    assert recorder.close()
    assert len(notes) == 2


@pytest.mark.parametrize(("fall_ill", "recover", "why"), AILMENTS)
@pytest.mark.few(1)
async def test_it_is_said_on_the_screen_and_the_view_goes_on(
    ailing: Ailing, tmp_path: Path, fall_ill: str, recover: str, why: str
) -> None:
    notes = Notes(at_once=False)
    recorder = Recorder(ailing, notes.say, batch_s=0.01)
    recorder.began(now_s=0.0, interval_s=0.2, session=new_session())
    recorder.note_event("note", {"text": "well"}).result(30)
    async with on_screen(tmp_path, recorder.note_event) as stage:
        notes.to_screen(lambda sentence: stage.app.say_over(sentence, "warning"))
        await stage.press("enter")
        getattr(ailing, fall_ill)()
        recorder.note_event("note", {"text": "x" * 20_000})
        await said(stage, why)
        later = WARM_UP.snapshot(WARM_UP.t_at(49.0))
        stage.feed.deliver(later)
        await settle(stage.pilot)
        assert stage.app._snapshot is later
        getattr(ailing, recover)()
        await said(stage, "is written again")
    assert recorder.close()


async def test_what_was_said_before_the_screen_is_shown_on_it(tmp_path: Path) -> None:
    notes = Notes(at_once=False)
    notes.say("the job file x cannot be written (Read-only file system)")
    async with on_screen(tmp_path, None) as stage:
        notes.to_screen(lambda sentence: stage.app.say_over(sentence, "warning"))
        await said(stage, "Read-only file system")


RUN = """
import sys
limit, weak = int(sys.argv.pop(1)), sys.argv.pop(1) == "weak"
if weak and sys.platform == "linux":
    # The root user may write anywhere by its capabilities (capabilities(7)): drop
    # them all with capset(2), version 3 of its header.
    import ctypes
    header = (ctypes.c_uint32 * 2)(0x20080522, 0)
    assert ctypes.CDLL(None).capset(header, (ctypes.c_uint32 * 6)()) == 0
if limit:
    import resource
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
from tui.cli.main import main
sys.exit(main(sys.argv[1:]))
"""


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that anybody may look into; pytest's own are closed to others."""
    made = Path(tempfile.mkdtemp(prefix="sumpgate-test-"))
    made.chmod(0o755)
    yield made
    made.chmod(0o755)
    shutil.rmtree(made)


def demo(home: Path, *flags: str, limit: int = 0, weak: bool = False):
    """Run a demo as another process; ``weak``: with no rights but the files'."""
    names = ("XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME", "HOME")
    return subprocess.run(
        [sys.executable, "-c", RUN, str(limit), "weak" if weak else "strong", "demo"]
        + ["--json", "--speed", "1000", "--for", "40", *flags],
        capture_output=True,
        text=True,
        timeout=120,
        cwd=ROOT,
        env={
            **os.environ,
            **{name: str(home) for name in names},
            "PYTHONDONTWRITEBYTECODE": "1",
        },
    )


def times(done) -> list[float]:
    assert done.returncode == 0, done.stderr
    return [json.loads(line)["t_s"] for line in done.stdout.splitlines()]


posix = pytest.mark.skipif(sys.platform == "win32", reason="rights as POSIX has them")


@posix
@pytest.mark.slow
def test_a_file_that_may_grow_no_more_is_told_and_all_lines_come(
    open_folder: Path,
) -> None:
    done = demo(open_folder, "--record", str(open_folder / "a.job"), limit=90_000)
    seen = times(done)
    assert seen[-1] > 39.0
    told = done.stderr.splitlines()
    assert "cannot be written (" in told[0]
    assert "the view goes on" in told[0]
    assert all(line.startswith("sumpgate: note: ") for line in told)
    assert (
        check(open_folder / "a.job").state is FileState.OPEN
    )  # whole as far as it goes


@posix
@pytest.mark.parametrize("kind", ["full", "read-only"])
@pytest.mark.few(1)
def test_a_job_that_cannot_even_begin_is_told_and_the_view_goes_on(
    open_folder: Path, kind: str
) -> None:
    jobs = open_folder / "sumpgate" / "jobs"
    jobs.mkdir(parents=True)
    if kind == "read-only":
        jobs.chmod(0o555)
        done = demo(open_folder, "--record", weak=True)
    else:
        done = demo(open_folder, "--record", limit=1000)
    assert times(done)[-1] > 39.0
    (line,) = done.stderr.splitlines()
    assert line.startswith("sumpgate: note: the job file ")
    assert "cannot be written (" in line
    assert "nothing is recorded, the view goes on" in line
    jobs.chmod(0o755)
    assert list(jobs.iterdir()) == []


@posix
def test_a_file_named_in_a_read_only_folder_is_refused(open_folder: Path) -> None:
    open_folder.chmod(0o555)
    path = open_folder / "a.job"
    done = demo(open_folder, "--record", str(path), weak=True)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
    assert "cannot be written" in done.stderr
    assert "--no-record" not in done.stderr  # demo has no such flag
    with contextlib.suppress(FileNotFoundError):
        assert not path.exists()

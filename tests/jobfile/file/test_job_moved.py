"""A job file deleted, moved, replaced or written into while it is being recorded."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from bridge.jobfile.file import writer
from bridge.jobfile.file.chain import Row, RowDraft, to_body
from bridge.jobfile.file.check import FileState, check
from bridge.jobfile.file.format import RowKind
from bridge.jobfile.file.store import Store
from bridge.jobfile.recorder import Recorder, add_to, start
from tests.jobfile.file.test_disk import wait_for
from tests.jobfile.job_help import complain, job, record


def _delete(path: Path) -> None:
    path.unlink()


def _delete_all(path: Path) -> None:
    for beside in path.parent.glob("a.job*"):
        beside.unlink()


def _move(path: Path) -> None:
    path.rename(path.with_name("elsewhere.job"))


def _move_all(path: Path) -> None:
    for beside in list(path.parent.glob("a.job*")):
        beside.rename(path.parent / beside.name.replace("a.job", "b.job"))


def _replace(path: Path) -> None:
    other = path.with_name("other")
    other.write_bytes(b"something else")
    other.replace(path)


def _older_copy(path: Path) -> None:
    shutil.copyfile(path.with_name("older"), path.with_name("copy"))
    path.with_name("copy").replace(path)


def _no_folder(path: Path) -> None:
    shutil.rmtree(path.parent)


def _no_wal(path: Path) -> None:
    path.with_name("a.job-wal").unlink()


WAYS = [_delete, _delete_all, _move, _move_all, _replace, _older_copy, _no_folder]
WAYS += [_no_wal]


@pytest.fixture
def going(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> tuple[Recorder, Path, list[str]]:
    monkeypatch.setattr(writer, "LOOK_S", 0.02)
    monkeypatch.setattr(writer, "RETRY_S", 0.02)
    notes: list[str] = []
    path = tmp_path / "jobs" / "a.job"
    path.parent.mkdir()
    recorder = start(path, job(), notes.append, batch_s=0.01)
    for i in range(50):
        recorder.note_event("note", {"text": f"before {i}"}).result(30)
        if i == 20:
            shutil.copyfile(path, path.with_name("older"))
    return recorder, path, notes


def texts(path: Path) -> list[str]:
    found: list[Row] = []
    check(path, found.append)
    return [r.body for r in found if r.kind == "note"]


@pytest.mark.parametrize("way", WAYS, ids=lambda w: w.__name__)
def test_it_is_said_at_once_and_written_anew_whole(
    going: tuple[Recorder, Path, list[str]], way: Callable[[Path], None]
) -> None:
    recorder, path, notes = going
    way(path)
    wait_for(lambda: notes)  # nothing more happens in the job meanwhile
    assert "while it was being recorded" in notes[0]
    assert "all of the job was written anew" in notes[0]
    now = recorder.path
    assert str(path if now == path else now) in notes[0]
    recorder.note_event("note", {"text": "after"}).result(30)
    assert recorder.close()
    assert len(notes) == 1
    found: list[Row] = []
    assert check(now, found.append).state is FileState.INTACT
    assert len(texts(now)) == 51
    assert [r.kind for r in found].count(RowKind.MOVED) == 1
    if path != now and path.exists():  # what was put there is left as it is
        assert path.read_bytes() == path.with_name("older").read_bytes() or (
            path.read_bytes() == b"something else" or way is _no_wal
        )
    assert not list(now.parent.glob(".*"))


def test_a_file_written_into_is_not_gone_on_with(
    going: tuple[Recorder, Path, list[str]],
) -> None:
    recorder, path, notes = going
    with path.open("r+b") as file:
        file.write(bytes(5000))
    wait_for(lambda: notes)
    assert "written into by another program" in notes[0]
    recorder.note_event("note", {"text": "after"}).result(30)
    recorder.close()
    now = recorder.path
    assert now != path
    found = check(now)
    assert found.state in (FileState.INTACT, FileState.GAPS)
    if found.state is FileState.INTACT:
        assert len(texts(now)) == 51


def test_what_cannot_be_had_any_more_is_owned_up_to(tmp_path: Path) -> None:
    path = tmp_path / "a.job"
    start(path, job(), complain).close()
    store = Store(path)
    store.append(
        [RowDraft("note", None, 1.0, body=to_body({"n": n})) for n in range(9)]
    )
    first = store.seq - 9
    store._db.execute("UPDATE event SET body = 'x' WHERE seq = ?", (first + 4,))
    path.unlink()
    assert store.anew("was deleted", 2.0) == 6
    assert store.finish(RowDraft(RowKind.END, None, 3.0))
    found = check(path)
    assert found.state is FileState.GAPS
    assert "6 events before event" in found.sentence
    assert found.events == first + 3 + 3  # those before, moved, lost, end


def test_a_failed_move_is_tried_again_without_loss(
    going: tuple[Recorder, Path, list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    recorder, path, notes = going
    real = Store._take
    tries: list[Path] = []

    def failing(store: Store, at: Path) -> None:
        tries.append(at)
        if len(tries) < 3:
            raise OSError("not now")
        real(store, at)

    monkeypatch.setattr(Store, "_take", failing)
    path.unlink()
    wait_for(lambda: len(notes) > 1)
    assert "not now" in notes[0]
    assert "written again" in notes[-1] or "written anew" in notes[-1]
    recorder.note_event("note", {"text": "after"}).result(30)
    assert recorder.close()
    assert check(path).state is FileState.INTACT
    assert len(texts(path)) == 51


def test_what_lost_its_end_is_never_intact_again(tmp_path: Path) -> None:
    path = tmp_path / "a.job"
    recorder = record(path, seconds=10, close=False)
    recorder.note_event("note", {"text": "x"}).result(30)
    copy = tmp_path / "copy.job"  # as a replaced file, or a killed recorder, leaves it
    for end in ("", "-wal"):
        shutil.copyfile(f"{path}{end}", f"{copy}{end}")
    recorder.close()
    resumed = tmp_path / "resumed.job"
    for end in ("", "-wal"):
        shutil.copyfile(f"{copy}{end}", f"{resumed}{end}")
    assert add_to(copy, [])
    found = check(copy)
    assert found.state is FileState.GAPS
    assert "closed later" in found.sentence
    assert start(resumed, job(), complain).close()
    found = check(resumed)
    assert found.state is FileState.GAPS
    assert "taken up again" in found.sentence
    assert add_to(resumed, [("note", {"text": "y"})])
    assert check(resumed).state is FileState.GAPS


def test_a_closed_job_gone_on_with_has_no_gap(tmp_path: Path) -> None:
    path = tmp_path / "a.job"
    record(path, seconds=5)
    assert start(path, job(), complain).close()
    assert add_to(path, [("note", {"text": "y"})])
    assert check(path).state is FileState.INTACT


def test_what_an_earlier_job_of_that_name_left_does_not_get_into_a_new_one(
    tmp_path: Path,
) -> None:
    path = tmp_path / "a.job"
    recorder = record(path, seconds=10, close=False)
    recorder.note_event("note", {"text": "old"}).result(30)
    stale = Path(f"{path}-wal").read_bytes()
    recorder.close()
    path.unlink()
    Path(f"{path}-wal").write_bytes(stale)
    assert start(path, job(), complain).close()
    assert check(path).state is FileState.INTACT
    assert texts(path) == []

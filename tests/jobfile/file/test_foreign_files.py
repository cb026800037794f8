"""Files that are not what they are taken for, and what may be read of this machine."""

from __future__ import annotations

import os
import sqlite3
import stat
from pathlib import Path

import pytest

from bridge.jobfile import photo as photo_module
from bridge.jobfile.file.store import Store
from bridge.jobfile.recorder import add_to
from bridge.link.ports.wire_log import create_wire_log
from tests.jobfile.job_help import complain, record
from tests.jobfile.test_begin import demo, home
from tui.cli.main import main

__all__ = ["home"]


@pytest.fixture
def closed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    record(Path("a.job"), seconds=5)
    return Path("a.job")


def said(capsys: pytest.CaptureFixture[str]) -> str:
    told = capsys.readouterr().err
    assert told.startswith("sumpgate: ")
    assert told.count("\n") == 1
    return told


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def test_only_a_job_file_is_deleted(closed: Path, capsys) -> None:
    other = sqlite3.connect("letters.db")
    other.execute("CREATE TABLE x (a)")
    other.close()
    Path("letter.txt").write_text("kept", "utf-8")
    Path("fake.job").write_text("kept", "utf-8")
    for name in ("letters.db", "letter.txt", "fake.job"):
        assert main(["job", "delete", "--yes", name]) == 2
        assert "no job file" in said(capsys)
        assert Path(name).exists()
    assert main(["job", "delete", "--yes", "a.job"]) == 0
    assert not closed.exists()


def test_a_job_being_recorded_is_not_deleted(tmp_path: Path, capsys) -> None:
    recorder = record(tmp_path / "b.job", seconds=2, close=False)
    assert main(["job", "delete", "--yes", str(tmp_path / "b.job")]) == 2
    assert "being recorded" in said(capsys)
    assert recorder.close()
    assert main(["job", "delete", "--yes", str(tmp_path / "b.job")]) == 0
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "verb", ["report", "job show", "job check", "export", "replay"]
)
def test_a_pipe_is_refused_and_nothing_waits(tmp_path: Path, verb: str, capsys) -> None:
    os.mkfifo(tmp_path / "p.job")
    assert main([*verb.split(), str(tmp_path / "p.job")]) == 2
    assert "a pipe" in said(capsys)


def test_a_pipe_in_the_folder_of_jobs_does_not_hang_the_list(
    home: Path, capsys
) -> None:
    home.mkdir(parents=True)
    os.mkfifo(home / "p.job")
    assert main(["job", "list"]) == 0
    assert "a pipe" in capsys.readouterr().out


def test_what_a_photo_names_is_read_only_for_who_asks(
    closed: Path, monkeypatch: pytest.MonkeyPatch, capsys
) -> None:
    looked: list[Path] = []
    real = photo_module.need_plain
    monkeypatch.setattr(
        photo_module,
        "need_plain",
        lambda path, *more, **named: (looked.append(path), real(path, *more, **named)),
    )
    os.mkfifo("p")
    told = {"sha256": "0" * 64, "bytes": 7, "text": ""}
    paths = ("/etc/passwd", "p", "/dev/zero", "folder\0", "absent")
    assert add_to(closed, [("photo", {**told, "path": p}) for p in paths])
    assert main(["job", "show", "--full", "a.job"]) == 0
    assert capsys.readouterr().out.count("not looked at (say --photos)") == len(paths)
    assert main(["report", "a.job", "--pdf"]) == 0
    assert looked == []
    assert main(["job", "show", "--photos", "a.job"]) == 0
    assert len(looked) == len(paths)
    assert "CHANGED since" in capsys.readouterr().out  # /etc/passwd has another size


def test_nothing_is_written_over_without_being_told_to(closed: Path, capsys) -> None:
    for verb, made in (
        ("report a.job", "a.html"),
        ("report a.job --pdf", "a.pdf"),
        ("export a.job", "a-events.csv"),
        ("export a.job --format json", "a.json"),
    ):
        for old in Path().glob("a[.-]*[a-z]"):
            if old.suffix != ".job":
                old.unlink()
        Path(made).write_text("mine", "utf-8")
        assert main(verb.split()) == 2, verb
        assert "--force" in said(capsys)
        assert Path(made).read_text("utf-8") == "mine"
        assert main([*verb.split(), "--force"]) == 0
        assert Path(made).read_bytes() != b"mine"


def test_what_holds_the_vehicles_number_is_for_its_owner_alone(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    old = os.umask(0o022)
    try:
        assert demo("--record") == 0
        (job,) = home.iterdir()
        store = Store(job)
        beside = [mode(p) for p in home.iterdir()]
        store.close()
        assert len(beside) > 1  # the file SQLite writes into first
        assert main(["report", "last", "--pdf"]) == 0
        assert main(["export", "last"]) == 0
        create_wire_log("wire.txt", complain).close()
    finally:
        os.umask(old)
    assert mode(home) == 0o700
    made = [job, *tmp_path.glob("*.html"), *tmp_path.glob("*.pdf")]
    made += [*tmp_path.glob("*.csv"), tmp_path / "wire.txt"]
    assert len(made) == 6
    assert {mode(p) for p in made} | set(beside) == {0o600}

"""What goes wrong with files: each case one sentence, the right code, no remains."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from bridge.jobfile.file.format import APPLICATION_ID, FORMAT
from tests.jobfile.job_help import record
from tests.jobfile.test_begin import demo, home
from tui.cli.main import main

__all__ = ["home"]


@pytest.fixture
def files(home: Path, tmp_path: Path) -> Path:
    record(tmp_path / "good.job", seconds=20)
    whole = (tmp_path / "good.job").read_bytes()
    (tmp_path / "t0.job").write_bytes(b"")
    (tmp_path / "t50.job").write_bytes(whole[:50])
    (tmp_path / "t5000.job").write_bytes(whole[:5000])
    (tmp_path / "dir.job").mkdir()
    os.mkfifo(tmp_path / "fifo.job")
    (tmp_path / "dangling.job").symlink_to("nowhere")
    (tmp_path / "loop.job").symlink_to("loop.job")
    for name, application, version in (
        ("foreign", 0, 0),
        ("marked", APPLICATION_ID, FORMAT),
        ("newer", APPLICATION_ID, FORMAT + 8),
    ):
        db = sqlite3.connect(tmp_path / f"{name}.job")
        db.execute("CREATE TABLE x (a)")
        db.execute(f"PRAGMA application_id={application}")
        db.execute(f"PRAGMA user_version={version}")
        db.close()
    return tmp_path


NAMES = ["t0", "t50", "t5000", "dir", "fifo", "dangling", "loop", "foreign", "marked"]
NAMES += ["newer", "absent", "x" * 300]
VERBS = [
    ["job", "check"],
    ["job", "show"],
    ["job", "close"],
    ["job", "add", "--note", "x"],
    ["job", "compare", "good.job"],
    ["report"],
    ["report", "--pdf"],
    ["export"],
    ["export", "--format", "json"],
    ["replay"],
    ["demo", "--json", "--for", "1", "--record"],
]


@pytest.mark.skipif(sys.platform == "win32", reason="named pipes, symbolic links")
@pytest.mark.parametrize("verb", VERBS, ids=" ".join)
@pytest.mark.few(3)
def test_a_file_that_is_none_of_ours(files: Path, capsys, verb: list[str]) -> None:
    for name in NAMES:
        if verb[0] == "demo" and name in ("dir", "absent", "x" * 300):
            continue  # a folder is written into, what is not there is made
        before = sorted(p.name for p in files.iterdir())
        code = main([*verb, f"{name}.job"])
        told = capsys.readouterr()
        assert code == 2, name
        assert told.err.startswith("sumpgate: "), name
        assert told.err.count("\n") == 1, told.err
        assert f"{name}.job"[:60] in told.err
        assert told.out == ""
        assert sorted(p.name for p in files.iterdir()) == before, name


def test_no_jobs_at_all(home: Path, capsys) -> None:
    assert main(["job", "list"]) == 0
    assert f"no jobs in {home}" in capsys.readouterr().out
    for verb in (["job", "show"], ["report"], ["export"], ["replay"]):
        assert main([*verb, "last"]) == 2
        assert 'there is no job "last"' in capsys.readouterr().err


@pytest.mark.slow
def test_every_verb_takes_a_job_by_its_name(home: Path, capsys) -> None:
    assert demo("--record") == 0
    (path,) = home.iterdir()
    for name in ("last", path.stem, path.stem[:8], str(path)):
        for verb in ("job check", "report --force", "export --force", "replay"):
            assert main([*verb.split(), name]) == 0, (verb, name)
    capsys.readouterr()


@pytest.mark.skipif(sys.platform != "linux", reason="drops Linux capabilities")
@pytest.mark.slow
def test_permission_denied_is_one_sentence(files: Path) -> None:
    """Without root's own rights: capset(2) with nothing in the sets."""
    hidden = files / "hidden"
    hidden.mkdir()
    shutil.copyfile(files / "good.job", hidden / "a.job")
    closed = Path(shutil.copyfile(files / "good.job", files / "closed.job"))
    closed.chmod(0o000)
    hidden.chmod(0o000)
    locked = files / "locked"
    locked.mkdir(mode=0o555)
    code = (
        "import ctypes, sys\n"
        "header = (ctypes.c_uint32 * 2)(0x20080522, 0)\n"
        "assert ctypes.CDLL(None).capset(header, (ctypes.c_uint32 * 6)()) == 0\n"
        "from tui.cli.main import main\n"
        "for line in sys.stdin:\n"
        "    print(main(line.split()), line.strip(), flush=True)\n"
    )
    lines = [
        f"{verb} {name}"
        for verb in ("job check", "report", "export", "replay", "job close")
        for name in ("closed.job", "hidden/a.job")
    ]
    lines += ["report good.job --out locked/a.html", "export good.job --out locked"]
    root = Path(__file__).resolve().parents[3]
    done = subprocess.run(
        [sys.executable, "-c", code],
        input="\n".join(lines),
        capture_output=True,
        text=True,
        cwd=files,
        timeout=120,
        env={**os.environ, "PYTHONPATH": str(root)},
    )
    hidden.chmod(0o755)
    assert done.returncode == 0, done.stderr
    assert [s.split()[0] for s in done.stdout.splitlines()] == ["2"] * len(lines)
    told = done.stderr.splitlines()
    assert len(told) == len(lines)
    assert all("Permission denied" in line for line in told)
    assert list(locked.iterdir()) == []

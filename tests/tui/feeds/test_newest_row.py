"""A slow reader of --json gets the newest row, never a queue; a late one is dropped."""

from __future__ import annotations

import contextlib
import json
import os
import sys
import threading
import time
from pathlib import Path

import pytest

from bridge import posix
from bridge.snapshot import Snapshot
from bridge.values.readings import LinkState
from tui.headless import newest_row
from tui.headless.json_lines import write_line
from tui.headless.newest_row import NewestRow

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pipes of POSIX")


def row(t_s: float) -> Snapshot:
    return Snapshot(t_s=t_s, link=LinkState.LIVE)


class Rows:
    """The rows of --json, on a stream of the test's own."""

    def __init__(self, out) -> None:
        self.out, self.quiet_times = out, 0

    def write(self, snapshot: Snapshot, utc_s: float) -> None:
        write_line(self.out, snapshot, utc_s=utc_s)

    def quiet(self) -> None:
        self.quiet_times += 1

    def hear(self, line: str) -> None:
        raise AssertionError(line)


def wait_for(what) -> None:
    for _ in range(500):
        if what():
            return
        time.sleep(0.01)
    raise AssertionError("it never came")


def test_a_reader_that_does_not_read_holds_nobody_up_and_then_gets_the_newest() -> None:
    read_end, write_end = os.pipe()
    with os.fdopen(write_end, "w") as out, os.fdopen(read_end) as reader:
        rows = NewestRow(out, Rows(out), lambda: None)
        rows.put(row(0.0))
        wait_for(lambda: posix.untaken_bytes(out.fileno()))
        for number in range(1, 2000):
            rows.put(row(float(number)))
        rows.close = lambda: None  # type: ignore[method-assign]
        got = [json.loads(reader.readline()) for _ in range(2)]
        assert [r["t_s"] for r in got] == [0.0, 1999.0]
        assert got[1]["utc"].endswith("Z")


def test_a_row_that_has_grown_old_is_not_written(monkeypatch) -> None:
    read_end, write_end = os.pipe()
    with os.fdopen(write_end, "w") as out, os.fdopen(read_end) as reader:
        rows = NewestRow(out, Rows(out), lambda: None)
        rows.put(row(0.0))
        wait_for(lambda: posix.untaken_bytes(out.fileno()))
        rows.put(row(1.0))
        # As after a suspend: the clock on the wall has gone on by an hour.
        real = time.time
        monkeypatch.setattr(newest_row.time, "time", lambda: real() + 3600.0)
        assert json.loads(reader.readline())["t_s"] == 0.0
        wait_for(lambda: rows._next is None)
        monkeypatch.setattr(newest_row.time, "time", real)
        rows.put(row(2.0))
        assert json.loads(reader.readline())["t_s"] == 2.0


def test_a_reader_that_has_gone_is_noticed() -> None:
    read_end, write_end = os.pipe()
    gone = threading.Event()
    os.close(read_end)
    out = os.fdopen(write_end, "w")
    NewestRow(out, Rows(out), gone.set).put(row(0.0))
    assert gone.wait(5.0)
    with contextlib.suppress(BrokenPipeError):
        out.close()


def test_that_nothing_comes_any_more_is_told(monkeypatch) -> None:
    monkeypatch.setattr(newest_row, "QUIET_S", 0.02)
    with Path(os.devnull).open("w") as out:
        lines = Rows(out)
        rows = NewestRow(out, lines, lambda: None)
        wait_for(lambda: lines.quiet_times > 1)
        rows.close()

"""A run written down plays back as the same run, and writing never harms it."""

from __future__ import annotations

import asyncio
import json
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.link.ports.port import Port
from bridge.link.ports.wire_log import HEADING, WireLog, create_wire_log, format_line
from bridge.monitor import Monitor
from bridge.sheets import load
from bridge.snapshot import Snapshot
from bridge.values.errors import UsageError
from bridge.values.readings import LinkState
from simulators.car.scenes import make_bench
from simulators.serve.bench import Bench
from simulators.serve.paced_loop import PacedLoop
from simulators.serve.pipe import BenchPipe
from simulators.serve.playback import parse_wire_log, read_playback
from tui.cli.main import main

SHEET = load("scar-eight-speed")


def nobody(sentence: str) -> None:
    raise AssertionError(sentence)


def watch(bench: Bench, log: WireLog | None = None, *, for_s: float = 8.0):
    snapshots: list[Snapshot] = []

    async def opener() -> Port:
        return BenchPipe(bench)

    async def main() -> None:
        wrapped = opener if log is None else log.wrap(opener)
        monitor = Monitor(sheet=SHEET, open_port=wrapped, deliver=snapshots.append)
        await monitor.run(for_s=for_s)
        bench.close()

    with asyncio.Runner(loop_factory=lambda: PacedLoop(math.inf)) as runner:
        runner.run(main())
    return snapshots


@given(
    st.lists(
        st.tuples(st.floats(0, 1e5), st.booleans(), st.binary(min_size=1)), min_size=1
    )
)
def test_every_byte_reads_back_at_its_time(rows) -> None:
    rows = sorted(rows, key=lambda row: row[0])
    rows.append((rows[-1][0], False, b">"))
    text = "\n".join(format_line(t, d, to_adapter=w) for t, w, d in rows)
    assert text.isascii()
    read = parse_wire_log(text, "log")
    assert [(c.to_adapter, c.data) for c in read] == [(w, d) for _, w, d in rows]
    for chunk, row in zip(read, rows, strict=True):
        assert chunk.t_s == pytest.approx(row[0], abs=6e-7)


def test_a_demo_written_down_plays_back_with_the_same_readings(tmp_path) -> None:
    path = tmp_path / "run.log"
    log = create_wire_log(str(path), nobody)
    # Ten car seconds each second, so that the fluid moves.
    live = watch(make_bench("warm-day", SHEET, scale=10.0), log)
    log.close()
    played = watch(read_playback(path))
    assert live[-1].link is LinkState.LIVE
    first = [(round(s.t_s, 2), s.raw_c) for s in live]
    again = [(round(s.t_s, 2), s.raw_c) for s in played]
    assert len({raw for _, raw in first if raw is not None}) > 1
    assert first == again
    for name in ("engine_rpm", "coolant_c", "voltage_v", "selector"):
        assert [getattr(s, name) for s in live] == [getattr(s, name) for s in played]
    assert played[-1].codes is not None
    assert played[-1].vin is not None


def test_the_log_changes_nothing_about_the_run(tmp_path) -> None:
    log = create_wire_log(str(tmp_path / "x.log"), nobody)
    plain = watch(make_bench("warm-day", SHEET))
    assert watch(make_bench("warm-day", SHEET), log) == plain
    log.close()


def test_what_a_person_sees_in_the_file(tmp_path) -> None:
    path = tmp_path / "run.log"
    log = create_wire_log(str(path), nobody)
    bench = make_bench("warm-day", SHEET)
    bench.at(4.0, lambda: bench.unplug(1.0))
    watch(bench, log)
    log.close()
    text = path.read_text("ascii")
    lines = text.splitlines()
    assert lines[0] == HEADING
    assert any("identification number" in line for line in lines[:3])
    assert sum(line == "# the port was opened" for line in lines) == 2
    assert any("unplugged" in line for line in lines if line.startswith("#"))
    assert any(line.endswith(r"> ATE0\r") for line in lines)
    assert parse_wire_log(text, "run.log")


def test_a_late_fetched_byte_never_makes_time_go_back(tmp_path) -> None:
    path = tmp_path / "x.log"
    log = create_wire_log(str(path), nobody)
    log.bytes_went(5.0, b"0105\r", to_adapter=True)
    log.bytes_went(4.9, b">", to_adapter=False)
    log.bytes_went(5.1, b"", to_adapter=False)
    log.close()
    assert [c.t_s for c in parse_wire_log(path.read_text(), "x")] == [5.0, 5.0]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no full disk to try")
def test_on_a_full_disk_one_note_and_the_run_goes_on() -> None:
    notes: list[str] = []
    log = create_wire_log("/dev/full", notes.append)
    snapshots = watch(make_bench("warm-day", SHEET), log)
    log.close()
    assert len(notes) == 1
    assert "/dev/full" in notes[0]
    assert "space" in notes[0].lower()
    assert snapshots == watch(make_bench("warm-day", SHEET))


def test_a_file_that_goes_wrong_midway_is_given_up_quietly() -> None:
    class Dying:
        left = 5

        def write(self, text: str) -> int:
            self.left -= 1
            if self.left < 0:
                raise OSError(5, "Input/output error")
            return len(text)

        def close(self) -> None:
            raise OSError(5, "Input/output error")

    notes: list[str] = []
    log = WireLog(Dying(), "card.log", notes.append)
    for n in range(20):
        log.bytes_went(float(n), b"x", to_adapter=True)
        log.remark("x")
    log.close()
    log.close()
    assert len(notes) == 1
    assert "card.log" in notes[0]


@pytest.mark.parametrize("what", ["folder", "no folder", "a sheet"])
def test_what_cannot_be_a_log_is_said_in_one_sentence(tmp_path, what) -> None:
    path = {
        "folder": tmp_path,
        "no folder": tmp_path / "none" / "x.log",
        "a sheet": tmp_path / "sheet.toml",
    }[what]
    if what == "a sheet":
        path.write_text("[gearbox]\n")
    with pytest.raises(UsageError) as caught:
        create_wire_log(str(path), nobody)
    assert str(path) in str(caught.value)
    assert "\n" not in str(caught.value)
    if what == "a sheet":
        assert path.read_text() == "[gearbox]\n"


def test_an_older_or_empty_log_is_replaced(tmp_path) -> None:
    path = tmp_path / "x.log"
    path.touch()
    for mark in ("first", "second"):
        log = create_wire_log(str(path), nobody)
        log.remark(mark)
        log.close()
    assert "second" in path.read_text()
    assert "first" not in path.read_text()


def test_the_demo_writes_a_log_the_bench_can_play(tmp_path, capsys) -> None:
    path = tmp_path / "demo.log"
    flags = ["--json", "--for", "4", "--speed", "100", "--wire-log", str(path)]
    assert main(["demo", *flags]) == 0
    first = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    again = watch(read_playback(path), for_s=4.0)
    assert first[-1]["raw_c"] is not None
    assert [s["raw_c"] for s in first] == [s.raw_c for s in again]


def test_a_log_that_cannot_be_created_ends_the_demo_with_2(tmp_path, capsys) -> None:
    path = tmp_path / "none" / "demo.log"
    assert main(["demo", "--json", "--for", "1", "--wire-log", str(path)]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert str(path) in said.err
    assert said.err.count("\n") == 1

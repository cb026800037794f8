"""Real recorded curves through the simulated adapter as bytes, end to end.

Source of the curves: tests/data/README.md (CC BY 4.0, DOI 10.35097/1130).
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from bridge.values.trace_text import parse_trace
from tui.cli.main import main

DATA = Path(__file__).parent.parent / "data"
CURVES = DATA / "warmup"
MUG = DATA / "cooling" / "mug.csv"
LOW_C, HIGH_C = 35.0, 50.0  # the default sheet of demo --trace


def curve(path: Path) -> tuple[Callable[[float], float], float]:
    """Return the recorded temperature as a function of time, and its length."""
    rows = parse_trace(path.read_text("utf-8"), path.name)

    def at(t_s: float) -> float:
        before = max((r for r in rows if r.time_s <= t_s), key=lambda r: r.time_s)
        after = min((r for r in rows if r.time_s >= t_s), key=lambda r: r.time_s)
        assert before.temp_c is not None
        assert after.temp_c is not None
        gap = after.time_s - before.time_s
        share = (t_s - before.time_s) / gap if gap else 0.0
        return before.temp_c + share * (after.temp_c - before.temp_c)

    return at, rows[-1].time_s


@pytest.mark.slow
@pytest.mark.parametrize("name", ["warmup-08.csv", "warmup-07.csv", "warmup-17.csv"])
def test_go_shows_only_while_the_recorded_curve_is_inside(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = CURVES / name
    arguments = ["demo", "--json", "--speed", "1000", "--trace", str(path)]
    assert main(arguments) == 0
    printed = capsys.readouterr()
    lines = [json.loads(s) for s in printed.out.splitlines()]
    at, length_s = curve(path)
    went = [x for x in lines if x["verdict"] == "GO"]
    assert went, "GO was never shown"
    outside = [x["t_s"] for x in went if not LOW_C <= at(x["t_s"]) <= HIGH_C]
    assert not outside
    assert all(x["age_s"] <= 2.0 and not x["reasons"] for x in went)
    temps = [x["temp_c"] for x in lines if x["temp_c"] is not None]
    assert min(temps) < LOW_C  # the entry was seen ...
    assert max(temps) > HIGH_C  # ... and the exit
    assert lines[-1]["t_s"] >= length_s - 1.0
    assert printed.err == ""


def test_every_line_has_every_documented_key(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["demo", "--json", "--speed", "1000", "--for", "20"]) == 0
    keys = {"t_s", "link", "temp_c", "temp_sd_c", "raw_c", "age_s", "rate_c_per_min"}
    keys |= {"phase", "verdict", "reasons", "opens_in_s", "shuts_in_s"}
    for line in capsys.readouterr().out.splitlines():
        told = json.loads(line)
        assert keys <= set(told)
        assert told["link"] in ("connecting", "live", "silent", "lost")
        assert told["verdict"] in ("GO", "NO-GO")
        assert told["phase"] in ("warming", "cooling", "steady", "unknown")


@pytest.mark.slow
def test_two_runs_give_the_same_lines(capsys: pytest.CaptureFixture[str]) -> None:
    runs = []
    for _ in range(2):
        assert main(["demo", "--json", "--speed", "900", "--for", "40"]) == 0
        rows = map(json.loads, capsys.readouterr().out.splitlines())
        # ``utc`` is when a row was decided, by the clock on the wall.
        runs.append([{k: v for k, v in row.items() if k != "utc"} for row in rows])
    assert runs[0] == runs[1]


def test_a_replay_says_one_line_for_each_sample(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    trace = tmp_path / "t.csv"
    trace.write_text(
        "time_s,temp_c\n"
        + "".join(f"{t},{20 + t / 30:.1f}\n" for t in range(60))
        + "60,\n"
    )
    assert main(["replay", str(trace), "--profile", "weir-trace-bench", "--json"]) == 0
    lines = [json.loads(s) for s in capsys.readouterr().out.splitlines()]
    assert [x["t_s"] for x in lines] == [float(t) for t in range(61)]
    assert lines[-1]["age_s"] == 1.0


def test_a_mug_of_water_cools_through_a_window(
    capsys: pytest.CaptureFixture[str],
) -> None:
    arguments = ["replay", str(MUG), "--profile", "scar-eight-speed"]
    assert main([*arguments, "--json"]) == 0
    lines = [json.loads(s) for s in capsys.readouterr().out.splitlines()]
    went = [x for x in lines if x["verdict"] == "GO"]
    assert went
    assert all(42.0 <= x["raw_c"] <= 52.0 for x in went)
    assert {x["phase"] for x in went} <= {"cooling", "steady"}

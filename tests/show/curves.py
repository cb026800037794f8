"""`make show-curves`: every recorded warm-up through the simulated adapter, as bytes.

Each curve must be seen entering and leaving the window of `demo --trace`'s default
sheet, and GO may show only while the curve itself is inside; in at least two of three
curves it must show. Source of the curves: tests/data/README.md.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import sys
from bisect import bisect_right
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from bridge.sheets import load  # noqa: E402
from bridge.values.trace_text import Sample, parse_trace  # noqa: E402
from tui.cli.main import main as sumpgate  # noqa: E402

SHEET = load("weir-trace-bench")


def at(rows: tuple[Sample, ...], t_s: float) -> float:
    """Return the curve's own temperature at a time, straight between rows."""
    place = bisect_right(rows, t_s, key=lambda r: r.time_s)
    left, right = rows[max(0, place - 1)], rows[min(place, len(rows) - 1)]
    span = right.time_s - left.time_s
    share = (t_s - left.time_s) / span if span else 0.0
    return (left.temp_c or 0.0) + share * ((right.temp_c or 0.0) - (left.temp_c or 0.0))


def judge(path: Path) -> dict[str, object]:
    """Run one curve and return what was seen."""
    rows = parse_trace(path.read_text("utf-8"), path.name)
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        code = sumpgate(["demo", "--json", "--speed", "1e6", "--trace", str(path)])
    lines = [json.loads(s) for s in out.getvalue().splitlines()]
    gos = [x["t_s"] for x in lines if x["verdict"] == "GO"]
    temps = [x["temp_c"] for x in lines if x["temp_c"] is not None]
    low, high = SHEET.window.low_c, SHEET.window.high_c
    return {
        "curve": path.stem,
        "exit_code": code,
        "entry_seen": min(temps) < low and max(temps) >= low,
        "exit_seen": max(temps) > high,
        "go_from_s": gos[0] if gos else None,
        "go_to_s": gos[-1] if gos else None,
        "go_outside": sum(not low <= at(rows, t) <= high for t in gos),
    }


def main() -> int:
    """Print the table and the JSON line; 1 if a curve breaks the rule."""
    curves = sorted((ROOT / "tests" / "data" / "warmup").glob("*.csv"))
    if os.environ.get("QUICK", "") not in ("", "0"):
        curves = curves[::8]
    with ProcessPoolExecutor() as pool:
        found = list(pool.map(judge, curves))
    print(f"{'curve':12}{'entry':>7}{'exit':>6}{'GO from':>9}{'to':>8}{'outside':>9}")
    for row in found:
        go = row["go_from_s"], row["go_to_s"]
        shown = "".join(f"{'-' if t is None else t!s:>9}" for t in go)
        print(
            f"{row['curve']!s:12}{row['entry_seen']!s:>7}{row['exit_seen']!s:>6}"
            f"{shown}{row['go_outside']!s:>9}"
        )
    went = sum(r["go_from_s"] is not None for r in found)
    sound = all(
        r["entry_seen"]
        and r["exit_seen"]
        and not r["go_outside"]
        and not r["exit_code"]
        for r in found
    )
    good = sound and went * 3 >= len(found) * 2
    print(json.dumps({"curves": len(found), "with_go": went, "sound": sound}))
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())

"""`make show-curves`: every recorded warm-up through the simulated adapter, as bytes.

Each curve must be seen entering and leaving the window of `demo --trace`'s default
sheet, and GO may show only while the curve itself is inside; in at least two of three
curves it must show. Source of the curves: tests/data/README.md.
"""

from __future__ import annotations

import contextlib
import io
import json
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from bridge.sheets import load  # noqa: E402
from simulators.car.curve import read_trace  # noqa: E402
from tests.show.parts.show_run import ShowRun  # noqa: E402
from tui.cli.main import main as sumpgate  # noqa: E402

SHEET = load("weir-trace-bench")


def judge(path: Path) -> dict[str, object]:
    """Run one curve and return what was seen."""
    curve = read_trace(path)
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        code = sumpgate(["demo", "--json", "--speed", "1e6", "--trace", str(path)])
    lines = [json.loads(s) for s in out.getvalue().splitlines()]
    gos = [x["t_s"] for x in lines if x["verdict"] == "GO"]
    temps = [x["temp_c"] for x in lines if x["temp_c"] is not None]
    low, high = SHEET.window.low_c, SHEET.window.high_c
    true_c = [curve.value("temp_c", t_s) for t_s in gos]
    return {
        "curve": path.stem,
        "exit_code": code,
        "entry_seen": min(temps) < low and max(temps) >= low,
        "exit_seen": max(temps) > high,
        "go_from_s": gos[0] if gos else None,
        "go_to_s": gos[-1] if gos else None,
        "go_outside": sum(t is None or not low <= t <= high for t in true_c),
    }


def main() -> int:
    """Print the table and the figures; 1 if a curve breaks the rule."""
    told = ShowRun("curves")
    curves = sorted((ROOT / "tests" / "data" / "warmup").glob("*.csv"))
    with ProcessPoolExecutor() as pool:
        found = list(pool.map(judge, curves[:: told.size(8, 1)]))
    print(f"{'curve':12}{'entry':>7}{'exit':>6}{'GO from':>9}{'to':>8}{'outside':>9}")
    for row in found:
        go = row["go_from_s"], row["go_to_s"]
        shown = "".join(f"{'-' if t is None else t!s:>9}" for t in go)
        print(
            f"{row['curve']!s:12}{row['entry_seen']!s:>7}{row['exit_seen']!s:>6}"
            f"{shown}{row['go_outside']!s:>9}"
        )
    all_ = len(found)
    told.tell("curves", all_)
    told.tell(
        "entries_seen", sum(bool(r["entry_seen"]) for r in found), want=len(found)
    )
    told.tell("exits_seen", sum(bool(r["exit_seen"]) for r in found), want=all_)
    told.tell("ended_well", sum(not r["exit_code"] for r in found), want=all_)
    told.tell("with_go_outside", sum(bool(r["go_outside"]) for r in found), want=0)
    went = sum(r["go_from_s"] is not None for r in found)
    told.tell("with_go", went, least=all_ * 2 / 3)
    return told.end()


if __name__ == "__main__":
    sys.exit(main())

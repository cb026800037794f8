"""How dear the first frame is, and how much memory, against a bare Textual app.

Processor time from the interpreter's start to the first frame, and the most memory
held until then, each the median of runs in turn with a bare app's, without a terminal,
both from bytecode, as an installed program runs. Issue 19 asks 1.4 and 1.7 times.
"""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[4]
RUNS = 5 if os.environ.get("QUICK") else 15
MOST = {"time": 1.4, "memory": 1.7}
DONE = """
import re, time
def done(app):
    # Not getrusage: its high-water mark is that of whoever started the program.
    kib = re.search(r"VmHWM:\\s*(\\d+)", open("/proc/self/status").read())[1]
    print(time.process_time(), kib, flush=True)
    app.exit(0)
"""
BARE = (
    DONE
    + """
from textual.app import App
from textual.widgets import Static
class Bare(App):
    def compose(self):
        yield Static("bare")
    def on_ready(self):
        done(self)
Bare().run(headless=True, size=(80, 24))
"""
)
OURS = (
    DONE
    + """
from tui.cli.main import build_parser, loading
loading.begun()
args = build_parser("demo").parse_args(["demo"])
from tui.cli.demo_verb import load_demo_sheet
from tui.feeds.monitor_feed import MonitorFeed
from tui.live.app import SumpgateApp
from tui.settings import Settings
async def nothing(deliver):
    pass
SumpgateApp.on_ready = lambda self: done(self)
feed = MonitorFeed(nothing)
app = SumpgateApp(
    sheet=load_demo_sheet(args), feed=feed, settings=Settings(), source="bench"
)
app.bench = feed
app.run(headless=True, size=(80, 24))
"""
)


def once(program: str, bytecode: str) -> tuple[float, float]:
    """Return processor seconds and MiB of one run; ``bytecode``: its folder."""
    kept = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    ran = subprocess.run(
        [sys.executable, "-c", program],
        cwd=ROOT,
        env=kept | {"PYTHONPYCACHEPREFIX": bytecode},
        capture_output=True,
        text=True,
        check=True,
    )
    seconds, kib = ran.stdout.split()[:2]
    return float(seconds), float(kib) / 1024.0


def measure() -> int:
    """Print both, and their ratios; return 1 if a ratio is over its mark."""
    with tempfile.TemporaryDirectory() as folder:
        pairs = [(once(BARE, folder), once(OURS, folder)) for _ in range(RUNS + 1)]
    runs = pairs[1:]  # the first has compiled what it imported
    told: dict[str, float] = {"runs": RUNS}
    for n, (what, unit) in enumerate((("time", "s"), ("memory", "MiB"))):
        bare, ours = (statistics.median(r[k][n] for r in runs) for k in (0, 1))
        told |= {
            f"{what}_bare": bare,
            f"{what}_ours": ours,
            f"{what}_ratio": ours / bare,
        }
        print(
            f"{what}: bare {bare:.3g} {unit}, ours {ours:.3g} {unit}, {ours / bare:.2f}"
        )
    print(json.dumps(told))
    return int(any(told[f"{what}_ratio"] > most for what, most in MOST.items()))

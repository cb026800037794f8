"""How dear the first frame is, and how much memory, against a bare Textual app.

Processor time from the interpreter's start to the first frame, and the most memory
held until then, each the median of runs in turn with a bare app's, without a terminal,
all from bytecode, as an installed program runs. Issue 19 asks 1.4 and 1.7 times of the
app with its sheet. Beside it stand, to be known, the start screen, and ``live`` with
all it does before its screen: the job's file is opened and its first event on the disk.
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

START = (
    DONE
    + """
import tui.cli.main as command_line
command_line.has_terminal = lambda: True
from tui.start.start_app import StartApp
StartApp.on_ready = lambda self: done(self)
run = StartApp.run
StartApp.run = lambda self: run(self, headless=True, size=(80, 24))
command_line.main([])
"""
)
LIVE = (
    DONE
    + """
import tui.live.run_screen as run_screen
from tui.cli.main import main
run_screen.need_terminal = lambda: None
def shown(app):
    type(app).on_ready = lambda self: done(self)
    return app.run(headless=True, size=(80, 24)) or 0
run_screen.run_screen = shown
address = "socket://127.0.0.1:9"
main(["live", "--profile", "scar-eight-speed", "--port", address, "--start-over"])
"""
)
PROGRAMS = {"bare": BARE, "ours": OURS, "start": START, "live": LIVE}


def once(program: str, folder: str) -> tuple[float, float]:
    """Return processor seconds and MiB of one run; bytecode and jobs go there."""
    kept = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    homes = (
        "PYTHONPYCACHEPREFIX",
        "XDG_DATA_HOME",
        "XDG_CONFIG_HOME",
        "XDG_STATE_HOME",
    )
    ran = subprocess.run(
        [sys.executable, "-c", program],
        cwd=ROOT,
        env=kept | dict.fromkeys((*homes, "PYTHONPYCACHEPREFIX"), folder),
        capture_output=True,
        text=True,
        check=True,
    )
    seconds, kib = ran.stdout.split()[:2]
    return float(seconds), float(kib) / 1024.0


def measure() -> int:
    """Print all, and their ratios; return 1 if ours is over its mark."""
    with tempfile.TemporaryDirectory() as folder:
        rounds = [
            {name: once(program, folder) for name, program in PROGRAMS.items()}
            for _ in range(RUNS + 1)
        ]
    told: dict[str, float] = {"runs": RUNS}
    for n, (what, unit) in enumerate((("time", "s"), ("memory", "MiB"))):
        # The first round has compiled what it imported.
        middle = {
            name: statistics.median(one[name][n] for one in rounds[1:])
            for name in PROGRAMS
        }
        for name, value in middle.items():
            ratio = value / middle["bare"]
            told |= {f"{what}_{name}": value, f"{what}_{name}_ratio": ratio}
            print(f"{what}: {name} {value:.3g} {unit}, {ratio:.2f}")
    print(json.dumps(told))
    return int(any(told[f"{what}_ours_ratio"] > most for what, most in MOST.items()))

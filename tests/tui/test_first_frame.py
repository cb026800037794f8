"""What the first frame has no use for is not loaded for it."""

from __future__ import annotations

import subprocess
import sys

LATER = (
    "numpy",
    "bridge.thermal",
    "bridge.session.session",
    "bridge.monitor",
    "bridge.jobfile",
    "bridge.service.sums",
    "bridge.sheets.warnings",
    "simulators",
    "tui.service.service_screen",
    "tui.widgets.figures_body",
    "tui.phone",
)


def test_the_app_loads_nothing_that_only_later_pages_need() -> None:
    program = (
        "import sys, tui.cli.main, tui.cli.live_verb, tui.live.app\n"
        "from bridge.sheets import load\n"
        "load('scar-eight-speed')\n"
        f"print(*[name for name in {LATER!r} if name in sys.modules])"
    )
    ran = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert ran.stdout.split() == []

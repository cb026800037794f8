"""Draws the phone page's states as PNG into docs/screens.

Run from the root: ``python tests/show/parts/phone/shots.py``. Needs Chromium.
"""

from __future__ import annotations

import base64
import json
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

ROOT = Path(__file__).resolve().parents[4]
sys.path.insert(0, str(ROOT))

from bridge.level.step.step_values import Instruction, Phase, Step  # noqa: E402
from tests.phone.browser import (  # noqa: E402
    LANDSCAPE,
    PORTRAIT,
    missing,
    pair,
    phone,
    resize,
    seen,
    until,
)
from tests.phone.hosted import Hosted, hosted  # noqa: E402
from tests.tui.stage import WARM_UP  # noqa: E402

if TYPE_CHECKING:
    from selenium.webdriver import Chrome

TARGET = ROOT / "docs" / "screens"
GO = WARM_UP.snapshot(WARM_UP.t_at(45.0))
COLD = WARM_UP.snapshot(WARM_UP.t_at(31.0))
GO_STEP = {"phase": Phase.GO, "instruction": Instruction.OPEN_NOW}
WAIT = {"phase": Phase.WAIT, "instruction": Instruction.WAIT_WARMING}
RUNNING: dict[str, Any] = {
    "phase": Phase.RUNNING_DOWN,
    "instruction": Instruction.WATCH,
    "now_at_s": 41.0,
    "opened_at_s": 10.0,
    "drips_s": (12.0, 15.0, 19.0, 24.0),
    "past": (Step(phase=Phase.GO),),
}
CLOSE = {**RUNNING, "phase": Phase.SETTLED, "instruction": Instruction.CLOSE_SETTLED}


def shoot(browser: Chrome, name: str) -> None:
    """Save what shows, at one pixel to a pixel."""
    time.sleep(0.4)
    told = browser.execute_cdp_cmd("Page.captureScreenshot", {"format": "png"})
    path = TARGET / f"phone-{name}.png"
    path.write_bytes(base64.b64decode(told["data"]))
    print(path.relative_to(ROOT))


def grey(browser: Chrome, *, on: bool) -> None:
    """Take the colours away, as the browser itself does it."""
    kind = "achromatopsia" if on else "none"
    browser.execute_cdp_cmd("Emulation.setEmulatedVisionDeficiency", {"type": kind})


def draw(browser: Chrome, host: Hosted) -> int:
    """Play each state and draw it."""
    host.phase(GO, **GO_STEP)
    browser.get(host.server.address)
    shoot(browser, "start")
    pair(browser, host.server.address)
    until(lambda: seen(browser)["look"] == "go")
    shoot(browser, "go")
    grey(browser, on=True)
    shoot(browser, "go-grey")
    host.phase(COLD, **WAIT)
    until(lambda: seen(browser)["look"] == "stop")
    shoot(browser, "no-go-grey")
    grey(browser, on=False)
    shoot(browser, "no-go")
    host.phase(GO, **RUNNING)
    until(
        lambda: seen(browser)["main"].startswith("DRIP") and not seen(browser)["dead"]
    )
    shoot(browser, "drips")
    resize(browser, LANDSCAPE, 1)
    shoot(browser, "drips-turned")
    resize(browser, PORTRAIT, 1)
    host.phase(GO, **CLOSE)
    until(lambda: seen(browser)["word"] == "CLOSE" and not seen(browser)["dead"])
    shoot(browser, "close")
    host.server.stop()
    until(lambda: seen(browser)["look"] == "lost")
    shoot(browser, "no-contact")
    return 9


def main() -> int:
    """Draw all, say how many."""
    if missing():
        print(missing(), file=sys.stderr)
        return 1
    with hosted() as host, phone() as browser:
        resize(browser, PORTRAIT, 1)
        drawn = draw(browser, host)
    print(json.dumps({"phone_screens": drawn}))
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""The page's figures in a real browser: delay, contrast, a whole job, NO-GO in time."""

from __future__ import annotations

import random
import tempfile
import time
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.level.step.step_values import Instruction, Phase, Step
from tests.phone.browser import pair, seen, until
from tests.phone.contrast import contrasts
from tests.phone.hosted import hosted
from tests.phone.job import DemoJob, demo_job, follow
from tests.tui.stage import WARM_UP

if TYPE_CHECKING:
    from selenium.webdriver import Chrome

GO = WARM_UP.snapshot(WARM_UP.t_at(45.0))
COLD = WARM_UP.snapshot(WARM_UP.t_at(31.0))
_WATCH = """
window.seen = [];
new MutationObserver(() => {
  const sent = Number(document.body.dataset.sent);
  requestAnimationFrame(() => setTimeout(() =>
    seen.push([sent, performance.timeOrigin + performance.now()]), 0));
}).observe(document.body, { attributes: true, attributeFilter: ["data-sent"] });
"""
_LOST = """
window.lostAt = null;
new MutationObserver(() => {
  if (document.body.className === "lost" && window.lostAt === null)
    window.lostAt = performance.timeOrigin + performance.now();
}).observe(document.body, { attributes: true, attributeFilter: ["class"] });
"""


def delays_ms(browser: Chrome, *, count: int, seed: int) -> list[float]:
    """From the snapshot leaving the monitor to the page having drawn it."""
    chance = random.Random(seed)
    with hosted() as here:
        here.phase(GO, phase=Phase.GO, instruction=Instruction.OPEN_NOW)
        pair(browser, here.server.address)
        until(lambda: seen(browser)["look"] == "go")
        browser.execute_script(_WATCH)
        here.silence()
        for n in range(count):
            snapshot = replace(GO, t_s=GO.t_s + n)
            here.loop.call_soon_threadsafe(here.hub.deliver, snapshot)
            time.sleep(chance.uniform(0.12, 0.4))
        time.sleep(0.5)
        found = browser.execute_script("return window.seen")
    # both clocks are this machine's: the wall's lead over the monotonic one is fixed
    lead_s = time.time() - time.monotonic()
    drawn: dict[float, float] = {}
    for sent_s, drawn_ms in found:
        drawn.setdefault(sent_s, drawn_ms - (sent_s + lead_s) * 1e3)
    return list(drawn.values())


def all_contrasts(browser: Chrome) -> dict[str, float]:
    """Every text of every look of the page."""
    found: dict[str, float] = {}

    def note(look: str) -> None:
        found.update({f"{look}: {k}": v for k, v in contrasts(browser).items()})

    with hosted() as here:
        here.phase(GO, phase=Phase.GO, instruction=Instruction.OPEN_NOW)
        browser.get(here.server.address)
        time.sleep(0.5)
        note("start")
        pair(browser, here.server.address)
        until(lambda: seen(browser)["look"] == "go")
        note("go")
        here.phase(COLD, phase=Phase.WAIT, instruction=Instruction.WAIT_WARMING)
        until(lambda: seen(browser)["look"] == "stop")
        note("stop")
        here.phase(
            GO,
            phase=Phase.RUNNING_DOWN,
            instruction=Instruction.WATCH,
            past=(Step(phase=Phase.GO),),
        )
        until(lambda: seen(browser)["others"] and not seen(browser)["dead"])
        note("running")
        here.silence()
        until(lambda: seen(browser)["look"] == "lost")
        note("lost")
    return found


@dataclass(frozen=True, kw_only=True)
class JobSeen:
    """A whole job done by thumb."""

    phases: list[str]
    marks: int
    judged: bool


def whole_job(browser: Chrome, *, scene: str, speed: int) -> JobSeen:
    """Follow a demo job from its beginning to its judgement."""
    with (
        tempfile.TemporaryDirectory() as folder,
        demo_job(Path(folder), "--scene", scene, "--speed", str(speed)) as job,
    ):
        pair(browser, job.address)
        phases = follow(browser, job)
        step = job.last["step"]
        return JobSeen(
            phases=phases, marks=step["marks"], judged=step["judgement"] is not None
        )


def seconds_to_no_go(browser: Chrome, *, times: int) -> dict[str, list[float]]:
    """From the laptop's side ending, or freezing, to NO-GO on the page."""
    found: dict[str, list[float]] = {"killed": [], "frozen": []}
    for n in range(2 * times):
        with (
            tempfile.TemporaryDirectory() as folder,
            demo_job(Path(folder), "--scene", "warm-day") as job,
        ):
            pair(browser, job.address)
            until(lambda: seen(browser)["look"] not in ("lost", ""))
            kind = "killed" if n % 2 else "frozen"
            found[kind].append(_end(browser, job, kind))
    return found


def _end(browser: Chrome, job: DemoJob, kind: str) -> float:
    browser.execute_script(_LOST)
    at_s = time.time()
    if kind == "killed":
        job.kill()
    else:
        job.freeze()
    until(lambda: browser.execute_script("return window.lostAt"))
    told = seen(browser)
    assert told["word"] == "NO-GO"
    assert told["number"] == "--.-"
    return float(browser.execute_script("return window.lostAt")) / 1e3 - at_s

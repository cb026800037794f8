"""The same work told by keys, by typed lines and by phone: one story in the file.

Each way runs the whole program on the simulated car and records a job; what is
compared is every event a person told, as it stands in the job files.
"""

from __future__ import annotations

import asyncio
import contextlib
import http.client
import itertools
import json
import re
import time
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from textual import events
from textual.keys import REPLACED_KEYS, _character_to_key
from textual.pilot import Pilot

from bridge.jobfile.file.check import FileState, check
from bridge.jobfile.file.reader import reading, rows
from bridge.jobfile.rows import event_of
from bridge.values.events import Mark, Marked, PersonEvent
from bridge.values.service_events import ServiceEvent, ServiceKind
from tests.e2e.test_typed_service import Typist, typing
from tests.tui.helpers import screen_text, settle
from tui.cli.main import main
from tui.live import cover, run_screen
from tui.live.app import SumpgateApp
from tui.service import service_screen

SHEET = "scar-eight-speed"
DRIPS_AFTER_S = (2.0, 3.5, 5.0, 6.5, 8.0, 9.5)
"""Slower and slower, in seconds of the job, as from an opening that empties."""


async def press(pilot: Pilot[int], *keys: str) -> None:
    """Press keys one by one, each worked through before the next.

    As Pilot.press does it, but that waits after each key until the processor has
    been idle for a fiftieth of a second, and at most a second on a busy machine.
    """
    for key in keys:
        name = _character_to_key(key) if len(key) == 1 else key
        spoken = REPLACED_KEYS.get(name, name).replace("_", " ").upper()
        try:
            letter: str | None = key if len(key) == 1 else unicodedata.lookup(spoken)
        except KeyError:
            letter = None
        event = events.Key(name, letter)
        event.set_sender(pilot.app)
        driver = pilot.app._driver
        assert driver is not None
        driver.send_message(event)
        await settle(pilot)


class Screen:
    """A person at the screen, who presses keys by what is to be read there."""

    def __init__(self, app: SumpgateApp, pilot: Pilot[int]) -> None:
        self.app, self._pilot = app, pilot

    async def text(self) -> str:
        await settle(self._pilot)
        return screen_text(self.app)

    async def press(self, *keys: str) -> str:
        await press(self._pilot, *keys)
        return await self.text()

    async def type(self, words: str) -> str:
        return await self.press(*words, "enter")

    async def until(self, words: str) -> str:
        """Return the screen that has these words; in real time, the job runs on."""
        text = ""
        for _ in range(2400):
            if words in (text := await self.text()):
                return text
            await asyncio.sleep(0.05)
        raise AssertionError(f"never seen: {words}\n{text}")

    async def take(self, step: str, row: str, answer: str = "") -> None:
        """Put the cursor on a row of a step's page, press Enter, and answer."""
        await self._to(["right"] * 20 + ["left"] * 20, rf"▶ . {step}")
        await self._to(["down"] * 30 + ["up"] * 40, rf"▶ \[.\] {row}")
        await self.press("enter")
        if answer:
            await self.type(answer)

    async def _to(self, keys: Sequence[str], wanted: str) -> None:
        for key in keys:
            if re.search(wanted, text := await self.text()):
                return
            await self.press(key)
        raise AssertionError(f"not reached: {wanted}\n{text}")

    async def job_seconds(self, seconds: float) -> None:
        """Let time of the job pass, as its rows tell it."""
        until_s = self._at_s() + seconds
        while self._at_s() < until_s:  # noqa: ASYNC110 - as a person looks at a clock
            await asyncio.sleep(0.02)

    def _at_s(self) -> float:
        seen = self.app.live_snapshot()
        return seen.t_s if seen else 0.0


async def by_keys(at: Screen) -> None:
    """Do the whole service."""
    await at.until("Before you start")
    while "read on" in (text := await at.text()) or "I have read" in text:
        await at.press("enter")
    await at.take("which gearbox", "shallow pan")
    await at.take("parts and tools", "All here")
    await at.take("the car before", "Odometer", "123456")
    await at.take("the car before", "Save fault codes")
    await at.take("open the fill plug", "This step is done")
    await at.take("drain", "Came out: pan", "5.2 at 32")
    await at.take("the old fluid", "Dark or brown")
    await at.take("the old fluid", "This step is done")
    await at.take("filter", "torque")
    for row in ("new washer", "torque 28", "new seal", "torque 3.5", "then 60"):
        await at.take("refit plugs", row)
    await at.take("fill", "Went in", "5.5 at 20")
    await at.take("work the selector", "Simulated car: start")
    await at.press("minus", "minus")  # a hold a busy machine ends late does not count
    await at.take("work the selector", "Start: the screen paces it")
    while "exercise is done" not in (text := await at.text()):
        if "Confirm only if" in text or "begin again" in text:
            await at.press("enter")
        await asyncio.sleep(0.05)
    await at.press("enter")
    await at.take("set the level", "Go to the live screen")
    await at.press("plus", "plus", "plus", "plus")
    await at.until("Get under the car")
    await at.press("minus", "minus", "minus")
    await at.until("Open the level plug now")
    await at.press("space")
    for gap_s in DRIPS_AFTER_S:
        await at.job_seconds(gap_s)
        await at.press("space")
    await at.until("Close the level plug")
    await at.press("c")
    await at.until("Level: ")
    await at.press("j")
    await at.take("set the level", "Ran out", "0.12")
    await at.take("set the level", "new washer")
    await at.take("set the level", "torque 16")
    await at.take("close up", "Simulated car: stop")
    await at.take("close up", "new seal")
    await at.take("close up", "torque 9")
    await at.take("recheck", "This step is done")
    await at.take("the car after", "Odometer", "123470")
    await at.take("the car after", "Save fault codes")
    await at.take("next due", "This step is done")
    await at.take("next due", "Close the service")
    await at.press("q")


JUGS = (
    "measuring jugs, a wide pan, gloves with cuffs, eye protection, cloths without lint"
)
LINES = (
    "confirm cautions",
    "variant shallow pan",
    "done identify",
    "tick automatic fluid in closed bottles",
    "tick flat filter with the seal of its neck",
    "tick pan gasket with its set of seventeen bolts",
    "tick sealing washer for the drain plug",
    "tick sealing washer for the standpipe plug",
    "tick small torque wrench, and a dial for the angle",
    "tick filling pump with a hose that is bent at its end",
    f"tick {JUGS}",
    "done parts",
    "odometer 123456 km",
    "codes",
    "done before",
    "done fill-plug",
    "out pan 5.2 L at 32 C",
    "done drain",
    "saw old-fluid dark",
    "done old-fluid",
    "tick filter bolts tightened",
    "done filter",
    "tick drain plug renewed",
    "tick drain plug tightened",
    "tick pan bolts renewed",
    "tick pan bolts tightened",
    "tick pan bolts angle",
    "done refit",
    "in 5.5 L at 20 C",
    "done fill",
    "tick selector worked",
    "confirm selector-exercised",
)
AFTER_LINES = (
    "ran-off 0.12 L",
    "tick standpipe plug renewed",
    "tick standpipe plug tightened",
    "tick filler plug renewed",
    "tick filler plug tightened",
    "done closing",
    "done recheck",
    "odometer 123470 km",
    "codes",
    "done after",
    "done due",
    "next-due",
    "close",
)


def level_step(typist: Typist, tell: Callable[[str], None]) -> None:
    """Open at GO, mark the drips, close: each told as ``tell`` does."""
    typist.until(lambda row: row["verdict"] == "GO")
    tell("opened")
    typist.until(lambda row: row["step"]["phase"] == "running-down")
    for gap_s in DRIPS_AFTER_S:
        due_s = typist.rows[-1]["t_s"] + gap_s
        typist.until(lambda row, due_s=due_s: row["t_s"] >= due_s)
        tell("drip")
    typist.until(lambda row: row["step"]["phase"] in ("settled", "close"))
    tell("closed")
    typist.until(lambda row: row["step"]["judgement"])


def by_lines(folder: Path, job: Path) -> None:
    """Do the whole service."""
    args = ("demo", "--profile", SHEET, "--json", "--speed", "60", "--for", "3000")
    with typing(folder, *args, "--record", str(job), "--who", "Kim") as typist:
        typist.until(lambda row: row["codes"] is not None)
        for line in LINES:
            typist.type(line)
        level_step(typist, typist.type)
        for line in AFTER_LINES:
            typist.type(line)
        typist.until(lambda row: "level" not in row["service"]["open"])
        last_s = typist.rows[-1]["t_s"] + 20.0
        typist.until(lambda row: row["t_s"] > last_s)


class Phone:
    """A paired phone: sends marks as the page's buttons do."""

    def __init__(self, typist: Typist) -> None:
        told = typist.error_line()
        while not (found := re.search(r"http://([^/:]+):(\d+)/(\w+)", told)):
            told = typist.error_line()
        self._host, self._port = found[1], int(found[2])
        _, self._cookie = self._post("/pair", {"token": found[3]})
        self._nonces = (f"{n:032x}" for n in itertools.count())

    def _post(self, path: str, body: object) -> tuple[dict[str, Any], str]:
        place = f"{self._host}:{self._port}"
        sent = {"Host": place, "Origin": f"http://{place}"}
        sent["Content-Type"] = "application/json"
        if path != "/pair":
            sent["Cookie"] = self._cookie
        link = http.client.HTTPConnection(self._host, self._port, timeout=20)
        with contextlib.closing(link):
            link.request("POST", path, json.dumps(body), sent)
            answer = link.getresponse()
            text = answer.read()
            assert answer.status == 200, (answer.status, text)
            cookie = (answer.getheader("set-cookie") or "").partition(";")[0]
            return json.loads(text), cookie

    def press(self, mark: str) -> None:
        nonce = next(self._nonces)
        told, _ = self._post(
            "/mark", {"mark": mark, "nonce": nonce, "at_s": time.monotonic()}
        )
        assert told["outcome"] == "taken", told


def by_phone(folder: Path, job: Path) -> None:
    """Do the level step; what no phone may confirm is typed."""
    args = ("demo", "--profile", SHEET, "--json", "--speed", "60", "--for", "3000")
    more = ("--phone", "--phone-port", "0", "--record", str(job))
    with typing(folder, *args, *more) as typist:
        phone = Phone(typist)
        typist.type("confirm cautions")
        typist.type("confirm selector-exercised")
        level_step(typist, phone.press)


def comparable(event: PersonEvent) -> PersonEvent:
    """Leave out when it was and by whom, and by which clock the lever was paced."""
    if not isinstance(event, ServiceEvent):
        return replace(event, t_s=0.0)
    car = event.car and replace(event.car, voltage_v=None, engine_rpm=None)
    paced = event.kind is ServiceKind.EXERCISED
    text = "" if paced else event.text
    step = None if paced else event.step
    return replace(event, t_s=0.0, at_utc_s=None, who="", car=car, text=text, step=step)


def told_in(job: Path) -> list[PersonEvent]:
    """Return what a person told, as the file has it."""
    assert check(job).state in (FileState.INTACT, FileState.OPEN)
    with reading(job) as db:
        events = [event_of(row) for row in rows(db)]
    return [comparable(e) for e in events if isinstance(e, PersonEvent)]


def at_the_screen(folder: Path, job: Path) -> None:
    """Run the program with its screen, by keys."""

    def run(app: SumpgateApp) -> int:
        async def work() -> int:
            async with app.run_test(size=(120, 50)) as pilot:
                await by_keys(Screen(app, pilot))
            return app.return_value or 0

        try:
            return asyncio.run(work())
        finally:
            app.stop_feed()

    with pytest.MonkeyPatch.context() as patch:
        for name in ("HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME"):
            patch.setenv(name, str(folder))
        patch.chdir(folder)  # where a calendar file would go
        patch.setattr(run_screen, "need_terminal", lambda: None)
        patch.setattr(run_screen, "run_screen", run)
        for module in (cover, service_screen):
            patch.setattr(module, "QUIET_S", 0.0)  # nobody's key slips here
        args = ["demo", "--service", "--speed", "20", "--record", str(job)]
        assert main([*args, "--who", "Kim"]) == 0


def without(events: list[PersonEvent], kind: ServiceKind) -> list[PersonEvent]:
    return [e for e in events if getattr(e, "kind", None) is not kind]


@pytest.mark.slow
def test_a_service_is_the_same_story_by_keys_by_lines_and_by_phone(
    tmp_path: Path,
) -> None:
    found = {}
    for way, do in (("keys", at_the_screen), ("lines", by_lines), ("phone", by_phone)):
        do(tmp_path, tmp_path / f"{way}.sumpgate")
        found[way] = told_in(tmp_path / f"{way}.sumpgate")
    # The bench of the lines idles all the while, so its session sees a dry run.
    lines = without(found["lines"], ServiceKind.RAN_DRY)
    assert found["keys"] == lines
    assert len(lines) > 40
    level_by_keys = [e for e in found["keys"] if isinstance(e, Marked)]
    assert found["phone"] == level_by_keys
    assert [e.mark for e in level_by_keys if e.confirms is None] == [
        Mark.OPENED,
        *[Mark.DRIP] * len(DRIPS_AFTER_S),
        Mark.CLOSED,
    ]

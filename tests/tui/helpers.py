"""What the screen tests share: an app on a stage, and the text it shows."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path

from textual.pilot import Pilot

from bridge.snapshot import Snapshot
from bridge.values.sheet import Sheet
from tests.tui.stage import SHEET, StagedFeed
from tui.feeds.monitor_feed import MonitorFeed
from tui.live.app import SumpgateApp
from tui.live.cover import QUIET_S
from tui.settings import Settings


@dataclass
class Clock:
    """A real-time clock that stands still until the test moves it."""

    now_s: float = 1000.0

    def __call__(self) -> float:
        return self.now_s


@dataclass
class Stage:
    """An app under test with everything around it."""

    app: SumpgateApp
    feed: StagedFeed
    clock: Clock
    pilot: Pilot[int]
    bells: list[tuple[float, ...]] = field(default_factory=list)

    async def play(self, *snapshots: Snapshot) -> str:
        """Deliver snapshots one by one, each of them shown; return the last text."""
        for snapshot in snapshots:
            self.feed.deliver(snapshot)
            self.app.check_contact()
        return await self.text()

    async def text(self) -> str:
        """Return what the screen shows, line by line."""
        await settle(self.pilot)
        return screen_text(self.app)

    async def press(self, *keys: str) -> str:
        await self.pilot.press(*keys)
        return await self.text()

    async def type(self, key: str, text: str) -> str:
        """Press a key that asks, and answer it."""
        spelled = ("space" if c == " " else c for c in text)
        return await self.press(key, *spelled, "enter")

    async def resize(self, width: int, height: int) -> str:
        await self.pilot.resize_terminal(width, height)
        return await self.text()

    async def read_cautions(self) -> None:
        """Read on, page by page, until they are taken as read."""
        while not self.app._confirmed:
            await self.pilot.press("enter")

    def a_second_passes(self) -> None:
        """Let the time pass in which no key marks anything after a page."""
        self.clock.now_s += QUIET_S

    async def silence(self, seconds: float) -> str:
        """Let real time pass without a snapshot."""
        self.clock.now_s += seconds
        self.app.check_contact()
        return await self.text()


async def settle(pilot: Pilot[int]) -> None:
    """Wait until every widget has worked through its queue, and laid itself out.

    Twice: the first round may ask for a new layout. No time is involved, where
    Pilot's plain pause() waits for the processor to fall idle.
    """
    for _ in range(2):
        await pilot.pause(0)


async def _nothing(_: object) -> None:
    """Watch no car."""


def screen_text(app: SumpgateApp) -> str:
    strips = app.screen._compositor.render_strips()
    return "\n".join("".join(s.text for s in strip) for strip in strips)


@asynccontextmanager
async def staged(
    folder: Path,
    *,
    size: tuple[int, int] = (80, 24),
    settings: Settings | None = None,
    sheet: Sheet = SHEET,
    feed: StagedFeed | None = None,
    source: str = "bench, cold start",
    confirmed: bool = True,
    bench: bool = False,
    said: str = "",
) -> AsyncIterator[Stage]:
    feed = feed or StagedFeed()
    clock = Clock()
    app = SumpgateApp(
        sheet=sheet,
        feed=feed,
        settings=settings or Settings(),
        source=source,
        settings_path=folder / "settings.toml",
        clock=clock,
    )
    if said:  # before there is a screen to say it on, as notes of a job are
        app.call_later(app._say_lately, said, "news")
    app.bench = MonitorFeed(_nothing) if bench else None
    async with app.run_test(size=size) as pilot:
        stage = Stage(app=app, feed=feed, clock=clock, pilot=pilot)
        app.ring = lambda strokes_s: stage.bells.append(strokes_s)  # type: ignore[method-assign]
        await settle(pilot)
        if confirmed and size >= (60, 20):
            await stage.read_cautions()
            stage.a_second_passes()
        yield stage

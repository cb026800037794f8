"""Draws each state of the screen as SVG into docs/screens.

Run from the repository's root: ``python tests/show/screens.py``; with ``frame`` it
draws nothing and measures the first frame beside a bare app's.
"""

from __future__ import annotations

import asyncio
import json
import os
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
os.environ.pop("NO_COLOR", None)  # but for those that are to have none
os.environ["COLORTERM"] = "truecolor"

# The lines above come first: they let this file run from anywhere.
from bridge.snapshot import Snapshot  # noqa: E402
from tests.show.parts.screens.frame import measure  # noqa: E402
from tests.show.parts.screens.svg import export  # noqa: E402
from tests.tui.stage import (  # noqa: E402
    COOL_DOWN,
    SHEET,
    WARM_UP,
    Curve,
    StagedFeed,
    connecting,
    lost,
    never,
    stale,
)
from tests.tui.words.test_step_never_cut import OPEN_STATES, RESULTS  # noqa: E402
from tui.live.app import SumpgateApp  # noqa: E402
from tui.settings import Settings  # noqa: E402
from tui.widgets.palettes import THEMES, palette  # noqa: E402

TARGET = ROOT / "docs" / "screens"
SIZES = ((80, 24), (120, 40))
PLAIN = "no-color"
LOOKS = (*THEMES, PLAIN)


@dataclass(frozen=True, kw_only=True)
class State:
    """One picture: what came before, what shows, and on what sizes."""

    name: str
    story: tuple[Snapshot, ...]
    cautions: bool = False
    unit: str = "C"
    sizes: tuple[tuple[int, int], ...] = SIZES
    looks: tuple[str, ...] = ("dark",)
    """Themes, or without color."""


def told(curve: Curve, until_s: float, step_s: float = 2.0) -> Iterator[Snapshot]:
    """Return the snapshots of the last quarter of an hour."""
    t_s = max(0.0, until_s - 900)
    while t_s < until_s:
        yield curve.snapshot(t_s)
        t_s += step_s
    yield curve.snapshot(until_s)


def states() -> list[State]:
    """Return every state worth a picture."""
    go = WARM_UP.t_at(45.0)
    late = WARM_UP.t_at(52.0) - 85
    slow = Curve(constant_s=2600.0)
    cold = slow.t_at(34.0)
    hot = COOL_DOWN.t_at(65.0)
    dropout = [
        stale(s.t_s, s.t_s - cold + 190, slow) if cold - 190 < s.t_s < cold - 130 else s
        for s in told(slow, cold)
    ]
    return [
        State(name="connecting", story=(connecting(),)),
        State(name="cautions", story=tuple(told(slow, cold)), cautions=True),
        State(
            name="too-cold",
            story=tuple(dropout),
            sizes=((60, 20), *SIZES),
            looks=LOOKS,
        ),
        State(
            name="go",
            story=tuple(told(WARM_UP, go)),
            sizes=((60, 20), *SIZES),
            looks=LOOKS,
        ),
        State(name="go-fahrenheit", story=tuple(told(WARM_UP, go)), unit="F"),
        State(name="go-shuts-soon", story=tuple(told(WARM_UP, late))),
        State(name="too-hot", story=tuple(told(COOL_DOWN, hot))),
        State(name="link-lost", story=(*told(WARM_UP, go), lost(go + 14, 14.0))),
        State(name="stale", story=(*told(WARM_UP, go), stale(go + 4, 4.0))),
        State(
            name="may-never",
            story=tuple(never(float(t)) for t in range(0, 1000, 2)),
        ),
        *(
            State(
                name=f"result-{came.name.lower().replace('_', '-')}",
                story=(snapshot,),
                sizes=((80, 24), (60, 20)),
            )
            for snapshot, came in RESULTS[:4]
        ),
        State(name="plug-open", story=(OPEN_STATES[0],), sizes=((80, 24), (60, 20))),
        State(
            name="terminal-too-small",
            story=(slow.snapshot(cold),),
            cautions=True,  # nothing can be read there, so nothing is confirmed
            sizes=((40, 12),),
        ),
    ]


async def draw(state: State, size: tuple[int, int], look: str, folder: Path) -> Path:
    """Play the story to a fresh app and save what it then shows."""
    feed = StagedFeed()
    if look == PLAIN:
        os.environ["NO_COLOR"] = "1"
    else:
        os.environ.pop("NO_COLOR", None)
    theme = "dark" if look == PLAIN else look
    app = SumpgateApp(
        sheet=SHEET,
        feed=feed,
        settings=Settings(temperature_unit=state.unit, theme=theme),
        source="bench, cold start",
        settings_path=folder / "settings.toml",
    )
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        while not (state.cautions or app._confirmed):  # read on, page by page
            app.action_confirm()
            await pilot.pause()
        for snapshot in state.story:
            feed.deliver(snapshot)
            app.check_contact()
        await pilot.pause()
        shown = "" if look == "dark" else f"-{look}"
        name = f"{state.name}{shown}-{size[0]}x{size[1]}.svg"
        TARGET.mkdir(parents=True, exist_ok=True)
        svg = export(app, palette(theme, "truecolor")["ground"])
        (TARGET / name).write_text(svg, encoding="utf-8")
    return TARGET / name


async def main() -> None:
    """Draw every state in every size, say what was drawn."""
    drawn = []
    with tempfile.TemporaryDirectory() as folder:
        for state in states():
            for size in state.sizes:
                for look in state.looks:
                    path = await draw(state, size, look, Path(folder))
                    drawn.append(path.name)
                    print(path.relative_to(ROOT))
    print(json.dumps({"screens": len(drawn)}))


if __name__ == "__main__":
    if sys.argv[1:] == ["frame"]:
        sys.exit(measure())
    asyncio.run(main())

"""Foreign text, plain terminals, and snapshots that make no sense."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bridge.snapshot import Snapshot
from bridge.values.sheet import Sheet, Window
from tests.tui.helpers import Stage, screen_text, staged
from tests.tui.oddities import snapshots
from tests.tui.stage import COOL_DOWN, WARM_UP, lost
from tui.settings import Settings

GO = WARM_UP.snapshot(WARM_UP.t_at(45.0))
COLD = WARM_UP.snapshot(WARM_UP.t_at(34.0))

HOSTILE = "[/x] [bold red]\x1b[2J\x07\n‮evil‬ [link=x]" + "A" * 5000


async def hostile_stage(stage: Stage) -> str:
    await stage.play(replace(GO, link_detail=HOSTILE, selector=HOSTILE))
    await stage.press("question_mark", "question_mark")
    return await stage.text()


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (40, 12)])
@pytest.mark.few(1)
async def test_hostile_text_is_shown_as_text(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    sheet = Sheet(
        name=HOSTILE,
        source=HOSTILE,
        window=Window(low_c=42.0, high_c=52.0),
        cautions=(HOSTILE,),
        steps=(HOSTILE,),
        origin=HOSTILE,
    )
    async with staged(tmp_path, sheet=sheet, source=HOSTILE, size=size) as stage:
        text = await hostile_stage(stage)
        assert "\x1b" not in text
        assert "\x07" not in text
        assert "‮" not in text
        if size[0] >= 60:
            assert "[/x]" in text


async def test_ascii_terminals_get_ascii_only(tmp_path: Path) -> None:
    settings = Settings(symbols="ascii")
    for size in ((60, 20), (80, 24), (120, 40)):
        async with staged(tmp_path, settings=settings, size=size) as stage:
            for snapshot in (COLD, GO, COOL_DOWN.snapshot(600.0), lost(700.0, 9.0)):
                text = await stage.play(snapshot)
                assert text.isascii()
                assert all(len(line) == size[0] for line in text.splitlines())
            assert (await stage.press("question_mark")).isascii()


async def test_without_colour_no_colour_is_sent(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """https://no-color.org: with NO_COLOR set, no ANSI colour is added."""
    monkeypatch.setenv("NO_COLOR", "1")
    async with staged(tmp_path) as stage:
        text = await stage.play(GO)
        assert "╔" in text
        assert "✔ Fluid in window" in text
        console = stage.app.console
        update = stage.app.screen._compositor.render_update(full=True)
        sent = update.render_segments(console)
        # SGR 30-37, 40-47, 90-97, 100-107, 38 and 48 are colours (ECMA-48).
        codes = {
            c for seq in re.findall(r"\x1b\[([\d;]*)m", sent) for c in seq.split(";")
        }
        assert not codes & {str(n) for n in (*range(30, 39), *range(40, 49))}
        assert not codes & {str(n) for n in (*range(90, 98), *range(100, 108))}


@settings(max_examples=6, suppress_health_check=list(HealthCheck))
@given(
    snapshots=st.lists(snapshots, min_size=20, max_size=40),
    size=st.sampled_from([(60, 20), (80, 24), (120, 40), (40, 12)]),
)
@pytest.mark.slow
async def test_no_snapshot_breaks_the_screen(
    tmp_path_factory: pytest.TempPathFactory,
    snapshots: list[Snapshot],
    size: tuple[int, int],
) -> None:
    async with staged(tmp_path_factory.mktemp("odd"), size=size) as stage:
        for k, snapshot in enumerate(snapshots):
            stage.feed.deliver(snapshot)
            stage.app.check_contact()
            if k % 5 == 0:
                screen_text(stage.app)
        text = await stage.text()
        assert len(text.splitlines()) == size[1]


async def test_without_color_no_other_colors_are_offered(tmp_path, monkeypatch):
    monkeypatch.delenv("NO_COLOR", raising=False)
    async with staged(tmp_path, size=(120, 40)) as stage:
        assert "v  colors" in await stage.text()
        await stage.press("v")
        assert stage.app.settings.theme != "dark"
    monkeypatch.setenv("NO_COLOR", "1")
    async with staged(tmp_path, size=(120, 40)) as stage:
        assert "colors" not in await stage.text()
        await stage.press("v")
        assert stage.app.settings.theme == "dark"

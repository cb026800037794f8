"""The two lines below the banner at four sizes: what they say is never cut."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.snapshot import Snapshot
from bridge.values.conditions import Reason, Verdict
from bridge.values.outlook import Crossing
from bridge.values.sheet import LevelMethod, Sheet
from tests.tui.helpers import staged
from tests.tui.stage import SHEET
from tests.tui.words.test_step_never_cut import INSIDE, OPEN_STATES, SIZES, plain
from tui.live.screen_state import Contact, ScreenInputs, screen_state

MAKER = "The maker's procedure comes first."


def told(sheet: Sheet, snapshot: Snapshot) -> tuple[str, str]:
    view = ScreenInputs(sheet=sheet, unit="C", contact=Contact.HELD, snapshot=snapshot)
    now = screen_state(view)
    return now.headline, now.remedy


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("method", list(LevelMethod))
@pytest.mark.few(2)
async def test_go_is_told_whole(size, method, tmp_path):
    sheet = replace(SHEET, method=method)
    assert INSIDE.step is None
    async with staged(tmp_path, size=size, sheet=sheet) as stage:
        shown = plain(await stage.play(INSIDE))
        headline, remedy = told(sheet, INSIDE)
        assert headline.startswith("Set the level now: ")
        assert remedy.endswith(MAKER)
        assert headline in shown
        assert remedy in shown


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.few(1)
async def test_go_that_shuts_soon_is_told_whole(size, tmp_path):
    assert isinstance(INSIDE.shuts, Crossing)
    soon = replace(INSIDE, shuts=replace(INSIDE.shuts, p05_s=70.0))
    async with staged(tmp_path, size=size) as stage:
        shown = plain(await stage.play(soon))
        headline, remedy = told(SHEET, soon)
        assert "shuts soon" in headline
        assert headline in shown
        assert remedy in shown


def test_what_comes_first_is_said_before_it_is_opened():
    """While it runs out there are other things to read."""
    for snapshot in OPEN_STATES:
        headline, remedy = told(SHEET, snapshot)
        assert MAKER not in headline + remedy


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.few(1)
async def test_every_reason_is_told_whole(size, tmp_path):
    async with staged(tmp_path, size=size) as stage:
        for reason in Reason:
            no = replace(INSIDE, verdict=Verdict.NO_GO, reasons=(reason, reason))
            text = await stage.play(no)
            shown = plain(text.replace("+1 more", ""))
            headline, remedy = told(SHEET, no)
            assert "+1 more" in text
            assert headline in shown
            if size[1] >= 24:
                assert remedy in shown

"""What the page says of keys: they are the laptop's, and it says so."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from bridge.values.conditions import Reason, Verdict
from tests.tui.stage import SHEET, Curve
from tui.live.screen_state import Contact
from tui.phone.message import Scene, message

CURVE = Curve()
_KEY = re.compile(r"\bpress (\w|Enter)\b|\(key ", re.IGNORECASE)


def said(reason: Reason, *, unread: bool) -> str:
    inside = CURVE.snapshot(CURVE.t_at(45.0))
    no = replace(inside, verdict=Verdict.NO_GO, reasons=(reason,))
    scene = Scene(
        sheet=SHEET,
        unit="C",
        contact=Contact.HELD,
        snapshot=inside if unread else no,
        unread=unread,
        stale_s=2.0,
    )
    return str(message(scene, sent_s=0.0, call=None)["remedy"])


@pytest.mark.parametrize("reason", list(Reason))
@pytest.mark.few(6)
def test_a_key_that_helps_is_said_to_be_the_laptops(reason: Reason) -> None:
    remedy = said(reason, unread=False)
    assert bool(_KEY.search(remedy)) == remedy.startswith("On the laptop: ")


def test_the_cautions_are_read_on_the_laptop() -> None:
    remedy = said(Reason.READING_STALE, unread=True)
    assert remedy == "On the laptop: Once you have read them, press Enter."

"""docs/words.md holds every sentence; the words given up stay given up."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.show.words import PAGE, page, sentences
from tests.tui.stage import SHEET
from tui.inputs.offers import CONFIRM_KEYS, key_of
from tui.live import pages
from tui.live.app import SumpgateApp

ROOT = Path(__file__).resolve().parents[3]
GIVEN_UP = (
    *("surplus", "believ", "anew", "afresh,", "millilitre", "litres", "colour"),
    *("not met", "Stays inside", "Car stands", "Supply", "worth −", "is told"),
    *("key on the level plug", "said of the level", "Take the foot off"),
)


def test_the_page_holds_every_sentence():
    assert page() == PAGE.read_text(encoding="utf-8"), "run tests/show/words.py"


@pytest.mark.parametrize(
    "path",
    sorted(
        [*(ROOT / "tui" / "words").glob("*.py"), *(ROOT / "tui/service").rglob("*.py")]
    ),
    ids=lambda path: path.stem,
)
def test_no_sentence_has_a_word_that_was_given_up(path: Path):
    for sentence in sentences(path):
        for word in GIVEN_UP:
            assert word not in sentence


def test_the_help_has_every_key():
    told = pages.help_text(SHEET)
    for what in CONFIRM_KEYS:
        assert f"{key_of(what)}: confirm {what.value.replace('-', ' ')}." in told
    named = {"space", "pagedown", "pageup", "enter", "question_mark", "plus", "minus"}
    for binding in SumpgateApp.BINDINGS:
        key = str(getattr(binding, "key", "")).split(",")[0]
        if len(key) == 1 and key.isalpha() and key not in named:
            assert any(mark in told for mark in (f"{key}: ", f"{key} ", f"{key} or")), (
                key
            )

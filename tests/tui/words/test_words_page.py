"""docs/words.md holds every sentence; the words given up stay given up."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests import house
from tests.show.words import PAGE, page, sentences
from tests.tui.stage import SHEET
from tui.inputs.offers import CONFIRM_KEYS, key_of
from tui.live.app import SumpgateApp
from tui.words.screen import pages

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
    sorted(p for k in ("words", "service") for p in (ROOT / "tui" / k).rglob("*.py")),
    ids=lambda path: path.stem,
)
def test_no_sentence_has_a_word_that_was_given_up(path: Path):
    for sentence in sentences(path):
        for word in GIVEN_UP:
            assert word not in sentence


PLANTED = """
'No sentence: a docstring of the module.'
CSS = "a { color: red; width: 1; height: 2 }"
LABEL = "three words fit"
OUTSIDE = "four words are many"
def say(a, log, fail):
    log(kind="a kind for the log")
    fail(UsageError("--port names no port: say another"))
    return f"{a} stands {a:>{a}} here {a!r} outside too"
"""


def test_a_sentence_outside_tui_words_is_found(tmp_path: Path):
    for folder in house.WORDLESS:
        (tmp_path / folder).mkdir(parents=True)
        (tmp_path / folder / "planted.py").write_text(PLANTED, encoding="utf-8")
    found = house.spoken(tmp_path)
    assert len(found) == 2 * len(house.WORDLESS)
    assert "tui/feeds/planted.py:5 says 'four words are many'" in found[0]
    assert "tui/feeds/planted.py:9 says 'stands here outside too'" in found[1]


def test_no_sentence_stands_outside_tui_words():
    assert house.spoken(ROOT) == []


TOLD = """
class Kept:
    told: Log = ()
    @property
    def told(self) -> Log: return begin(told=self.told)
def kept(told: Log | None): told = snapshot.told or (); return told
def loose(told: bytes): ...
def told(): return [told for told in ()]
told = None
"""


def test_told_is_the_log_of_what_a_person_told_and_nothing_else(tmp_path: Path):
    (tmp_path / "bridge").mkdir()
    (tmp_path / "bridge" / "kept.py").write_text(TOLD, encoding="utf-8")
    lines = sorted(int(said.split(":")[1].split()[0]) for said in house.loose(tmp_path))
    assert lines == [7, 8, 8, 9]
    assert house.loose(ROOT) == []


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

"""Cause and sentence are held together: each way of not reading has its own words."""

from __future__ import annotations

from bridge.protocol.reply import REFUSALS, STATUS_TEXTS
from bridge.values.causes import OF_NEGATIVE_RESPONSE, Cause
from tui.words.link_wording import CAUSES, sentence


def test_every_cause_has_a_sentence_and_a_remedy_of_its_own() -> None:
    assert set(CAUSES) == set(Cause)
    assert len({told.what for told in CAUSES.values()}) == len(Cause)
    for cause, told in CAUSES.items():
        for text in told:
            assert text, cause
            assert not text.endswith((".", ":")), cause
            assert text == text.strip(), cause
        assert told.remedy in sentence(cause)


def test_what_was_heard_stands_in_the_sentence() -> None:
    assert "(BUS INIT: ...ERROR)" in sentence(
        Cause.BUS_INIT_FAILED, "BUS INIT: ...ERROR"
    )
    assert sentence(None, "the port is open") == "the port is open"
    assert sentence(None) == ""


def test_every_status_text_and_every_negative_response_has_a_cause() -> None:
    assert set(STATUS_TEXTS.values()) <= set(CAUSES)
    assert set(OF_NEGATIVE_RESPONSE) <= set(REFUSALS)

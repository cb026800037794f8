"""A change that matters is one sentence; what flickers waits, the end of GO never."""

from __future__ import annotations

from dataclasses import replace

from bridge.values.conditions import Reason, Verdict
from bridge.values.readings import LinkState
from tests.tui.stage import SHEET, Curve
from tui.headless.plain_teller import HOLD_S, PlainTeller

CURVE = Curve()
INSIDE_S = CURVE.t_at(45.0)


def teller() -> PlainTeller:
    made = PlainTeller(SHEET, "C")
    made.unread = False
    return made


def test_a_warm_up_is_told_in_a_few_sentences() -> None:
    told, said = teller(), []
    for tick in range(int(INSIDE_S * 4)):
        said += told.take(CURVE.snapshot(tick / 4))
    assert said[0].startswith("NO-GO: Too cold: 25.0 °C, the window opens at 42 °C.")
    assert len([s for s in said if s.startswith("GO: Set the level now")]) == 1
    figures = [s for s in said if s.startswith("Fluid ")]
    assert [s[6:8] for s in figures] == ["25", "30", "35", "40", "42"]
    assert all("opens" in s for s in figures[:-1])
    assert len(said) < 20, said
    assert not [s for s in said if not s.endswith(".")]


def test_the_end_of_go_is_told_at_once_and_once() -> None:
    told, go = teller(), CURVE.snapshot(INSIDE_S)
    assert told.take(go)[0].startswith("GO: ")
    lost = replace(go, t_s=go.t_s + 0.25, link=LinkState.LOST, temp_c=None)
    (sentence,) = told.take(lost)
    assert sentence.startswith("NO-GO: ")
    assert told.take(replace(lost, t_s=go.t_s + 0.5)) == []


def test_a_reason_that_flickers_is_not_told() -> None:
    told, cold = teller(), CURVE.snapshot(0.0)
    told.take(cold)
    for tick in range(1, 40):
        at_s = tick * HOLD_S / 8
        flickers = cold if tick % 4 else replace(cold, reasons=(Reason.READING_STALE,))
        assert not [s for s in told.take(replace(flickers, t_s=at_s)) if "too old" in s]


def test_unread_cautions_stand_before_any_go() -> None:
    told = PlainTeller(SHEET, "C")
    said = told.take(CURVE.snapshot(INSIDE_S))
    assert said[0].startswith("NO-GO: Read the cautions first")
    assert "press Enter" in said[0]


def test_nothing_speaks_of_a_laptop_where_there_is_no_screen() -> None:
    for unread in (True, False):
        for reason in Reason:
            told = teller()
            told.unread = unread
            no = replace(CURVE.snapshot(INSIDE_S), reasons=(reason,))
            for snapshot in (no, replace(no, verdict=Verdict.NO_GO)):
                assert "laptop" not in " ".join(told.standing(snapshot))


def test_silence_ends_go_and_is_told_once() -> None:
    told = teller()
    assert told.quiet() == []  # nothing was said yet that could be taken for live
    told.take(CURVE.snapshot(INSIDE_S))
    (sentence,) = told.quiet()
    assert sentence.startswith("NO-GO: No data from the monitor.")
    assert told.quiet() == []
    assert told.take(CURVE.snapshot(INSIDE_S + 9.0))[0].startswith("GO: ")

"""Circuits and rounds on screen: what is said and asked of each."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from textual.geometry import Size

from bridge.level.step.machine import begin
from bridge.level.step.step_values import Phase
from bridge.units import Units
from bridge.values.conditions import Verdict
from bridge.values.service_sheet import StepKind
from tests.show.parts.service import leg_ways, walked, ways
from tui.live.screen_state import Contact, ScreenInputs, ScreenState, screen_state
from tui.service.pages.finishing import needs_no_more
from tui.service.pages.page_model import PageLine, PageView
from tui.service.pages.step_page import rows
from tui.service.service_widgets import ServiceHead
from tui.widgets.lines import Heading
from tui.words.service_words import what_is_next
from tui.words.wording import heading, window

DAY = date(2026, 11, 27)


def ready() -> ways.Job:
    job = leg_ways.begin("gill-two-circuits", random.Random(1), start_c=35.0)
    for line in (
        "out final drive plug 0.88 L at 20 C",
        "out pan 4.2 L at 20 C",
        "in final drive 0.9 L at 20 C",
        "in gear side 4.2 L at 20 C",
    ):
        job.say(line)
    leg_ways.confirm(job)
    assert job.until({Phase.GO})
    return job


def shown(job: ways.Job) -> ScreenState:
    return screen_state(
        ScreenInputs(sheet=job.sheet, unit="C", contact=Contact.HELD, snapshot=job.seen)
    )


def view_of(job: ways.Job, step: StepKind) -> PageView:
    return PageView(
        sheet=job.sheet,
        service=job.sheet.service,
        log=job.session.log,
        step=step,
        units=Units.METRIC,
        today=DAY,
        snapshot=job.seen,
    )


def page(job: ways.Job, step: StepKind) -> str:
    found = rows(view_of(job, step))
    return "\n".join(r.text for r in found if isinstance(r, PageLine))


def test_where_any_temperature_is_right_nothing_is_counted_down() -> None:
    job = ready()
    seen = shown(job)
    assert seen.verdict is Verdict.GO
    assert seen.opens.sentences == ("any temperature is right",)
    assert not seen.opens.big
    assert not seen.shuts.big
    assert not seen.shuts.sentences
    assert "stays at least" not in seen.remedy


@pytest.fixture
def second() -> ways.Job:
    """Return the job with the final drive's level set."""
    job = ready()
    job.say("opened")
    ways.mark_drips(job)
    return job


def test_its_result_does_not_ask_for_a_fill_it_does_not_need(second: ways.Job) -> None:
    came = shown(second).result
    assert came is not None
    assert came.how_much == ""
    assert came.line.endswith("any temperature was right.")


def test_over_the_steps_the_level_is_told_and_no_gate(second: ways.Job) -> None:
    head = ServiceHead().paint_state(shown(second), Size(80, 2))
    said = "".join(text for text, _ in head[0])
    assert "LEVEL GOOD" in said
    assert "NO-GO" not in said


@pytest.mark.parametrize("width", [60, 80, 120])
@pytest.mark.parametrize("way", ["tor-static-then-warm", "gill-two-circuits"])
def test_the_heads_phase_is_shortened_by_words_and_the_window_stays(
    way: str, width: int
) -> None:
    """At 80 columns the phase was cut in the middle of a word, its window with it."""
    sheet = ways.load(str(ways.WAYS_FOLDER / f"{way}.toml"))
    sheet = replace(sheet, name=f"{sheet.name} with a name as long as manuals have it")
    words = {w.strip(",:…") for w in f"sumpgate phase {sheet.name}".split()}
    for number, phase in enumerate(sheet.legs):
        step = replace(begin(0.0), leg=number, legs=len(sheet.legs))
        said = heading(sheet.at(number), step, "C")
        head = Heading()
        head.say(said, "×20 simulated car")
        (row,) = head.paint(Size(width, 1))
        text = "".join(part for part, _ in row)
        assert len(text) == width
        assert window(sheet.at(number), "C") in text
        whole = words | {w.strip(",:") for w in f"{said[0]} {text[-18:]}".split()}
        assert {w.strip(",:…") for w in text.split()} <= whole | {""}
        if width >= 80:
            assert phase.name in text


def test_the_level_page_names_each_level(second: ways.Job) -> None:
    second.say("next")
    said = page(second, StepKind.LEVEL)
    assert "Level, final drive, cold: good" in said
    assert "gear side, warm: good" not in said


def test_a_balance_of_nothing_is_said_so(second: ways.Job) -> None:
    said = page(second, StepKind.FILL)
    assert "As much in it as before (±" in said.replace("\n", " ")
    assert "0 mL more" not in said


def cairn(*lines: str) -> tuple[ways.Job, str, str]:
    """Return a service of three rounds, and its drain's and its fill's page."""
    sheet = str(ways.WAYS_FOLDER / "cairn-three-rounds.toml")
    job = ways._begin(sheet, random.Random(1))
    for line in lines:
        job.say(line)
    assert not job.refused
    return job, page(job, StepKind.DRAIN), page(job, StepKind.FILL)


ROUND = ("out pan 5.1 L at 20 C", "done drain", "in 5.1 L at 20 C", "done fill")


def test_the_pages_ask_anew_in_each_round() -> None:
    job, drain, _ = cairn(*ROUND)
    assert "that begins round 2" in drain.replace("\n", " ")
    said = what_is_next(job.sheet, job.session.log, StepKind.DRAIN)
    assert said == "Next: drain, round 2."
    assert not asked(job, StepKind.DRAIN)
    assert asked(job, StepKind.FILL)
    job, _, fill = cairn(*ROUND, ROUND[0])
    assert "Close every drain before you fill it again." in fill
    assert asked(job, StepKind.DRAIN)
    assert not asked(job, StepKind.FILL)
    job, drain, _ = cairn(*ROUND, *(2 * (ROUND[0], ROUND[2])))
    assert "that begins" not in drain
    assert asked(job, StepKind.DRAIN)
    assert asked(job, StepKind.FILL)


def test_the_plug_is_asked_for_in_each_round_and_ticked_anew() -> None:
    ticks = ("tick drain plug renewed", "tick drain plug tightened")
    bolts = ("tick pan bolts renewed", "tick pan bolts tightened")
    first = (ROUND[0], *ticks, *bolts, "tick pan bolts angle", ROUND[2])
    job, *_ = cairn(*first, ROUND[0])
    assert not asked(job, StepKind.REFIT)
    said = page(job, StepKind.REFIT)
    assert "drain plug (hex 15 mm, M14x1.5), round 2" in said
    assert "M6): all ticked" in said  # the bolts stayed in
    for line in ticks:
        assert not asked(job, StepKind.REFIT)
        job.say(line)
    assert not job.refused
    assert asked(job, StepKind.REFIT)
    job.say(ticks[0])
    assert "ticked off already" in job.refused[-1]
    job.say("untick drain plug renewed")
    assert not asked(job, StepKind.REFIT)


def asked(job: ways.Job, step: StepKind) -> bool:
    """Return whether all the amounts that a step's page needs are told."""
    return needs_no_more(list(rows(view_of(job, step))))


def test_the_recorded_walk_of_the_whole_service_reads_as_complete() -> None:
    """What the show looks for stands on the page, as the screens word it today."""
    page = Path(__file__).parents[3] / "docs" / "service-walk.md"
    found = walked.read(page.read_text("utf-8"), 0)
    assert found["walk_unseen"] == []
    assert found["walk_steps_done"] == found["walk_steps"] == 16
    assert {v for k, v in found.items() if isinstance(v, bool)} == {True}
    assert found["walk_replayed_events"] > 0

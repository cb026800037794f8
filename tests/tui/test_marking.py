"""The level step on screen: keys become marks, the imperative leads, bells differ."""

from __future__ import annotations

from collections.abc import AsyncIterator
from concurrent.futures import Future
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from bridge.level.settling.settle_time import usual
from bridge.level.settling.settle_values import Settling
from bridge.level.step.step_values import Bell, Instruction, Phase, Step
from bridge.snapshot import Snapshot
from bridge.values.conditions import (
    Condition,
    ConditionName,
    ConditionState,
    Reason,
    ToldBy,
    Verdict,
)
from bridge.values.events import Mark
from bridge.values.sheet import Confirmation
from tests.tui.helpers import Stage, settle, staged
from tests.tui.stage import SHEET, WARM_UP
from tui.live.cover import QUIET_S
from tui.live.notebook import Notebook
from tui.live.terminal import ASKED_S
from tui.words import step_wording, wording
from tui.words.instructions import instruction_text
from tui.words.screen.screen_words import FORGOTTEN, STAYS_OPEN, TAKEN_UP

INSIDE = WARM_UP.snapshot(WARM_UP.t_at(47.0))


@asynccontextmanager
async def on_stage(
    folder: Path, snapshot: Snapshot, *, confirmed: bool = True
) -> AsyncIterator[Stage]:
    async with staged(folder, confirmed=False) as stage:
        await stage.play(snapshot)
        if confirmed:
            await stage.read_cautions()
            stage.a_second_passes()
            stage.feed.told.clear()
        yield stage


def stepping(phase: Phase, instruction: Instruction, **more: object) -> Snapshot:
    step = Step(phase=phase, instruction=instruction, now_at_s=0.0, phase_at_s=0.0)
    return replace(INSIDE, step=replace(step, **more))  # type: ignore[arg-type]


GO = stepping(Phase.GO, Instruction.OPEN_NOW)
OPEN = stepping(Phase.RUNNING_DOWN, Instruction.WATCH, opened_at_s=0.0, past=(Step(),))
DONE = stepping(Phase.CLOSED, Instruction.TIGHTEN, opened_at_s=0.0)


@pytest.mark.parametrize("key", ["space", "pagedown", "enter"])
@pytest.mark.few(1)
async def test_the_one_key_opens_then_marks_drips(key, tmp_path):
    async with on_stage(tmp_path, GO) as stage:
        await stage.pilot.press(key)
        assert [t.mark for t in stage.feed.told] == [Mark.OPENED]
        stage.feed.deliver(OPEN)
        await settle(stage.pilot)
        await stage.pilot.press(key, key)
        assert [t.mark for t in stage.feed.told[1:]] == [Mark.DRIP, Mark.DRIP]


@pytest.mark.parametrize(
    ("key", "mark"),
    [
        ("c", Mark.CLOSED),
        ("pageup", Mark.CLOSED),
        ("n", Mark.NOTHING_CAME),
        ("s", Mark.STREAMING),
        ("z", Mark.UNDO),
        ("r", Mark.RESTART),
    ],
)
@pytest.mark.few(2)
async def test_the_other_keys(key, mark, tmp_path):
    snapshot = DONE if key == "r" else OPEN
    async with on_stage(tmp_path, snapshot) as stage:
        await stage.pilot.press(key)
        assert [t.mark for t in stage.feed.told] == [mark]


async def test_the_opening_can_be_marked_once_go_was_said_and_is_gone(tmp_path):
    gone = stepping(Phase.WAIT, Instruction.WAIT_READING, claimed=0.97)
    async with on_stage(tmp_path, gone) as stage:
        await stage.pilot.press("space", "enter")
        assert stage.feed.told == []
        await stage.pilot.press("o")
        assert [t.mark for t in stage.feed.told] == [Mark.OPENED]
    async with on_stage(tmp_path, replace(gone, step=Step(phase=Phase.WAIT))) as stage:
        await stage.pilot.press("o")
        assert stage.feed.told == []


@pytest.mark.parametrize(
    ("drips", "said"), [(0, "no drips"), (1, "1 drip"), (2, "2 d")]
)
def test_drips_too_few_to_tell_by_are_still_counted(drips: int, said: str) -> None:
    state = Settling(
        settle=usual(60.0),
        settled_chance=0.1,
        rate_per_s=None,
        more_ml=None,
        timer_only=True,
    )
    marked = tuple(float(n) for n in range(drips))
    step = stepping(
        Phase.RUNNING_DOWN,
        Instruction.WATCH,
        opened_at_s=0.0,
        drips_s=marked,
        settling=state,
    ).step
    assert step is not None
    assert step_wording.standing(step, "C")[-1].startswith(said)


async def test_no_mark_before_the_cautions_are_confirmed(tmp_path):
    async with on_stage(tmp_path, GO, confirmed=False) as stage:
        await stage.pilot.press("space", "c", "1", "z")
        assert stage.feed.told == []


async def test_nothing_calls_to_open_above_unread_cautions(tmp_path):
    async with on_stage(tmp_path, GO, confirmed=False) as stage:
        text = await stage.text()
        assert "╔" not in text  # the frame of GO
        assert "Read the cautions first" in text
        assert instruction_text(Instruction.OPEN_NOW) not in text
        await stage.read_cautions()
        text = await stage.text()
        assert "╔" in text
        assert instruction_text(Instruction.OPEN_NOW) in text


async def test_an_open_plug_is_called_in_above_unread_cautions(tmp_path):
    called = stepping(Phase.CLOSE, Instruction.CLOSE_WINDOW, opened_at_s=0.0)
    async with on_stage(tmp_path, called, confirmed=False) as stage:
        assert instruction_text(Instruction.CLOSE_WINDOW) in await stage.text()


async def test_the_call_to_open_waits_until_the_cautions_are_read(tmp_path):
    called = stepping(Phase.GO, Instruction.OPEN_NOW, rung=Bell.OPEN, rung_at_s=1.0)
    async with on_stage(tmp_path, called, confirmed=False) as stage:
        assert step_wording.BELLS_S[Bell.OPEN] not in stage.bells
        await stage.read_cautions()
        await stage.text()
        assert stage.bells[-1] == step_wording.BELLS_S[Bell.OPEN]


@pytest.mark.parametrize("key", ["enter", "space", "pagedown"])
@pytest.mark.few(1)
async def test_a_second_key_at_the_cautions_marks_nothing(key, tmp_path):
    async with on_stage(tmp_path, GO, confirmed=False) as stage:
        await stage.read_cautions()
        await stage.pilot.press(key)
        assert [t.mark for t in stage.feed.told] == [Mark.CONFIRMED]
        stage.a_second_passes()
        await stage.pilot.press(key)
        assert stage.feed.told[-1].mark is Mark.OPENED


async def test_a_key_held_down_at_the_cautions_marks_nothing(tmp_path):
    async with on_stage(tmp_path, GO, confirmed=False) as stage:
        await stage.pilot.press("enter")
        for _ in range(100):  # a terminal repeats a held key some 30 times a second
            stage.clock.now_s += 0.03
            await stage.pilot.press("enter")
        assert [t.mark for t in stage.feed.told] == [Mark.CONFIRMED]


COVERS = {"help": ("?", "?"), "a note": ("w", "escape"), "a prompt": ("a", "escape")}


@pytest.mark.parametrize("cover", COVERS)
@pytest.mark.parametrize(
    "key", ["space", "pagedown", "pageup", "c", "n", "s", "z", "2", "3"]
)
@pytest.mark.parametrize("snapshot", [GO, OPEN])
@pytest.mark.slow
async def test_no_key_marks_under_a_cover_nor_a_second_after(
    cover, key, snapshot, tmp_path
):
    over, back = COVERS[cover]
    async with on_stage(tmp_path, snapshot) as stage:
        stage.app._notebook = Notebook(lambda *_: Future(), lambda *_: None)
        await stage.pilot.press(over, key, back, key)
        stage.clock.now_s += 0.9 * QUIET_S
        await stage.pilot.press(key)
        assert stage.feed.told == []
        stage.a_second_passes()
        await stage.play(snapshot)  # a busy machine's timer must not find it silent
        await stage.pilot.press("space")
        assert len(stage.feed.told) == 1


async def test_q_with_the_plug_out_asks_once(tmp_path):
    async with on_stage(tmp_path, OPEN) as stage:
        await stage.pilot.press("q")
        assert stage.app._exit is False
        assert STAYS_OPEN in said(stage)
        assert FORGOTTEN in said(stage)  # there is no job file on this stage
        await stage.pilot.press("q")
        assert stage.app._exit
        assert stage.app.return_value == 0
        assert stage.feed.told == []


@pytest.mark.parametrize("stays", ["another key", "the time"])
async def test_q_asks_anew_after(stays, tmp_path):
    async with on_stage(tmp_path, OPEN) as stage:
        await stage.pilot.press("q")
        if stays == "another key":
            await stage.pilot.press("m")
        else:
            stage.clock.now_s += ASKED_S + 1.0
        await stage.pilot.press("Q")
        assert stage.app._exit is False
        await stage.pilot.press("q")
        assert stage.app._exit


async def test_q_asks_under_a_page_and_with_the_monitor_gone(tmp_path):
    async with on_stage(tmp_path, OPEN) as stage:
        await stage.press("?")
        await stage.silence(60.0)
        await stage.pilot.press("q")
        assert stage.app._exit is False


async def test_q_says_that_the_job_goes_on_where_it_is_recorded(tmp_path):
    async with on_stage(tmp_path, OPEN) as stage:
        stage.app._notebook = Notebook(lambda *_: Future(), lambda *_: None)
        await stage.pilot.press("q")
        assert TAKEN_UP in said(stage)


@pytest.mark.parametrize("snapshot", [GO, DONE])
async def test_q_with_the_plug_in_asks_nothing(snapshot, tmp_path):
    async with on_stage(tmp_path, snapshot) as stage:
        await stage.pilot.press("q")
        assert stage.app._exit


def said(stage: Stage) -> str:
    return " ".join(stage.app._sayings.rows(200))


async def test_a_terminal_too_small_to_read_marks_nothing(tmp_path):
    async with on_stage(tmp_path, GO) as stage:
        await stage.resize(40, 10)
        await stage.pilot.press("space", "enter")
        await stage.resize(80, 24)
        await stage.pilot.press("space")
        assert stage.feed.told == []


async def test_confirming_the_cautions_is_told_to_the_gate(tmp_path):
    async with on_stage(tmp_path, GO, confirmed=False) as stage:
        await stage.read_cautions()
        told = stage.feed.told[0]
        assert (told.mark, told.confirms) == (Mark.CONFIRMED, Confirmation.CAUTIONS)


async def test_a_confirmed_point_can_be_taken_back(tmp_path):
    given = stepping(Phase.WAIT, Instruction.WAIT, confirmed=(Confirmation.CAR_LEVEL,))
    async with on_stage(tmp_path, given) as stage:
        await stage.pilot.press("2", "3")
        assert [(t.mark, t.confirms) for t in stage.feed.told] == [
            (Mark.WITHDRAWN, Confirmation.CAR_LEVEL),
            (Mark.CONFIRMED, Confirmation.SELECTOR_EXERCISED),
        ]


async def test_an_amount_and_a_tilt_are_typed_on_the_bottom_line(tmp_path):
    async with on_stage(tmp_path, OPEN) as stage:
        await stage.pilot.press("a", "2", "5", "x", "backspace", "0", "enter")
        await stage.pilot.press("l", "0", ".", "3", "space", "-", "1", "enter")
        added, tilt = stage.feed.told
        assert (added.mark, added.ml) == (Mark.ADDED, 250.0)
        assert (tilt.lengthways_deg, tilt.across_deg) == (0.3, -1.0)


async def test_what_is_typed_wrong_is_said_and_nothing_is_told(tmp_path):
    async with on_stage(tmp_path, OPEN) as stage:
        await stage.pilot.press("l", "9", "9", "enter")
        assert "does not look like a tilt" in await stage.text()
        await stage.pilot.press("a", "escape", "a", "0", "enter")
        assert stage.feed.told == []


@pytest.mark.parametrize(
    ("typed", "ml"),
    [("0.25 L", 250.0), ("250 mL", 250.0), ("8 fl oz", 236.588), ("0,25 l", 250.0)],
)
@pytest.mark.parametrize("unit", ["C", "F"])
@pytest.mark.few(2)
async def test_a_unit_that_is_typed_is_the_one_that_is_meant(typed, ml, unit, tmp_path):
    async with on_stage(tmp_path, OPEN) as stage:
        stage.app.settings = replace(stage.app.settings, temperature_unit=unit)
        await stage.type("a", typed)
        assert stage.feed.told[0].ml == pytest.approx(ml, abs=0.001)


async def test_what_can_be_read_in_two_ways_is_asked_back(tmp_path):
    async with on_stage(tmp_path, OPEN) as stage:
        await stage.type("a", "1,000")
        assert "can be 1 or 1000" in await stage.text()
        await stage.type("a", "8 oz")
        assert "a volume or a weight" in await stage.text()
        assert stage.feed.told == []


async def test_an_amount_out_of_proportion_is_taken_when_it_is_said_again(tmp_path):
    async with on_stage(tmp_path, OPEN) as stage:
        await stage.type("a", "16 L")
        assert stage.feed.told == []
        assert "is that right" in await stage.text()
        await stage.pilot.press("enter")
        assert [t.ml for t in stage.feed.told] == [16_000.0]
        await stage.type("a", "17 L")
        await stage.pilot.press(
            "backspace", "backspace", "backspace", "9", "space", "L", "enter"
        )
        assert [t.ml for t in stage.feed.told] == [16_000.0]  # another one: asked anew


@pytest.mark.parametrize(
    ("snapshot", "line"),
    [
        (GO, instruction_text(Instruction.OPEN_NOW)),
        (OPEN, instruction_text(Instruction.WATCH)),
        (
            stepping(Phase.CLOSE, Instruction.CLOSE_WINDOW, opened_at_s=0.0),
            instruction_text(Instruction.CLOSE_WINDOW),
        ),
    ],
)
@pytest.mark.few(1)
async def test_the_imperative_leads(snapshot, line, tmp_path):
    async with on_stage(tmp_path, snapshot) as stage:
        assert line in await stage.text()


def test_every_call_sounds_different():
    assert len(set(step_wording.BELLS_S.values())) == len(Bell)


async def test_each_call_rings_once_and_can_be_silenced(tmp_path):
    called = replace(
        GO,
        step=replace(GO.step, rung=Bell.OPEN, rung_at_s=1.0),  # type: ignore[type-var]
    )
    async with on_stage(tmp_path, INSIDE) as stage:
        rung = stage.bells
        rung.clear()
        for _ in range(3):
            stage.feed.deliver(called)
            await settle(stage.pilot)
        assert rung.count(step_wording.BELLS_S[Bell.OPEN]) == 1
        count = len(rung)
        assert rung[-1:] == [step_wording.BELLS_S[Bell.OPEN]]
        stage.app.settings = replace(stage.app.settings, quiet="open close")
        again = replace(called, step=replace(called.step, rung_at_s=2.0))
        stage.feed.deliver(again)
        await settle(stage.pilot)
        assert len(rung) == count


MANY = tuple(
    Condition(name=name, state=ConditionState.MET)
    if name is not ConditionName.EXERCISE
    else Condition(
        name=name,
        state=ConditionState.UNKNOWN,
        reasons=(Reason.NOT_EXERCISED,),
        by=ToldBy.PERSON,
    )
    for name in ConditionName
)


FEW = (ConditionName.DRIVE, ConditionName.BRAKE, ConditionName.DUE)
"""Asked for by few sheets, none by all: at 80x24 what is met gives way to them."""


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20)])
@pytest.mark.few(1)
async def test_every_condition_is_in_view_and_what_is_not_met_always(size, tmp_path):
    asked = MANY
    if size == (80, 24):
        asked = tuple(c for c in MANY if c.name not in FEW)
    snapshot = replace(
        INSIDE,
        verdict=Verdict.NO_GO,
        reasons=(Reason.NOT_EXERCISED,),
        conditions=asked,
    )
    async with staged(tmp_path, size=size) as stage:
        text = await stage.play(snapshot)
        assert "Selector cycled" in text
        if size != (60, 20):
            for one in asked:
                assert wording.condition_name(one.name, SHEET) in text


@pytest.mark.parametrize(
    ("snapshot", "words"),
    [
        (stepping(Phase.WAIT, Instruction.TOO_SHORT), "colder place"),
        (
            stepping(Phase.MISSED, Instruction.COOL_DOWN, begins_again_s=600.0),
            "in about 10 min",
        ),
        (stepping(Phase.MISSED, Instruction.COOL_DOWN), "cannot be told yet"),
    ],
)
def test_a_window_that_will_not_do_is_said_with_what_helps(snapshot, words):
    no_go = replace(snapshot, verdict=Verdict.NO_GO)
    said = step_wording.lines(no_go, go=False, said=("Too cold", "Wait."), unit="C")
    assert no_go.step is not None
    assert said[0] == instruction_text(no_go.step.instruction)
    assert words in said[1]


async def test_what_is_typed_after_a_refusal_goes_to_the_prompt(tmp_path):
    async with on_stage(tmp_path, OPEN) as stage:
        await stage.type("a", "much")
        stage.a_second_passes()
        await stage.play(OPEN)
        await stage.press("c", "n", "s", "z")  # they are keys of the step elsewhere
        assert stage.feed.told == []
        await stage.press("escape")


async def test_cautions_read_before_the_first_snapshot_are_told_with_it(tmp_path):
    async with staged(tmp_path, confirmed=False) as stage:
        await stage.read_cautions()
        assert stage.feed.told == []
        await stage.play(INSIDE)
        assert [t.confirms for t in stage.feed.told] == [Confirmation.CAUTIONS]
        await stage.play(INSIDE)
        assert len(stage.feed.told) == 1


async def test_without_a_car_there_is_no_banner(tmp_path):
    async with on_stage(tmp_path, INSIDE) as stage:
        stage.app._gate_screen.set_class(True, "-no-car")
        text = await stage.text()
        assert "▞▞▞" not in text

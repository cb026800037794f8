"""The level step survives a crash: written at every mark, taken up within the hour."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from bridge.level.step.machine import begin
from bridge.level.step.marks import mark
from bridge.level.step.step_values import Phase, Plan
from bridge.values.events import Mark
from bridge.values.sheet import Confirmation
from tests.tui.stage import SHEET, WARM_UP
from tui.step_file import StepFile

PLAN = Plan(window=SHEET.window, confirm=(Confirmation.CAUTIONS,))
OPENED = mark(begin(100.0), PLAN, Mark.OPENED, 110.0)
DRIPPED = mark(OPENED, PLAN, Mark.DRIP, 120.0)
SEEN = WARM_UP.snapshot(WARM_UP.t_at(47.0))


def test_a_step_under_way_is_taken_up_with_its_marks(tmp_path):
    kept = StepFile(SHEET, tmp_path / "step.json")
    kept.note(replace(SEEN, step=DRIPPED))
    found = StepFile(SHEET, tmp_path / "step.json").take_up()
    assert found is not None
    assert found[0] == DRIPPED
    assert 0 <= found[1] < 60


def test_every_mark_is_written_and_nothing_else_is(tmp_path):
    path = tmp_path / "step.json"
    kept = StepFile(SHEET, path)
    kept.note(replace(SEEN, step=OPENED))
    first = path.read_text()
    kept.note(replace(SEEN, step=replace(OPENED, now_at_s=200.0)))
    assert path.read_text() == first
    kept.note(replace(SEEN, step=DRIPPED))
    assert path.read_text() != first


@pytest.mark.parametrize("what", ["other sheet", "too old", "judged", "cut", "absent"])
def test_what_does_not_fit_is_not_taken_up(what, tmp_path, monkeypatch):
    path = tmp_path / "step.json"
    step = replace(DRIPPED, phase=Phase.JUDGED) if what == "judged" else DRIPPED
    if what != "absent":
        StepFile(SHEET, path).note(replace(SEEN, step=step))
    if what == "cut":
        path.write_text(path.read_text()[:80])
    if what == "too old":
        told = json.loads(path.read_text())
        path.write_text(json.dumps(told | {"wall_s": told["wall_s"] - 4000.0}))
    sheet = replace(SHEET, name="another") if what == "other sheet" else SHEET
    assert StepFile(sheet, path).take_up() is None


def test_a_judged_step_leaves_no_file(tmp_path):
    path = tmp_path / "step.json"
    kept = StepFile(SHEET, path)
    kept.note(replace(SEEN, step=DRIPPED))
    assert path.exists()
    kept.note(replace(SEEN, step=replace(DRIPPED, phase=Phase.JUDGED)))
    assert not path.exists()


def test_a_folder_that_cannot_be_written_is_no_matter(tmp_path):
    (tmp_path / "file").write_text("")
    StepFile(SHEET, tmp_path / "file" / "step.json").note(replace(SEEN, step=DRIPPED))
    assert (tmp_path / "file").read_text() == ""

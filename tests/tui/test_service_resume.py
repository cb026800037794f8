"""A service goes on in the job file it was begun in, and only there."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

import pytest

from bridge.jobfile.file.check import State, check
from bridge.jobfile.recorder import Job, Recorder, start
from bridge.service.log import is_done, last, of
from bridge.snapshot import Snapshot
from bridge.values.events import PersonEvent
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.service_sheet import Service, StepKind
from bridge.values.sheet import Sheet
from tests.service.service_help import SHEET, Taker
from tui.cli.main import main
from tui.service.log_editor import LogEditor
from tui.service.opening import editor_for, go_on, remembering, told_before
from tui.service.unfinished import unfinished, unfinished_path

BARE = Sheet(name="Bare", source="invented", window=SHEET.window, service=Service())


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))


def recorder_at(path: Path) -> Recorder:
    made = Job(sheet=SHEET, sheet_text="#", tool="t", source="bench", simulated=True)
    return start(path, made, print)


def flags(**told: object) -> Namespace:
    return Namespace(**{"record": None, "no_record": False, "afresh": False, **told})


def done(step: StepKind) -> ServiceEvent:
    return ServiceEvent(kind=ServiceKind.DONE, step=step)


def editor_at(recorder: Recorder | None, who: str, *, remember: bool) -> LogEditor:
    """The editor of a verb that records what its session takes."""
    told = told_before(recorder)
    taker = Taker(told=told)

    def tell(event: PersonEvent) -> Snapshot:
        seen = taker.tell(event)
        if recorder is not None:
            recorder.took(taker.events[-1])
            recorder.keep(within_s=10.0)
        return seen

    hand = remembering(SHEET, recorder, tell) if remember else tell
    editor = editor_for(SHEET, hand, told=told, who=who)
    assert editor is not None
    return editor


def begun_at(path: Path) -> None:
    recorder = recorder_at(path)
    editor = editor_at(recorder, "Kim", remember=True)
    editor.add(done(StepKind.BEFORE))
    editor.add(done(StepKind.PARTS))
    recorder.close()


def test_it_is_taken_up_where_it_was_left(tmp_path: Path) -> None:
    path = tmp_path / "a.job"
    begun_at(path)
    args = flags()
    assert go_on(args, SHEET)
    assert Path(args.record) == path
    recorder = recorder_at(path)
    editor = editor_at(recorder, "Lee", remember=True)
    assert is_done(editor.log, StepKind.PARTS)
    editor.add(done(StepKind.DRAIN))
    assert {e.who for e in of(editor.log, ServiceKind.DONE)} == {"Kim", "Lee"}
    recorder.close()
    assert check(path).state is State.INTACT


def test_a_closed_service_is_not_taken_up(tmp_path: Path) -> None:
    path = tmp_path / "a.job"
    recorder = recorder_at(path)
    editor = editor_at(recorder, "", remember=True)
    editor.add(done(StepKind.BEFORE))
    editor.add(ServiceEvent(kind=ServiceKind.COMPLETE))
    recorder.close()
    assert not go_on(flags(), SHEET)


@pytest.mark.parametrize(
    "told", [{"record": "b.job"}, {"no_record": True}, {"afresh": True}]
)
def test_it_is_taken_up_only_where_nothing_else_was_asked(
    tmp_path: Path, told: dict[str, object]
) -> None:
    begun_at(tmp_path / "a.job")
    assert not go_on(flags(**told), SHEET)
    assert go_on(flags(), SHEET) is ("afresh" not in told)


def test_another_sheet_or_a_file_that_is_gone_begins_anew(tmp_path: Path) -> None:
    path = tmp_path / "a.job"
    begun_at(path)
    other = Sheet(
        name="Other", source="invented", window=SHEET.window, service=SHEET.service
    )
    assert not go_on(flags(), other)
    assert not go_on(flags(), BARE)
    path.unlink()
    assert not go_on(flags(), SHEET)


@pytest.mark.parametrize("text", ["", "[]", "{", '{"x": 3}', "\x00" * 9, "[" * 9999])
def test_a_broken_memory_is_passed_over(tmp_path: Path, text: str) -> None:
    where = unfinished_path()
    where.parent.mkdir(parents=True, exist_ok=True)
    where.write_text(text)
    assert unfinished(SHEET) is None
    begun_at(tmp_path / "a.job")
    assert unfinished(SHEET) == tmp_path / "a.job"


def test_nothing_is_remembered_of_a_demo(tmp_path: Path) -> None:
    recorder = recorder_at(tmp_path / "a.job")
    editor = editor_at(recorder, "", remember=False)
    editor.add(done(StepKind.BEFORE))
    recorder.close()
    assert unfinished(SHEET) is None


def test_without_a_record_it_is_worked_at_all_the_same() -> None:
    editor = editor_at(None, "", remember=True)
    editor.add(done(StepKind.BEFORE))
    assert last(editor.log, ServiceKind.DONE) is not None
    assert editor_for(BARE, Taker().tell) is None


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["service"], "no sheet was named"),
        (["service", "--profile", "nowhere"], "no sheet"),
        (["service", "--profile", "weir-trace-bench"], "tells the level step only"),
        (["service", "--profile", "scar-eight-speed"], "no terminal"),
    ],
)
def test_the_verb_says_what_it_needs(
    capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    assert main(words) == 2
    printed = capsys.readouterr().err
    assert said in printed
    assert "Traceback" not in printed

"""The service on its way into the job file: by the editor, and what the verb needs."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.jobfile.file.check import FileState, check
from bridge.jobfile.recorder import Job, Recorder, start
from bridge.jobfile.service_log import service_in
from bridge.service.log import is_done, last, odometer_at, of
from bridge.snapshot import Snapshot
from bridge.values.events import PersonEvent
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.service_sheet import Service, StepKind
from bridge.values.sheet import Sheet
from tests.service.service_help import SHEET, Taker
from tui.cli.main import main
from tui.service.log_editor import LogEditor, editor_for

BARE = Sheet(name="Bare", source="invented", window=SHEET.window, service=Service())


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))


def recorder_at(path: Path) -> Recorder:
    made = Job(sheet=SHEET, sheet_text="#", tool="t", source="bench", simulated=True)
    return start(path, made, print)


def done(step: StepKind) -> ServiceEvent:
    return ServiceEvent(kind=ServiceKind.DONE, step=step)


def editor_at(recorder: Recorder, who: str) -> LogEditor:
    """The editor of a verb that records what its session takes."""
    told = service_in(recorder.path)
    taker = Taker(told=told)

    def tell(event: PersonEvent) -> Snapshot:
        seen = taker.tell(event)
        recorder.took(taker.events[-1])
        recorder.keep(within_s=10.0)
        return seen

    editor = editor_for(SHEET, tell, told=told, who=who)
    assert editor is not None
    return editor


def test_it_is_taken_up_where_it_was_left(tmp_path: Path) -> None:
    path = tmp_path / "a.job"
    recorder = recorder_at(path)
    editor = editor_at(recorder, "Kim")
    editor.add(done(StepKind.BEFORE))
    editor.add(done(StepKind.PARTS))
    recorder.close()
    recorder = recorder_at(path)
    editor = editor_at(recorder, "Lee")
    assert is_done(editor.log, StepKind.PARTS)
    editor.add(done(StepKind.DRAIN))
    assert {e.who for e in of(editor.log, ServiceKind.DONE)} == {"Kim", "Lee"}
    recorder.close()
    assert check(path).state is FileState.INTACT


def test_what_was_told_is_on_the_disk_before_it_is_shown(tmp_path: Path) -> None:
    recorder = recorder_at(tmp_path / "a.job")
    editor = editor_at(recorder, "Kim")
    for number in range(5):
        editor.add(done(list(StepKind)[2 + number]))
        assert len(service_in(tmp_path / "a.job")) == number + 1
    recorder.close()


def test_without_a_record_it_is_worked_at_all_the_same() -> None:
    editor = editor_for(SHEET, Taker().tell)
    assert editor is not None
    editor.add(done(StepKind.PARTS))
    assert last(editor.log, ServiceKind.DONE) is not None
    assert editor_for(BARE, Taker().tell) is None


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["service"], "no sheet was named"),
        (["service", "--profile", "nowhere"], "no sheet"),
        (["service", "--profile", "weir-trace-bench"], "has the level step only"),
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


def test_who_works_on_it_is_remembered_on_going_on(tmp_path: Path) -> None:
    path = tmp_path / "a.job"
    recorder = recorder_at(path)
    editor_at(recorder, "Kim").add(done(StepKind.BEFORE))
    assert recorder.close()
    again = recorder_at(path)
    assert editor_at(again, "").who == "Kim"
    assert editor_at(again, "Robin").who == "Robin"
    again.close()


def test_an_odometer_told_by_a_flag_is_that_of_the_car_before() -> None:
    flag = ServiceEvent(kind=ServiceKind.ODOMETER, km=61_200.0)
    after = ServiceEvent(kind=ServiceKind.ODOMETER, km=61_210.0, step=StepKind.AFTER)
    log = (flag, after, ServiceEvent(kind=ServiceKind.ODOMETER, km=61_215.0))
    assert odometer_at(log, StepKind.BEFORE) is flag
    assert odometer_at(log, StepKind.AFTER) is after
    assert odometer_at((flag,), StepKind.AFTER) is None

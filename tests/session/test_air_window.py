"""A window by the outside air: which one holds, and NO-GO while that is not known."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from bridge.session.session import advance, apply
from bridge.session.session_state import Session, begin
from bridge.sheets import load
from bridge.sheets.reading.assemble import examine
from bridge.snapshot import Snapshot
from bridge.values.conditions import Reason, Verdict
from bridge.values.events import LinkChange, Mark, Marked
from bridge.values.readings import LinkState, Reading
from bridge.values.sheet import Confirmation, Role
from tui.headless.json_lines import as_dict
from tui.inputs.answers import Refused
from tui.inputs.line_reader import LineReader
from tui.words import wording

RIME = Path(__file__).parents[1] / "data" / "sheets" / "ways" / "rime-by-air.toml"
COLD, MILD = (30.0, 38.0), (38.0, 46.0)


class Car:
    def __init__(self, temp_c: float) -> None:
        self.session: Session = begin(load(str(RIME)), interval_s=1.0)
        self.now_s, self.temp_c = 0.0, temp_c
        self.air_c: float | None = None
        for point in (Confirmation.CAUTIONS, Confirmation.CAR_LEVEL):
            self.tells(Mark.CONFIRMED, confirms=point)

    def tells(self, what: Mark, **more: object) -> None:
        self.session = apply(self.session, Marked(mark=what, t_s=self.now_s, **more))

    def runs(self, seconds: int, per_s: float = 0.0) -> Snapshot:
        for _ in range(seconds):
            self.now_s += 1.0
            self.temp_c += per_s
            change = LinkChange(state=LinkState.LIVE, t_s=self.now_s)
            self.session = apply(self.session, change)
            told = {
                Role.FLUID_TEMPERATURE: round(self.temp_c, 1),
                Role.ENGINE_SPEED: 750.0,
                Role.VEHICLE_SPEED: 0.0,
            }
            if self.air_c is not None:
                told[Role.AMBIENT_TEMPERATURE] = self.air_c
            for role, value in told.items():
                reading = Reading(role=role, value=value, t_s=self.now_s)
                self.session = apply(self.session, reading)
            self.session, seen = advance(self.session, now_s=self.now_s)
        return seen

    @property
    def window(self) -> tuple[float, float]:
        window = self.session.lead.window
        return window.low_c, window.high_c


def test_without_the_air_there_is_no_window_and_no_go() -> None:
    car = Car(30.0)
    for _ in range(20):
        seen = car.runs(10, per_s=0.05)
        assert seen.verdict is Verdict.NO_GO
        assert Reason.AIR_UNKNOWN in seen.reasons
    assert (seen.opens, seen.shuts) == (None, None)
    assert as_dict(seen)["window_c"] is None
    assert "not known" in wording.window(car.session.lead, "C")


@pytest.mark.parametrize(
    ("air_c", "window"), [(-20.0, COLD), (10.0, COLD), (10.1, MILD), (30.0, MILD)]
)
def test_the_persons_word_picks_the_row(air_c: float, window: object) -> None:
    car = Car(30.0)
    car.tells(Mark.AIR, temp_c=air_c)
    seen = car.runs(2)
    assert car.window == window
    assert as_dict(seen)["window_c"] == list(car.window)


def test_air_the_sheet_has_no_row_for_is_no_go() -> None:
    car = Car(42.0)
    car.tells(Mark.AIR, temp_c=33.0)
    seen = car.runs(60, per_s=0.01)
    assert Reason.AIR_NOT_LISTED in seen.reasons
    said = wording.reason(Reason.AIR_NOT_LISTED, seen, car.session.lead, "C")
    assert "33" in said.what


def test_go_is_that_of_the_row_and_goes_with_it() -> None:
    car = Car(40.0)
    car.air_c = 20.0
    assert car.runs(90, per_s=0.01).verdict is Verdict.GO
    car.tells(Mark.AIR, temp_c=3.0)
    seen = car.runs(1)
    assert Reason.TOO_HOT in seen.reasons
    assert seen.verdict is Verdict.NO_GO
    car.tells(Mark.UNDO)
    assert car.runs(2).verdict is Verdict.GO


def test_the_cars_own_air_must_pass_a_rows_end_by_half_a_degree() -> None:
    car = Car(40.0)
    car.air_c = 10.4
    car.runs(2)
    assert car.window == MILD
    car.air_c = 9.6
    car.runs(2)
    assert car.window == MILD
    car.air_c = 9.0
    car.runs(2)
    assert car.window == COLD


def test_with_the_plug_out_the_window_stays_what_it_was() -> None:
    car = Car(40.0)
    car.air_c = 20.0
    car.runs(90, per_s=0.01)
    car.tells(Mark.OPENED)
    car.air_c = 5.0
    car.runs(3)
    car.tells(Mark.AIR, temp_c=3.0)
    car.runs(2)
    assert car.session.step.plug_open
    assert car.window == MILD


def test_the_typed_line_is_read_and_refused() -> None:
    reader = LineReader(load(str(RIME)))
    told = reader.read("air 48 F")
    assert isinstance(told, Marked)
    assert told.temp_c == pytest.approx(8.89, abs=0.01)
    for line in ("air", "air 12", "air 80 C", "air hot", "air 1,000 C"):
        assert isinstance(reader.read(line), Refused), line
    other = LineReader(load("scar-eight-speed"))
    assert isinstance(other.read("air 12 C"), Refused)


MISTAKES = {
    "take one of the two out": (
        'engine = "idling"',
        'engine = "idling"\nwindow = ["42 degC", "52 degC"]',
    ),
    "reaches into the row before": ('["10 degC", "30 degC"]', '["9 degC", "30 degC"]'),
    "open at both ends": ('["", "10 degC"]', '["", ""]'),
    '"window" in .* is missing': ('window = ["30 degC", "38 degC"]\n', ""),
    "upside down": ('["10 degC", "30 degC"]', '["30 degC", "10 degC"]'),
    "measured-refill": ('"overflow-tube"', '"measured-refill"'),
    '"ambient" in .* is missing': ('ambient = ["", "10 degC"]\n', ""),
}


@pytest.mark.parametrize("said", MISTAKES)
def test_rows_that_contradict_are_refused(said: str) -> None:
    right, wrong = MISTAKES[said]
    text = RIME.read_text()
    assert right in text
    sheet, mistakes = examine(text.replace(right, wrong, 1), "a.toml")
    assert sheet is None
    told = " ".join(str(m) for m in mistakes)
    assert re.search(said, told), told

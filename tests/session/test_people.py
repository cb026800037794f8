"""Cars that may stir by themselves, and a level set in gear: who does what, by name."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from bridge.level.step.step_values import Instruction, Phase
from bridge.session.session import advance, apply
from bridge.session.session_state import Session, begin
from bridge.sheets import load
from bridge.snapshot import Snapshot
from bridge.values.conditions import Reason, Verdict
from bridge.values.events import LinkChange, Mark, Marked
from bridge.values.readings import LinkState, Reading
from bridge.values.sheet import Confirmation, Drive, Role
from tui.inputs.answers import Refused
from tui.inputs.line_reader import LineReader
from tui.words.cautions import at_start, own_of
from tui.words.instructions import instruction_text

WAYS = Path(__file__).parents[1] / "data" / "sheets" / "ways"


class Car:
    def __init__(self, name: str, temp_c: float, rpm: float = 0.0) -> None:
        self.sheet = load(str(WAYS / f"{name}.toml"))
        self.session: Session = begin(self.sheet, interval_s=1.0)
        self.lines = LineReader(self.sheet)
        self.now_s, self.temp_c, self.rpm = 0.0, temp_c, rpm
        self.kmh, self.selector = 0.0, "P"
        self.seen = self.runs(1)

    def says(self, line: str) -> bool:
        """Type a line; False: it was refused."""
        told = self.lines.read(line, self.seen)
        if isinstance(told, Refused):
            return False
        self.session = apply(self.session, replace(told, t_s=self.now_s))
        self.runs(1)
        return True

    def runs(self, seconds: int, per_s: float = 0.0) -> Snapshot:
        for _ in range(seconds):
            self.now_s += 1.0
            self.temp_c += per_s
            change = LinkChange(state=LinkState.LIVE, t_s=self.now_s)
            self.session = apply(self.session, change)
            told = {
                Role.FLUID_TEMPERATURE: (round(self.temp_c, 1), ""),
                Role.ENGINE_SPEED: (self.rpm, ""),
                Role.VEHICLE_SPEED: (self.kmh, ""),
                Role.SELECTOR: (float("PRND".index(self.selector)), self.selector),
            }
            for role, (value, label) in told.items():
                reading = Reading(role=role, value=value, t_s=self.now_s, label=label)
                self.session = apply(self.session, reading)
            self.session, self.seen = advance(self.session, now_s=self.now_s)
        return self.seen

    @property
    def does(self) -> Instruction:
        return self.session.step.instruction


def in_gear() -> Car:
    car = Car("fen-in-gear", 41.0, rpm=750.0)
    for line in ("confirm cautions", "confirm car-level"):
        assert car.says(line)
    return car


def test_nobody_is_called_under_the_car_before_the_selector_is_in_its_place() -> None:
    car = in_gear()
    assert car.says("confirm brake-held Ann, Ben")
    for _ in range(60):
        car.runs(1, per_s=0.02)
        assert car.does is Instruction.SHIFT
    assert "NOBODY UNDER" in instruction_text(car.does)
    assert Confirmation.BRAKE_HELD not in car.session.step.confirmed, "told too early"
    car.selector = "D"
    car.runs(3)
    assert car.does is Instruction.CONFIRM
    assert car.seen.verdict is Verdict.NO_GO
    assert Reason.BRAKE_NOT_HELD in car.seen.reasons
    assert car.says("confirm brake-held Ann, Ben")
    car.runs(60, per_s=0.02)
    assert car.session.step.phase is Phase.GO


@pytest.mark.parametrize("stirs", ["selector", "moves"])
def test_whoever_lies_under_is_called_out_first(stirs: str) -> None:
    car = in_gear()
    car.selector = "D"
    car.runs(2)
    car.says("confirm brake-held Ann, Ben")
    car.runs(60, per_s=0.02)
    assert car.says("opened")
    car.runs(5)
    if stirs == "selector":
        car.selector = "N"
    else:
        car.kmh = 2.0
    car.runs(2)
    assert car.does is Instruction.COME_OUT
    assert car.session.step.phase is Phase.CLOSE
    held = Confirmation.BRAKE_HELD in car.session.step.confirmed
    assert held == (stirs == "moves")


@pytest.mark.parametrize(
    "line",
    [
        "confirm brake-held",
        "confirm brake-held Ann",
        "confirm brake-held Ann, Ann",
        "confirm brake-held Ann, ann",
        "confirm brake-held Ann,",
        "confirm brake-held Ann, Ben, Cid",
        "confirm brake-held " + "x" * 60 + ", Ben",
        "confirm brake-held Ann\x1b[2J, Ben",
        "confirm drive-safe",
        "confirm drive-safe Ann, Ben",
        "confirm cautions Ann",
    ],
)
def test_a_confirmation_by_name_wants_its_names(line: str) -> None:
    reader = LineReader(load(str(WAYS / "fen-in-gear.toml")))
    assert isinstance(reader.read(line), Refused)


def test_who_it_was_is_kept() -> None:
    told = LineReader(load("scar-eight-speed")).read("confirm brake-held Ann, Ben Dee")
    assert isinstance(told, Marked)
    assert told.who == "Ann at the brake, Ben Dee under the car"


def test_a_mark_without_a_name_confirms_nothing() -> None:
    car = in_gear()
    for what in (Confirmation.BRAKE_HELD, Confirmation.DRIVE_SAFE):
        event = Marked(mark=Mark.CONFIRMED, confirms=what, t_s=car.now_s)
        car.session = apply(car.session, event)
        assert what not in car.session.step.confirmed


def hybrid() -> Car:
    car = Car("moss-hybrid", 50.0)
    for line in ("confirm cautions", "confirm car-level", "confirm drive-safe Ann"):
        assert car.says(line)
    return car


def test_a_hybrid_that_started_by_itself_is_made_safe_anew_and_waits_anew() -> None:
    car = hybrid()
    car.runs(100, per_s=-0.01)
    car.rpm = 1200.0
    car.runs(1)
    car.rpm = 0.0
    car.runs(30, per_s=-0.01)
    assert Reason.DRIVE_NOT_SAFE in car.seen.reasons
    assert car.seen.verdict is Verdict.NO_GO
    assert car.says("confirm drive-safe Ann")
    car.runs(80, per_s=-0.01)
    assert car.seen.verdict is Verdict.NO_GO
    car.runs(20, per_s=-0.01)
    assert car.seen.verdict is Verdict.GO


def test_hands_come_out_when_a_hybrids_engine_turns() -> None:
    car = hybrid()
    car.runs(130, per_s=-0.01)
    assert car.says("opened")
    car.runs(3, per_s=-0.01)
    car.rpm = 1200.0
    car.runs(2)
    assert car.does is Instruction.COME_OUT


def test_an_electric_unit_sets_its_level_on_its_own_pump_by_the_persons_word() -> None:
    car = Car("moor-electric", 30.0)
    for line in ("confirm cautions", "confirm car-level", "confirm drive-safe Ann"):
        assert car.says(line)
    car.runs(60, per_s=0.01)
    assert car.seen.reasons == (Reason.ENGINE_UNKNOWN,)
    assert car.says("confirm engine")
    car.runs(2, per_s=0.01)
    assert car.session.step.phase is Phase.GO


def test_drive_and_gear_stand_among_the_cautions_read_first() -> None:
    for name, word in (
        ("fen-in-gear", "lever moves"),
        ("moss-hybrid", "start by itself"),
        ("moor-electric", "electric"),
    ):
        sheet = load(str(WAYS / f"{name}.toml"))
        assert any(word in line for line in at_start(own_of(sheet))), name
    plain = load("scar-eight-speed")
    assert own_of(plain) == plain.cautions


def test_a_combustion_car_in_park_is_asked_for_no_name() -> None:
    sheet = load("tarn-step-automatic")
    assert sheet.drive is Drive.COMBUSTION
    assert not {Confirmation.DRIVE_SAFE, Confirmation.BRAKE_HELD} & set(
        sheet.confirmations
    )

"""Runs the whole link against an adapter character and holds it against the truth."""

from __future__ import annotations

from dataclasses import dataclass

from bridge.sheets import parse_sheet
from bridge.snapshot import Snapshot
from bridge.values.causes import Cause
from bridge.values.sheet import Sheet
from simulators.adapter import legacy_bus
from simulators.car.scenes import make_bench
from simulators.characters.all_characters import settle_in
from simulators.characters.character import Character
from tests.link.rig import Log, watch

HEAD = """
[gearbox]
name = "Invented gearbox"
source = "invented for this test"
[level]
window = ["35 degC", "45 degC"]
[link]
protocol = "{protocol}"
[[signal]]
role = "fluid-temperature"
"""
CAN_11 = """
request_id = "7E1"
service = 0x22
identifier = 0x1157
offset = -40.0
unit = "degC"
"""
CAN_29 = """
request_id = "18DA18F1"
service = 0x22
identifier = 0x1157
offset = -40.0
unit = "degC"
"""
OLDER = """
request_id = "18"
service = 0x21
identifier = 0x30
first_byte = 2
data_length = 4
offset = -40.0
unit = "degC"
"""
ODD_11 = """
request_id = "712"
reply_id = "77C"
service = 0x22
identifier = 0x2104
first_byte = 9
data_length = 20
offset = -40.0
unit = "degC"
"""
BUSES: dict[str, tuple[str, str, str]] = {
    "CAN 11/500, searched": ("auto", "6", CAN_11),
    "CAN 11/500": ("6", "6", CAN_11),
    "CAN 29/500": ("7", "7", CAN_29),
    "CAN 11/250": ("8", "8", CAN_11),
    "CAN 29/250": ("9", "9", CAN_29),
    "CAN 11, ids of its own": ("6", "6", ODD_11),
    "J1850 PWM": ("1", "1", OLDER),
    "J1850 VPW": ("2", "2", OLDER),
    "ISO 9141-2": ("3", "3", OLDER),
    "KWP, slow start": ("4", "4", OLDER),
    "KWP, fast start": ("5", "5", OLDER),
    "KWP, searched": ("auto", "5", OLDER),
}
"""Name: protocol in the sheet, protocol of the car, the fluid's signal."""
NEAR_C = 1.2
"""A byte of whole degrees, and what the fluid moves by meanwhile."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Went:
    """How it went."""

    first_s: float | None
    """When the first reading was believed; None: never."""
    wrong: int
    """Readings believed that the bench's sensor never gave."""
    readings: int
    causes: tuple[Cause | None, ...]
    """What the link said was wrong, newest last, each once in a row."""
    last: Snapshot
    lines: tuple[str, ...]

    @property
    def cause(self) -> Cause | None:
        """What it said last."""
        return self.causes[-1] if self.causes else None


def sheet_for(bus: str) -> Sheet:
    """Return a sheet of our own for a bus."""
    protocol, _, signal = BUSES[bus]
    return parse_sheet(HEAD.format(protocol=protocol) + signal, bus)


def play(bus: str, kinds: tuple[type[Character], ...], *, for_s: float = 20.0) -> Went:
    """Run a level check's link against a car on a bus, behind such an adapter."""
    sheet = sheet_for(bus)
    bench = make_bench("warm-day", sheet)
    bench.car.protocol = BUSES[bus][1]
    settle_in(bench, kinds)
    log = Log()
    snapshots, lines = watch(bench, sheet, for_s, log=log)
    truths = [t.sensor_c for t in bench.car.log if t.sensor_c is not None]
    low_c = min(truths, default=0.0) - NEAR_C
    high_c = max(truths, default=0.0) + NEAR_C
    wrong = sum(not low_c <= r.value <= high_c for r in log.believed)
    causes: list[Cause | None] = []
    for snapshot in snapshots:
        if not causes or causes[-1] is not snapshot.link_cause:
            causes.append(snapshot.link_cause)
    return Went(
        first_s=next((s.t_s for s in snapshots if s.raw_c is not None), None),
        wrong=wrong,
        readings=len(log.believed),
        causes=tuple(causes),
        last=snapshots[-1],
        lines=tuple(lines),
    )


def expected(bus: str, kind: type[Character]) -> Cause | None:
    """Return the cause a character must be refused by on a bus; None: it reads."""
    if BUSES[bus][2] is ODD_11 and kind.name == "no-atcra":
        return Cause.FILTER_REFUSED  # this unit's ids are not among the usual ones
    return kind.refused_as


def fits(bus: str, kind: type[Character]) -> bool:
    """Tell whether a character makes sense on a bus of ours."""
    protocol, car, signal = BUSES[bus]
    if kind.needs and car not in kind.needs:
        return False
    if kind.name == "other-ids":
        return protocol == "auto"  # else the sheet has chosen a bus that is not there
    # The usual ids let a stranger's frame through; this bus's own filter does not,
    # and an answer of several frames cannot stand twice in one.
    return not (signal is ODD_11 and kind.name in ("foreign", "two-values"))


def could_s(bus: str, kinds: tuple[type[Character], ...]) -> float:
    """Return when such an adapter could give the first reading, at the earliest."""
    protocol, car, _ = BUSES[bus]
    wake_s = legacy_bus.WAKE_S.get(car, 0.0)
    search_s = 0.15 if protocol == "auto" else 0.0
    names = {kind.name for kind in kinds}
    # Half an answer costs an adapter without ATD another restart.
    again_s = 1.4 if {"half-said", "no-atd", "slow-restart"} <= names else 0.0
    return wake_s + search_s + again_s + sum(kind.takes_s for kind in kinds)

"""A sheet with the whole service in it, made by hand: invented figures."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from bridge.service.log import Log
from bridge.session.session import advance, apply
from bridge.session.session_state import Session, begin
from bridge.snapshot import Snapshot
from bridge.values.events import PersonEvent
from bridge.values.service_events import ServiceEvent
from bridge.values.service_sheet import (
    Drain,
    Exercise,
    Fastener,
    Interval,
    Part,
    PartKind,
    Renewal,
    Service,
    StepKind,
    Variant,
)
from bridge.values.sheet import Sheet, Window

SERVICE = Service(
    order=tuple(StepKind),
    lines=((StepKind.DRAIN, ("Put a pan below.", "Open the plug.")),),
    variants=(
        Variant(name="A", look_for="a cooler on top"),
        Variant(name="B", look_for="no cooler", fits=False, instead="sheet b"),
        Variant(name="C", look_for="a cooler at the side"),
    ),
    parts=(
        Part(name="filter", one_use=True),
        Part(name="hex key", kind=PartKind.TOOL),
        Part(name="seal C", only_for=("C",)),
    ),
    fasteners=(
        Fastener(
            name="drain plug",
            drive="hex 8 mm",
            thread="M14x1.5",
            torque_nm=25.0,
            renew=(Renewal.WASHER,),
        ),
        Fastener(name="cover", hand_tight=True, plastic=True, step=StepKind.FILTER),
        Fastener(
            name="overflow tube",
            torque_nm=4.0,
            turns_back=1.0,
            step=StepKind.CLOSING,
            only_for=("A",),
        ),
    ),
    drains=(
        Drain(name="sump", fastener="drain plug", expected_ml=4800.0),
        Drain(name="cooler", pressure=True, only_for=("A",)),
    ),
    exercise=Exercise(positions=("P", "R", "N", "D"), hold_s=4.0),
    interval=Interval(distance_km=60000.0, months=48, severe=("towing",)),
    fluid_name="the maker's fluid",
    service_fill_ml=5200.0,
    service_fill_tolerance_ml=300.0,
    filter_holds_ml=300.0,
)
SHEET = Sheet(
    name="Invented works gearbox",
    source="invented for this test",
    window=Window(low_c=42.0, high_c=52.0),
    cautions=("Hot fluid.",),
    fill_ml=6800.0,
    service=SERVICE,
)


@dataclass
class Taker:
    """Takes what an editor tells as a monitor does: into a session, one by one."""

    sheet: Sheet = SHEET
    at_utc_s: float = 1.8e9
    events: list[PersonEvent] = field(default_factory=list)
    told: Log = ()
    session: Session = field(init=False)

    def __post_init__(self) -> None:
        self.session = begin(self.sheet, interval_s=0.2, told=self.told)

    def tell(self, event: PersonEvent) -> Snapshot:
        """Stamp it, apply it, decide anew."""
        t_s = float(len(self.events) + 1)
        event = replace(event, t_s=t_s)
        if isinstance(event, ServiceEvent):
            event = replace(event, at_utc_s=self.at_utc_s)
        self.events.append(event)
        self.session = apply(self.session, event)
        self.session, seen = advance(self.session, now_s=t_s)
        return seen

"""A sheet with the whole service in it, made by hand: invented figures."""

from __future__ import annotations

from bridge.core.model import Sheet, Window
from bridge.core.service_sheet import (
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

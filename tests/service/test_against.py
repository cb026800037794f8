"""What speaks against finishing a service: one pure function of sheet and log."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.protocol.trouble_codes import FLUID_SENSOR_CODES
from bridge.service.against import against
from bridge.service.missing import lacks_of
from bridge.values.readings import TroubleCodes
from bridge.values.service_events import CarFacts, ServiceEvent, ServiceKind
from bridge.values.service_sheet import Drain, Service, StepKind, Variant
from bridge.values.sheet import Sheet, Window

SHEET = Sheet(
    name="t",
    source="t",
    window=Window(low_c=30.0, high_c=50.0),
    fill_ml=7000.0,
    service=Service(
        order=(StepKind.DRAIN, StepKind.FILL, StepKind.LEVEL),
        variants=(
            Variant(name="shallow", look_for="x"),
            Variant(name="deep", look_for="y", fits=False),
        ),
        service_fill_ml=4000.0,
        service_fill_tolerance_ml=200.0,
        drains=(Drain(name="plug"), Drain(name="cooler")),
    ),
)
CODE = min(FLUID_SENSOR_CODES)


def event(kind: ServiceKind, **more: object) -> ServiceEvent:
    return ServiceEvent(kind=kind, **more)  # type: ignore[arg-type]


def poured(ml: float) -> ServiceEvent:
    return event(ServiceKind.IN, ml=ml, temp_c=20.0)


PLUG = event(ServiceKind.OUT, name="plug", ml=3500.0, temp_c=20.0)
COOLER = event(ServiceKind.OUT, name="cooler", ml=500.0, temp_c=20.0)
CODES = TroubleCodes(t_s=0.0, stored=(CODE,), pending=None, permanent=None, mil=None)


def ids(log: tuple[ServiceEvent, ...], codes: TroubleCodes | None = None) -> list[str]:
    return [one.id for one in against(SHEET, log, codes)]


@pytest.mark.parametrize(
    ("log", "found"),
    [
        ((), []),
        ((PLUG, COOLER, poured(4000.0)), []),
        ((PLUG,), ["drained", "drain-not-measured:cooler"]),
        ((PLUG, COOLER, poured(2500.0)), ["balance-low"]),
        ((PLUG, COOLER, poured(6000.0)), ["balance-high"]),
        ((PLUG, COOLER, poured(9000.0)), ["balance-over-total", "balance-high"]),
        ((event(ServiceKind.LEVEL, name="good"),), []),
        ((event(ServiceKind.LEVEL, name="outside"),), ["level-outside"]),
        ((event(ServiceKind.LEVEL, name="unknown"),), ["level-unknown"]),
        ((event(ServiceKind.OLD_FLUID, name="dark"),), []),
        ((event(ServiceKind.OLD_FLUID, name="chips"),), ["old-fluid-chips"]),
        (
            (event(ServiceKind.CAR, car=CarFacts(stored=(CODE,))),),
            ["fluid-sensor-code"],
        ),
        ((event(ServiceKind.CAR, car=CarFacts(stored=("P0420",))),), []),
        ((event(ServiceKind.VARIANT, name="deep"),), ["other-gearbox"]),
    ],
)
def test_findings(log: tuple[ServiceEvent, ...], found: list[str]) -> None:
    assert ids(log) == found


def test_a_code_the_car_tells_now_counts_too() -> None:
    assert ids((), CODES) == ["fluid-sensor-code"]
    assert ids((), replace(CODES, stored=("P0420",))) == []


def test_what_is_taken_back_speaks_no_more() -> None:
    chips = event(ServiceKind.OLD_FLUID, name="chips")
    back = event(ServiceKind.TAKEN_BACK, back=0)
    assert ids((chips, back)) == []


def test_every_lack_has_an_id_of_its_own() -> None:
    lacks = lacks_of(SHEET.service, ())
    assert {"gearbox", "level", "out", "step:drain"} <= {lack.id for lack in lacks}
    assert len({lack.id for lack in lacks}) == len(lacks)

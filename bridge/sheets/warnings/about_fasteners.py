"""Doubts about fasteners and drains: torque, thread, what must be new."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.service.fastening import pitch_mm
from bridge.sheets.warnings.threads import Thread, thread_of
from bridge.sheets.warnings.warning import SheetWarning, doubt
from bridge.units import Units, show_torque
from bridge.values.service_sheet import Fastener, StepKind
from bridge.values.sheet import LevelMethod, Sheet

_LIGHTEST, _HEAVIEST = 0.02, 1.0
"""Shares of the estimate within which torques of plugs and covers lie (common
practice: in a light alloy case a plug gets a small part of what steel would take)."""
_LOOSEST = 0.25
_PLASTIC_NM = 30.0


def torques(sheet: Sheet, units: Units) -> Iterator[SheetWarning]:
    """Doubt each fastener's torque, by itself and against its thread."""
    for at, fastener in enumerate(sheet.service.fasteners):
        yield from _torque(at, fastener, units)
        yield from _thread(at, fastener, units)


def _torque(at: int, fastener: Fastener, units: Units) -> Iterator[SheetWarning]:
    torque, tolerance = fastener.torque_nm, fastener.torque_tolerance_nm
    if torque is None and not fastener.hand_tight:
        yield doubt(
            "fastener.torque",
            f'is missing for "{fastener.name}", so nobody can tighten it right',
            "look it up, or write hand_tight = true if the maker says so",
            at,
        )
    if torque is not None and tolerance is not None and tolerance > _LOOSEST * torque:
        yield doubt(
            "fastener.torque_tolerance",
            f"is {show_torque(tolerance, units)}, over a quarter of the torque",
            "look up both again",
            at,
        )
    if torque is not None and fastener.plastic and torque > _PLASTIC_NM:
        yield doubt(
            "fastener.torque",
            f"is {show_torque(torque, units)}, much for a part of plastic",
            "look it up again, and its unit",
            at,
        )


def _thread(at: int, fastener: Fastener, units: Units) -> Iterator[SheetWarning]:
    thread = thread_of(fastener.thread)
    looks_metric = fastener.thread[:1] in ("M", "m") and fastener.thread[1:2].isdigit()
    if thread is None:
        if looks_metric:
            yield _odd_thread(at, fastener, "is no metric thread as ISO 261 writes it")
        return
    if not thread.standard:
        yield _odd_thread(at, fastener, "has a pitch that ISO 261 does not give it")
    torque = fastener.torque_nm
    if torque is None or _usual(torque, thread, fastener):
        return
    amount = "much" if torque > thread.usual_torque_nm else "little"
    yield doubt(
        "fastener.torque",
        f"is {show_torque(torque, units)}, {amount} for {fastener.thread}, where "
        f"a steel bolt of class 8.8 takes about "
        f"{show_torque(thread.usual_torque_nm, units)} (T = 0.2 F d at three quarters "
        f"of the proof load of ISO 898-1)",
        "look up torque, unit and thread again",
        at,
    )


def _odd_thread(at: int, fastener: Fastener, why: str) -> SheetWarning:
    return doubt(
        "fastener.thread",
        f'is "{fastener.thread}", which {why}',
        'look it up again and write it like "M14x1.5"',
        at,
    )


def _usual(torque_nm: float, thread: Thread, fastener: Fastener) -> bool:
    share = torque_nm / thread.usual_torque_nm
    light = fastener.turns_back is not None or fastener.plastic
    return share <= _HEAVIEST and (light or share >= _LIGHTEST)


def renewals(sheet: Sheet, _: Units) -> Iterator[SheetWarning]:
    """Doubt plugs that go back without anything new, and new things not to hand."""
    service = sheet.service
    opened = {drain.fastener for drain in service.drains}
    have = " ".join(part.name for part in service.parts).casefold()
    for at, fastener in enumerate(service.fasteners):
        holds_fluid = fastener.name in opened or fastener.step is StepKind.LEVEL
        if holds_fluid and not fastener.renew and fastener.turns_back is None:
            yield doubt(
                "fastener.renew",
                f'names no new washer, seal or plug for "{fastener.name}", and a '
                f"used one may leak",
                'look it up, and add renew = ["washer"] or what it is',
                at,
            )
        missing = [word for word in fastener.renew if word not in have]
        if missing and service.parts:
            yield doubt(
                "fastener.renew",
                f"wants a new {missing[0]} that no [[part]] has in its name",
                "add that part, so that it is at hand",
                at,
            )


def tube(sheet: Sheet, _: Units) -> Iterator[SheetWarning]:
    """Doubt an overflow tube whose turns cannot be told in milliliters."""
    turned = [f for f in sheet.service.fasteners if f.turns_back]
    if sheet.method is not LevelMethod.OVERFLOW_TUBE or not turned:
        return  # a tube that is pressed in has no turns
    threads = [pitch_mm(f.thread) for f in turned]
    if sheet.service.tube_pitch_mm is None and None in threads:
        yield doubt(
            "tube.pitch",
            "is missing, so the tube's turns cannot be told as a height",
            "measure the thread or look it up",
        )
    if sheet.sump_area_cm2 is None:
        yield doubt(
            "sump.area",
            "is missing, so the tube's turns cannot be told as a volume",
            "measure the pan or look it up",
        )


def drains(sheet: Sheet, _: Units) -> Iterator[SheetWarning]:
    """Doubt drains that nothing closes, or that spray without a caution."""
    text = " ".join(sheet.cautions).casefold()
    for at, drain in enumerate(sheet.service.drains):
        if not drain.fastener:
            yield doubt(
                "drain.fastener",
                f'is missing for "{drain.name}", so nothing says what closes it',
                "name its [[fastener]]",
                at,
            )
        if drain.expected_ml is None:
            yield doubt(
                "drain.expected",
                f'is missing for "{drain.name}", so nobody sees when too little '
                f"comes out",
                "look it up, or write what came out last time",
                at,
            )
        if drain.pressure and "pressure" not in text:
            yield doubt(
                "cautions.lines",
                f'has no word on pressure, under which "{drain.name}" stands',
                "add a sentence on it",
            )


LOOKS = (torques, renewals, tube, drains)

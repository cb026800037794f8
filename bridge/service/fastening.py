"""How a fastener goes back: what must be ticked, its words, the lift of a tube.

Torques stay numbers here (N·m): the screen shows them in the person's units. They
are the sheet's; nothing is worked out from the thread.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from bridge.level.volume import tube_mm, volume_ml
from bridge.service.step_names import renewals
from bridge.values.frozen import frozen
from bridge.values.service_sheet import Fastener, Tick

PITCHES_MM: dict[float, tuple[float, ...]] = {
    5.0: (0.8, 0.5),
    6.0: (1.0, 0.75),
    8.0: (1.25, 1.0),
    10.0: (1.5, 1.25, 1.0),
    12.0: (1.75, 1.5, 1.25),
    14.0: (2.0, 1.5, 1.25),
    16.0: (2.0, 1.5),
    18.0: (2.5, 2.0, 1.5),
    20.0: (2.5, 2.0, 1.5),
    22.0: (2.5, 2.0, 1.5),
    24.0: (3.0, 2.0, 1.5),
    27.0: (3.0, 2.0, 1.5),
    30.0: (3.5, 2.0, 1.5),
}
"""Diameter -> pitches, the coarse one of 'M14' first (ISO 261, ISO 262)."""
_THREAD = re.compile(
    r"M\s*(\d{1,2}(?:[.,]\d+)?)(?:\s*[x×X*]\s*(\d(?:[.,]\d+)?))?", re.IGNORECASE
)


def ticks_wanted(fastener: Fastener) -> tuple[Tick, ...]:
    """Return what is ticked off at a fastener, in the order it is done.

    Being tightened is always one of them: also hand tight is tight.
    """
    wanted = {
        Tick.RENEWED: bool(fastener.renew),
        Tick.TIGHTENED: True,
        Tick.ANGLE: bool(fastener.angle_deg),
        Tick.BACKED_OFF: bool(fastener.turns_back),
    }
    return tuple(tick for tick, asked in wanted.items() if asked)


@frozen
class FastenerLine:
    """One fastener in words; the torque goes between, in the person's units."""

    before: tuple[str, ...]
    """What it is: name, count, drive, thread, what must be new."""
    torque_nm: float | None
    """None: the sheet gives none; never made up."""
    torque_tolerance_nm: float | None
    after: tuple[str, ...]
    """How it is tightened besides: hand tight, angle, turns back, plastic, note."""


def line_of(fastener: Fastener) -> FastenerLine:
    """Return the parts of a fastener's line; none of them is empty."""
    count = f"{fastener.count} ×" if fastener.count > 1 else ""
    number = f"part number {fastener.number}" if fastener.number else ""
    before = (fastener.name, count, fastener.drive, fastener.thread, number)
    after = (
        "hand tight" if fastener.hand_tight else "",
        angle_words(fastener) if fastener.angle_deg else "",
        sequence_words(fastener),
        _turns_back(fastener.turns_back),
        "plastic: do not overtighten" if fastener.plastic else "",
        fastener.note,
    )
    return FastenerLine(
        before=tuple(part for part in (*before, renewals(fastener)) if part),
        torque_nm=fastener.torque_nm,
        torque_tolerance_nm=fastener.torque_tolerance_nm,
        after=tuple(part for part in after if part),
    )


def angle_words(fastener: Fastener) -> str:
    """Return the further angle: 'then 90 ± 5° further'."""
    give = fastener.angle_tolerance_deg
    plus = "" if give is None else f" ± {give:g}"
    return f"then {fastener.angle_deg or 0:g}{plus}° further"


def sequence_words(fastener: Fastener) -> str:
    """Return the order of a set of bolts: 'in the order 1, 3, 2'; '' if none."""
    order = ", ".join(str(bolt) for bolt in fastener.sequence)
    return f"in the order {order}" if order else ""


def stages_words(fastener: Fastener, show: Callable[[float], str]) -> str:
    """Return the stages before the torque: 'first 8.0 N·m, then '; '' if none.

    ``show`` makes a text of a torque in N·m.
    """
    stages = ", then ".join(show(nm) for nm in fastener.stages_nm)
    return f"first {stages}, then " if stages else ""


def _turns_back(turns: float | None) -> str:
    if not turns:
        return ""
    return f"then back {turns:g} turn{'' if turns == 1 else 's'}"


def pitch_mm(thread: str) -> float | None:
    """Return the pitch in mm of a metric thread such as 'M14x1.5'; see `metric`."""
    size = metric(thread)
    return None if size is None else size[1]


def metric(thread: str) -> tuple[float, float] | None:
    """Return diameter and pitch in mm of a metric thread.

    'M14' alone has the coarse pitch of ISO 261. None: not a metric thread, a pitch
    of 0, or a diameter whose coarse pitch is not in the table.
    """
    found = _THREAD.fullmatch(thread.strip())
    if found is None:
        return None
    diameter, *named = (float(n.replace(",", ".")) for n in found.groups() if n)
    pitch = named[0] if named else PITCHES_MM.get(diameter, (0.0,))[0]
    return (diameter, pitch) if pitch else None


@frozen
class TubeLift:
    """What backing an overflow tube off does to the level."""

    height_mm: float
    volume_ml: float | None
    """None: the sheet does not give the sump's area."""


def tube_lift(
    fastener: Fastener, tube_pitch_mm: float | None, area_cm2: float | None
) -> TubeLift | None:
    """Return how far the turns back lift a tube, and the fluid that is worth.

    ``tube_pitch_mm``: the sheet's; None: the thread's own. None if the fastener has
    no turns back, or no pitch is known. Raises ValueError for a pitch or an area of
    0 or less.
    """
    pitch = pitch_mm(fastener.thread) if tube_pitch_mm is None else tube_pitch_mm
    if not fastener.turns_back or pitch is None:
        return None
    height = tube_mm(fastener.turns_back, pitch)
    volume = None if area_cm2 is None else volume_ml(height, area_cm2)
    return TubeLift(height_mm=height, volume_ml=volume)

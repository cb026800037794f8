"""What a careful reader would doubt about a sheet that has no mistake in it."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.core.model import EngineRule, Role, Sheet
from bridge.profile.can_ids import spell, standard_reply

_WARMING_C_PER_S = 2.5 / 60
"""How fast fluid passes through a window around 40 °C while the engine idles: 10 °C
in 4.0 minutes for a first-order rise from 20 towards 90 °C in 20 minutes (computed;
the time constant is common practice, no source)."""

_WIDEST_C = 30.0
_WARMEST_C = 110.0
_SHORTEST_SOURCE = 12
_NO_SOURCE = ("unknown", "internet", "forum", "somewhere", "todo", "n/a", "not known")


def review_sheet(sheet: Sheet) -> tuple[str, ...]:
    """Return doubts about a sheet, each one a sentence; empty if there are none.

    A doubt forbids nothing: the sheet loads, and the gate decides as ever.
    """
    return tuple(doubt for look in _LOOKS for doubt in look(sheet))


def _width_c(sheet: Sheet) -> float:
    return sheet.window.high_c - sheet.window.low_c


def _window(sheet: Sheet) -> Iterator[str]:
    if _width_c(sheet) > _WIDEST_C:
        yield (
            f"The window is {_width_c(sheet):.3g} °C wide, and most are 5 to 20 °C: "
            f"look up both limits again."
        )
    if sheet.window.high_c > _WARMEST_C:
        yield (
            f"The window ends at {sheet.window.high_c:.4g} °C, hotter than levels are "
            f"usually set: look up the limit and its unit again."
        )


def _settling(sheet: Sheet) -> Iterator[str]:
    lasts_s = _width_c(sheet) / _WARMING_C_PER_S
    if sheet.engine is EngineRule.IDLING and sheet.settle_time_s > lasts_s / 2:
        yield (
            f"The settle time of {sheet.settle_time_s:.4g} s is more than half of the "
            f"{lasts_s:.0f} s that warming fluid usually stays in such a window: the "
            f"gate may seldom say GO."
        )


def _source(sheet: Sheet) -> Iterator[str]:
    source = sheet.source.casefold()
    if len(source) < _SHORTEST_SOURCE or any(word in source for word in _NO_SOURCE):
        yield (
            f'The source "{sheet.source}" does not let anyone look the figures up: '
            f"name the document, its edition and the section."
        )


def _texts(sheet: Sheet) -> Iterator[str]:
    if not sheet.cautions:
        yield (
            "There are no cautions: add [cautions] with at least hot fluid, how the "
            "car is held up, and the running engine."
        )
    if not sheet.steps:
        yield (
            "The level step is not written down: add [steps] with level = [...] in "
            "the maker's order."
        )


def _fluid(sheet: Sheet) -> Iterator[str]:
    fluid = sheet.signal(Role.FLUID_TEMPERATURE)
    if fluid is None:
        yield (
            "No signal gives the fluid temperature, so the gate can never say GO: add "
            "a [[signal]] with that role, or measure by other means."
        )
        return
    step_c = abs(fluid.factor)
    if _width_c(sheet) < 2 * step_c:
        yield (
            f"The window is {_width_c(sheet):.3g} °C wide, less than two steps of the "
            f"sensor's {step_c:.3g} °C: look up factor and window again."
        )
    if fluid.service == 0x01:
        yield (
            "The fluid temperature is asked for as a standard PID, and no standard PID "
            "is known to carry it: look up service and identifier again."
        )
    if not fluid.not_available and fluid.maximum is None:
        yield (
            "Nothing says which raw value means 'no reading': add not_available, or "
            "minimum and maximum, to the fluid temperature's signal."
        )


def _selector(sheet: Sheet) -> Iterator[str]:
    selector = sheet.signal(Role.SELECTOR)
    if selector is not None and not selector.labels:
        yield (
            "The selector has no labels, so its position cannot be named: add "
            'labels = { "0" = "P", ... }.'
        )


def _ids(sheet: Sheet) -> Iterator[str]:
    asked = {s.request_id for s in sheet.signals if s.request_id is not None}
    for can_id in sorted(asked):
        if standard_reply(can_id) is None:
            yield (
                f"The request id {spell(can_id)} is outside ISO 15765-4 (7E0 to 7E7, "
                f"18DAxxF1): make sure that it is a control unit's diagnostic id on "
                f"this very car."
            )


_LOOKS = (_window, _settling, _source, _texts, _fluid, _selector, _ids)

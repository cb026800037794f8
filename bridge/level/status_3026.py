"""SAE J1939's SPN 3026, oil level measurement status, for each reason against GO."""

from __future__ import annotations

from bridge.values.conditions import Reason

LEVEL_STATUS: dict[Reason, int] = {
    Reason.TOO_COLD: 3,
    Reason.TOO_HOT: 4,
    Reason.VEHICLE_MOVING: 5,
    Reason.ENGINE_STOPPED: 7,
    Reason.ENGINE_TOO_SLOW: 7,
    Reason.ENGINE_TOO_FAST: 8,
    Reason.ENGINE_RUNNING: 8,
    Reason.READING_REFUSED: 14,
    Reason.READING_IMPLAUSIBLE: 14,
    Reason.SENSOR_CODE: 14,
    Reason.SENSOR_OFFSET: 14,
    Reason.SENSOR_STUCK: 14,
    Reason.SENSOR_STOPPED: 14,
    Reason.SENSOR_JUMPED: 14,
    Reason.SENSOR_IS_COOLANT: 14,
    Reason.SENSOR_BELOW_AIR: 14,
    Reason.SOURCES_DISAGREE: 14,
    Reason.CAR_NOT_LEVEL: 6,
}
"""SPN 3026's value for each reason that has one of its own; 13 'other' for the
rest, 15 'not available' while nothing is read (SAE J1939-71)."""
_NOT_AVAILABLE = 15
_OTHER = 13
_IN_GEAR = 2
_NEUTRAL = frozenset({"p", "n", "park", "neutral"})
_NOTHING_READ = (
    Reason.CONNECTING,
    Reason.LINK_LOST,
    Reason.ADAPTER_SILENT,
    Reason.NO_SIGNAL,
    Reason.NO_READING,
    Reason.READING_STALE,
    Reason.CLOCK_JUMPED,
)


def level_status(
    reason: Reason, *, selector: str | None = None, wanted: str = ""
) -> int:
    """Return SPN 3026's value for a reason (SAE J1939-71; bridge's own mapping).

    Its 'in gear' is said only of a selector that is read in a gear (``selector``) where
    the sheet does not want one (``wanted``): a sheet that wants D is not met in P, and
    that is 'other'.
    """
    if reason in _NOTHING_READ:
        return _NOT_AVAILABLE
    if reason is Reason.SELECTOR_WRONG:
        in_gear = (selector or "P").casefold() not in _NEUTRAL
        return _IN_GEAR if in_gear and wanted.casefold() in _NEUTRAL else _OTHER
    return LEVEL_STATUS.get(reason, _OTHER)

"""What the forecast knows, in words: where there is more to say than a time. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tui.words import figures

if TYPE_CHECKING:
    from bridge.snapshot import Snapshot
    from bridge.values.outlook import Passed
    from bridge.values.sheet import Window
    from tui.words.figures import TemperatureUnit


def short_of(snapshot: Snapshot, window: Window, unit: TemperatureUnit) -> str:
    """Say what the fluid may do instead of reaching the window."""
    temp_c = figures.known_c(snapshot.temp_c)
    above = temp_c is not None and temp_c > window.high_c
    idling = (figures.known(snapshot.engine_rpm, 0.0) or 0.0) > 0.0
    below = f"may not reach the window{' at idle' if idling else ''}"
    instead = "may stay above the window" if above else below
    settles = figures.temperature(snapshot.settles_at_c, unit, 0)
    beside = settles == figures.UNKNOWN or snapshot.settles_at_c is None
    if beside or window.low_c <= (snapshot.settles_at_c or 0.0) <= window.high_c:
        return instead
    return f"{instead}, settles near {settles}"


def learning(figures_in_s: float | None, early_s: float | None) -> tuple[str, ...]:
    """Say that conditions changed, and what stands all the same."""
    wait = figures.spoken_time(
        max(1.0, figures.known(figures_in_s, 0.0, 3600.0) or 1.0)
    )
    changed = f"opens: conditions changed, a countdown again in {wait}"
    if early_s is None:
        return (changed, "opens: conditions changed")
    early = figures.early_time(early_s)
    return (
        f"{changed}; not before {early}",
        f"opens not before {early}, conditions changed",
        f"opens not before {early}",
    )


def passed(gone: Passed, unit: TemperatureUnit) -> tuple[str, ...]:
    """Say that the window is behind, and when the fluid is back."""
    edge = f"{figures.edge(gone.edge_c, unit)} °{unit}"
    ago_s = figures.known(gone.ago_s, 0.0, 86_400.0)
    if ago_s is None:
        where = f"already above {edge}"
    else:
        where = f"passed {edge} {figures.rough_ago(ago_s)}"
    back = gone.back
    if back is None or figures.known(back.p05_s, 0.0, 3600.0) is None:
        return (f"{where}: engine off, let it cool", where)
    early = figures.whole_minutes(back.p05_s or 0.0)
    if figures.known(back.p50_s, 0.0, 3600.0) is None:
        return (
            f"{where}: engine off, not back before {early} min",
            f"{where}: engine off",
            where,
        )
    about = figures.rough_time(back.p50_s or 0.0)
    known = figures.known(back.p95_s, 0.0, 3600.0)
    late = "over 60" if known is None else figures.whole_minutes(known)
    return (
        f"{where}: engine off, cools back in {about} ({early} to {late})",
        f"{where}: engine off, back in {about}",
        f"{where}: engine off",
        where,
    )


def stays(snapshot: Snapshot | None) -> str:
    """Say at GO for how long the fluid surely stays; '' where that is not known."""
    shuts = snapshot.shuts if snapshot is not None else None
    lead = snapshot.lead if snapshot is not None else None
    if shuts is None or (lead is not None and lead.window.any):
        return ""
    early_s = figures.known(3600.0 if shuts.p05_s is None else shuts.p05_s, 0.0, 3600.0)
    if early_s is None or early_s < 5.0:
        return ""
    return f", the fluid stays at least {figures.at_least(early_s)}"

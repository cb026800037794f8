"""The two countdowns: their sentences and bars, worded by how much is known. Pure."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.values.frozen import frozen
from bridge.values.outlook import HORIZON_S, Crossing
from tui.words import figures

if TYPE_CHECKING:
    from bridge.snapshot import Snapshot

LIKELY = 0.95
"""Below this chance the countdown says how likely the moment comes at all."""


@frozen
class Countdown:
    """One countdown as the screen shows it."""

    label: str
    """'opens in', 'opens not before', 'open now': what the big figure counts to."""
    big: str = ""
    """The figure in big digits, '4:10' or '12'; '' if there is none."""
    big_unit: str = ""
    """What the big figure counts when it is not minutes:seconds; else ''."""
    sentences: tuple[str, ...] = ()
    """The same news, longest first; a widget shows the first that fits."""
    early_s: float | None = None
    middle_s: float | None = None
    late_s: float | None = None
    """Ends and middle of the bar; all None: no bar. late None: beyond the hour."""


def sound(crossing: Crossing | None) -> Crossing | None:
    """Return the crossing if its numbers make sense together, else None."""
    if crossing is None or figures.known(crossing.chance, 0.0, 1.0) is None:
        return None
    quantiles = (crossing.p05_s, crossing.p50_s, crossing.p95_s)
    if any(q is not None and figures.known(q, 0.0) is None for q in quantiles):
        return None
    given = [HORIZON_S if q is None or q > HORIZON_S else q for q in quantiles]
    if given != sorted(given):
        return None
    early, middle, late = (None if q is None or q > HORIZON_S else q for q in quantiles)
    return Crossing(p05_s=early, p50_s=middle, p95_s=late, chance=crossing.chance)


def is_open(crossing: Crossing | None) -> bool:
    """Say whether the forecast has the fluid inside the window already."""
    return crossing is not None and (
        crossing.p05_s == 0 and crossing.p50_s == 0 and crossing.p95_s == 0
    )


def counting(
    word: str, crossing: Crossing | None, silent: str, short_of: str = ""
) -> Countdown:
    """Build one countdown, worded by how much is known.

    ``word``: 'opens' or 'shuts'; ``silent``: said if there is no crossing;
    ``short_of``: what the fluid may do instead, 'may not reach the window at idle'.
    """
    if crossing is None:
        return Countdown(label=word, sentences=(f"{word}: {silent}",))
    if crossing.p50_s is None:
        return _unlikely(word, crossing, short_of)
    narrow = crossing.narrow
    figure_s = crossing.p50_s if narrow else crossing.p05_s or 0.0
    big, unit = _big(figure_s)
    return Countdown(
        label=f"{word} in" if narrow else f"{word} not before",
        big=big,
        big_unit=unit,
        sentences=_counted(word, crossing) if narrow else _bounded(word, crossing),
        early_s=crossing.p05_s,
        middle_s=crossing.p50_s,
        late_s=crossing.p95_s,
    )


def staying(shuts: Crossing | None, silent: str) -> Countdown:
    """Build the countdown to the window's shutting, seen from inside.

    What counts there is how long the fluid surely stays.
    """
    counted = counting("shuts", shuts, silent)
    if shuts is None or shuts.narrow:
        return counted
    least_s = HORIZON_S if shuts.p05_s is None else shuts.p05_s
    least = figures.at_least(least_s)
    big, unit = _big(least_s)
    return replace(
        counted,
        label="stays at least",
        big=big,
        big_unit=unit,
        sentences=(
            f"stays at least {least}, {counted.sentences[0]}",
            f"stays at least {least}",
        ),
    )


def _unlikely(word: str, crossing: Crossing, short_of: str) -> Countdown:
    chance = figures.percent(crossing.chance)
    instead = short_of or "likely not within the hour"
    brief = instead.partition(",")[0]
    if crossing.p05_s is None:
        sentences = (
            f"{word}: {instead} (chance {chance})",
            f"{word}: {instead}",
            f"{word}: {brief}",
            f"{word}: over 1 h",
        )
        return Countdown(label=word, sentences=sentences)
    early = figures.early_time(crossing.p05_s)
    big, unit = _big(crossing.p05_s)
    sentences = (
        f"{word} not before {early}, {instead} (chance {chance})",
        f"{word} not before {early}, {instead}",
        f"{word} not before {early}, {brief}",
        f"{word} not before {early}",
    )
    return Countdown(
        label=f"{word} not before",
        big=big,
        big_unit=unit,
        sentences=sentences,
        early_s=crossing.p05_s,
    )


def _bounded(word: str, crossing: Crossing) -> tuple[str, ...]:
    """Say the bounds, where a countdown would claim too much."""
    early = figures.early_time(crossing.p05_s or 0.0)
    about = figures.rough_time(crossing.p50_s or 0.0)
    chance = figures.percent(crossing.chance)
    if crossing.p95_s is None:
        return (
            f"{word} not before {early}, most likely in {about} (chance {chance})",
            f"{word} not before {early}, likely in {about}",
            f"{word} not before {early}",
        )
    late = figures.late_time(crossing.p95_s)
    return (
        f"{word} between {early} and {late}, most likely in {about}",
        f"{word} between {early} and {late}",
        f"{word} {early} to {late}",
    )


def _counted(word: str, crossing: Crossing) -> tuple[str, ...]:
    shown_s = crossing.p50_s or 0.0
    left = f"{word} in {figures.spoken_time(shown_s)}"
    early = figures.early_time(crossing.p05_s or 0.0)
    late = figures.late_time(crossing.p95_s or shown_s)
    brief = f"{word} in {figures.clock_time(shown_s)}"
    sentences = [
        f"{left}, likely between {early} and {late}",
        f"{left}, likely {early} to {late}",
        f"{left}, {early} to {late}",
        f"{brief}, {early} to {late}",
        brief,
    ]
    if crossing.chance < LIKELY:
        chance = figures.percent(crossing.chance)
        sentences.insert(0, f"{sentences[0]} (chance {chance})")
        sentences.insert(2, f"{left}, {early} to {late} (chance {chance})")
    return tuple(sentences)


def _big(shown_s: float) -> tuple[str, str]:
    if shown_s < 600:
        return figures.clock_time(shown_s), ""
    return str(int(shown_s // 60)), "min"


def silence(snapshot: Snapshot) -> str:
    """Say why there is no figure, and when there will be one."""
    wait_s = figures.known(snapshot.figures_in_s, 0.0, HORIZON_S)
    if wait_s is None:
        return "first figure after another reading or two"
    return f"first figure in {figures.spoken_time(max(wait_s, 1.0))}"

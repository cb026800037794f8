"""The two countdowns: their sentences, their bars, and their steady tick. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bridge.values.outlook import HORIZON_S, Crossing, Outlook
from tui.words import figures, wording

if TYPE_CHECKING:
    from bridge.snapshot import Snapshot
    from tui.words.figures import TemperatureUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class Countdown:
    """One countdown as the screen shows it."""

    label: str
    """'opens in', 'shuts in', 'open now': what the big figure counts to."""
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """A countdown's shown value at one moment."""

    t_s: float
    left_s: float
    revised_s: float = 0.0
    """How far the forecast last moved the value at one stroke; 0: it has not."""
    said_until_s: float = -math.inf
    """Until when (snapshot time) the screen says so."""

    @property
    def revision_s(self) -> float | None:
        """The revision to tell the person about now, or None."""
        return self.revised_s if self.t_s < self.said_until_s else None


SAY_REVISION_S = 8.0
"""How long a jump of the countdown is explained, in seconds."""


def steady(last: Tick | None, t_s: float, left_s: float, *, cautious: bool) -> Tick:
    """Move the shown value towards the forecast without visible jitter.

    A small difference is taken up by running the countdown up to a quarter
    faster or slower; a large one (over 1.5 s and over 3 % of what is left) at
    once, and the tick then says for a while by how much. ``cautious``: the shown
    value may never be later than the forecast, as befits the window's shutting.
    """
    if last is None or not 0 <= t_s - last.t_s <= 10:
        return Tick(t_s=t_s, left_s=left_s)
    elapsed_s = t_s - last.t_s
    due_s = last.left_s - elapsed_s
    off_s = left_s - due_s
    if abs(off_s) > max(1.5, 0.03 * left_s):
        return Tick(
            t_s=t_s,
            left_s=left_s,
            revised_s=off_s,
            said_until_s=t_s + SAY_REVISION_S,
        )
    slack_s = 0.25 * elapsed_s
    if cautious and off_s <= 0:
        return replace(last, t_s=t_s, left_s=left_s)  # not due_s + off_s: that rounds
    moved_s = max(-slack_s, min(slack_s, off_s))
    return replace(last, t_s=t_s, left_s=due_s + moved_s)


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
    word: str,
    crossing: Crossing | None,
    shown_s: float | None,
    silent: str,
    never: str = "",
    *,
    revised_s: float | None = None,
) -> Countdown:
    """Build one countdown. ``word``: 'opens' or 'shuts'; ``silent``: said if none.

    ``never`` is said in place of a time that most likely does not come.
    ``shown_s`` is the steady value of the middle quantile, None if it has none.
    ``revised_s``: the countdown has just jumped by so much; the sentence says so.
    """
    shown_s = figures.known(shown_s, 0.0, HORIZON_S)
    if crossing is None:
        return Countdown(label=word, sentences=(f"{word}: {silent}", f"{word}: --"))
    if crossing.p50_s is None or shown_s is None:
        return _unlikely(word, crossing, never)
    big, unit = _big(shown_s)
    return Countdown(
        label=f"{word} in",
        big=big,
        big_unit=unit,
        sentences=_sentences(word, crossing, shown_s, revised_s),
        early_s=crossing.p05_s,
        middle_s=shown_s,
        late_s=crossing.p95_s,
    )


def _unlikely(word: str, crossing: Crossing, never: str) -> Countdown:
    chance = figures.percent(crossing.chance)
    sentences: list[str] = []
    if never:
        sentences = [f"{word}: {never} (chance {chance})", f"{word}: {never}"]
    sentences += [
        f"{word}: likely not within the hour (chance {chance})",
        f"{word}: over 1 h (chance {chance})",
        f"{word}: over 1 h",
    ]
    if crossing.p05_s is not None and not never:
        early = figures.early_time(crossing.p05_s)
        sentences.insert(
            0, f"{word}: likely not within the hour, earliest {early} ({chance})"
        )
    return Countdown(label=word, sentences=tuple(sentences), early_s=crossing.p05_s)


def _sentences(
    word: str, crossing: Crossing, shown_s: float, revised_s: float | None
) -> tuple[str, ...]:
    left = f"{word} in {figures.spoken_time(shown_s)}"
    early = figures.early_time(min(crossing.p05_s or 0.0, shown_s))
    late = (
        "over 1 h"
        if crossing.p95_s is None
        else figures.late_time(max(crossing.p95_s, shown_s))
    )
    brief = f"{word} in {figures.clock_time(shown_s)}"
    sentences = [
        f"{left}, likely between {early} and {late}",
        f"{left}, likely {early} to {late}",
        f"{left}, {early} to {late}",
        f"{brief}, {early} to {late}",
        brief,
    ]
    if crossing.chance < 0.95:
        chance = figures.percent(crossing.chance)
        sentences.insert(0, f"{sentences[0]} (chance {chance})")
        sentences.insert(2, f"{left}, {early} to {late} (chance {chance})")
    return (*_revision(left, brief, revised_s), *sentences)


def _revision(left: str, brief: str, revised_s: float | None) -> tuple[str, ...]:
    """Say why the countdown has just jumped: the readings moved the forecast."""
    if revised_s is None:
        return ()
    way = "later" if revised_s > 0 else "sooner"
    by = figures.spoken_time(abs(revised_s))
    return (
        f"{left}: the newest readings say {by} {way}",
        f"{left}: readings say {by} {way}",
        f"{brief}: {by} {way}",
    )


def _big(shown_s: float) -> tuple[str, str]:
    if shown_s < 600:
        return figures.clock_time(shown_s), ""
    return str(int(shown_s // 60)), "min"


def silence(snapshot: Snapshot, unit: TemperatureUnit) -> str:
    """Say why there is no countdown."""
    if snapshot.outlook is Outlook.TELLING:
        return wording.outlook(Outlook.CANNOT_TELL, snapshot, unit)
    return wording.outlook(snapshot.outlook, snapshot, unit)

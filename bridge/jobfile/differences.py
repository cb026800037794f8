"""Decisions recorded and decisions made again: which are the same, which are not."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import SequenceMatcher
from itertools import zip_longest
from typing import Any

from bridge.jobfile.file.format import RowKind
from bridge.session.rules import RULES
from bridge.values.frozen import frozen

SAME = 1e-6
"""Figures may differ by so much, relatively: another processor rounds otherwise."""


@frozen
class Change:
    """Something decided: another verdict, other reasons, a phase, a judgement."""

    t_s: float
    """Seconds since the watch began."""
    kind: str
    content: dict[str, Any]
    seq: int = 0
    """Number of its event in the file; 0: it was made by the rerun."""

    def agrees(self, other: Change) -> bool:
        """Return whether it is the same at the same time, with the same figures.

        What ``other`` says beyond this counts only where this tells as much.
        """
        if (self.t_s, self.kind) != (other.t_s, other.kind):
            return False
        return _alike(self.content, {k: other.content.get(k) for k in self.content})

    def __str__(self) -> str:
        content = self.content
        if self.kind == RowKind.VERDICT:
            reasons = ", ".join(content["reasons"])
            return f"{content['verdict']} ({reasons or 'no reason against it'})"
        if self.kind == RowKind.STEP:
            return f"step: {content.get('phase', 'none')}"
        return f"judged: {content.get('outcome', 'taken back')}"


def _alike(one: Any, other: Any) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= SAME * max(1.0, abs(one), abs(other))
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_alike(one[k], other[k]) for k in one)
    return bool(one == other)


Pair = tuple[Change | None, Change | None]


def _unlike(then: list[Change], now: list[Change]) -> Iterator[Pair]:
    """Yield what does not agree, each beside what stands in its place; None: nothing.

    One decision more or less does not make all that follow it differ.
    """
    keys = [[(c.t_s, c.kind, str(c)) for c in side] for side in (then, now)]
    matcher = SequenceMatcher(None, keys[0], keys[1], autojunk=False)
    for _, a_from, a_to, b_from, b_to in matcher.get_opcodes():
        for one, other in zip_longest(then[a_from:a_to], now[b_from:b_to]):
            if one is None or other is None or not one.agrees(other):
                yield one, other


def differences(then: list[Change], now: list[Change]) -> list[str]:
    """Return a line for each decision that is another now."""
    return [_difference(one, other) for one, other in _unlike(then, now)]


def by_other_rules(then: list[Change], now: list[Change], rules: int) -> list[str]:
    """Return a line for each decision that rules of another version made otherwise.

    Where only figures differ they are not listed: the decision is the same.
    """
    return [
        f"{_at(one, other):.3f} s: decided by version {rules}: {one or 'nothing new'}; "
        f"version {RULES} would have {_would_have(other)}"
        for one, other in _unlike(then, now)
        if str(one) != str(other) or _at(one, None) != _at(other, None)
    ]


def _at(one: Change | None, other: Change | None) -> float:
    found = one or other
    return found.t_s if found else -1.0


def _would_have(now: Change | None) -> str:
    return "decided nothing new" if now is None else f"{now} at {now.t_s:.3f} s"


def _difference(then: Change | None, now: Change | None) -> str:
    if then is None:
        return f"{now.t_s:.3f} s: recorded nothing, now {now}" if now else ""
    where = f"{then.t_s:.3f} s: recorded {then} (event {then.seq})"
    if now is None:
        return f"{where}, now nothing"
    if str(then) != str(now) or then.t_s != now.t_s:
        return f"{where}, now {now} at {now.t_s:.3f} s"
    return f"{where}, now the same with other figures: {_apart(then, now)}"


def _apart(then: Change, now: Change) -> str:
    keys = sorted(then.content.keys() | now.content.keys())
    pairs = ((k, then.content.get(k), now.content.get(k)) for k in keys)
    return ", ".join(f"{k} {a} became {b}" for k, a, b in pairs if not _alike(a, b))

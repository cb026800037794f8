"""How often someone may ask: token buckets with bounded memory. Pure, no clock."""

from __future__ import annotations

from collections import OrderedDict

from bridge.values.frozen import frozen


@frozen
class Rate:
    """``burst`` at once, then ``per_s`` a second."""

    burst: float
    per_s: float


PHONE = Rate(burst=40.0, per_s=20.0)
"""A paired phone: more marks than a thumb can make."""
STRANGER = Rate(burst=40.0, per_s=4.0)
"""An address without a session: enough to load the page several times."""
GUESSES = Rate(burst=6.0, per_s=0.1)
"""Wrong tokens from one address."""
MOST_KNOWN = 1024
"""Beyond this the least recent is forgotten: its bucket was likely full again."""


class Limiter:
    """One bucket for each key."""

    def __init__(self, rate: Rate) -> None:
        self._rate = rate
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()

    def allows(self, key: str, now_s: float) -> bool:
        """Take one from the key's bucket; False: it is empty."""
        left = self._now(key, now_s)
        allowed = left >= 1.0
        self._keep(key, left - 1.0 if allowed else left, now_s)
        return allowed

    def has(self, key: str, now_s: float) -> bool:
        """Say whether the bucket holds at least one, and take nothing."""
        return self._now(key, now_s) >= 1.0

    def _now(self, key: str, now_s: float) -> float:
        left, at_s = self._left.get(key, (self._rate.burst, now_s))
        gained = max(0.0, now_s - at_s) * self._rate.per_s
        return min(self._rate.burst, left + gained)

    def _keep(self, key: str, left: float, now_s: float) -> None:
        self._left[key] = (left, now_s)
        self._left.move_to_end(key)
        if len(self._left) > MOST_KNOWN:
            self._left.popitem(last=False)

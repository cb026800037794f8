"""What a job carries on when it is taken up again: words once given, on which car."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace
from types import MappingProxyType

from bridge.values.frozen import frozen
from bridge.values.sheet import Confirmation


@frozen
class Carried:
    """Confirmations given before this watch began, and whose car it was."""

    given_utc_s: Mapping[Confirmation, float] = field(
        default_factory=lambda: MappingProxyType({})
    )
    """When each was given; given anew or withdrawn since, it is not here any more."""
    vin: str = ""
    """The vehicle number the job had then; '': none was read."""
    other_car: bool = False
    """The car says another number now: nothing of this counts on it."""

    def without(self, what: Confirmation | None) -> Carried:
        """Return this less one confirmation."""
        if what not in self.given_utc_s:
            return self
        left = {c: utc_s for c, utc_s in self.given_utc_s.items() if c is not what}
        return replace(self, given_utc_s=left)

    def is_other_car(self, vin: str) -> bool:
        """Return whether a number just read is that of another car than the job's."""
        return bool(self.vin and vin and vin != self.vin)


NOTHING = Carried()

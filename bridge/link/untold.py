"""What is asked for and not answered: why no fluid, and what no unit reports."""

from __future__ import annotations

from collections.abc import Iterable

from bridge.link.schedule import ALWAYS_ASKED, Query
from bridge.protocol.reply import Refusal
from bridge.values.readings import FaultKind
from bridge.values.sheet import Role

LASTING = 3
"""So many refusals in a row are no accident any more."""
_NOT_OFFERED = (FaultKind.REFUSED, FaultKind.NO_DATA)


class MissingValue:
    """Counts, for one set of queries, what was refused and what was answered."""

    def __init__(self, queries: Iterable[Query] = ()) -> None:
        self._planned = {s.role for q in queries for s in q.signals}
        self._answered: set[Role] = set()
        self._refusals: dict[Role, tuple[int, Refusal]] = {}

    def answered(self, query: Query) -> None:
        """Take note that a query brought an answer."""
        for signal in query.signals:
            self._answered.add(signal.role)
            self._refusals.pop(signal.role, None)

    def refused(self, query: Query, refusal: Refusal) -> None:
        """Take note that a query brought none."""
        for signal in query.signals:
            count = self._refusals.get(signal.role, (0, refusal))[0]
            self._refusals[signal.role] = count + 1, refusal

    @property
    def fluid(self) -> Refusal | None:
        """Why the fluid's temperature does not come; None: it does, or may yet."""
        return self._lasting(Role.FLUID_TEMPERATURE)

    @property
    def untold(self) -> tuple[Role, ...]:
        """What of engine speed and road speed no control unit of this car tells."""
        return tuple(role for role in ALWAYS_ASKED if self._is_untold(role))

    def _is_untold(self, role: Role) -> bool:
        if role not in self._planned:
            return True
        why = self._lasting(role)
        offered = role in self._answered or why is None
        return not offered and why is not None and why.kind in _NOT_OFFERED

    def _lasting(self, role: Role) -> Refusal | None:
        count, refusal = self._refusals.get(role, (0, None))
        return refusal if count >= LASTING else None

"""What is read once and not over and over: trouble codes, lamp, identification.

The poller asks one of these a round, after the fluid has had its turn, so that none
of them keeps a reading waiting. What a unit will not tell is given up after a few
tries and left unknown.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from bridge.core.codes import (
    CODE_SERVICES,
    PENDING,
    PERMANENT,
    STATUS_LENGTH,
    STATUS_PID,
    STORED,
    BadCodes,
    merged,
    read_codes,
    read_status,
)
from bridge.core.events import Event
from bridge.core.model import FaultKind, TroubleCodes, VehicleNumber
from bridge.core.reply import Answer, Refusal
from bridge.core.request import Request
from bridge.core.vin import VIN_SERVICE, VIN_TYPE, BadVin, check_digit, read_vin

TRIES = 3
"""So often one thing is asked before it is given up."""
_CURRENT_DATA = 0x01

Ids = tuple[int | None, int]
"""Request id (None: everybody is asked) and reply id of a unit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chore:
    """One question that is asked once."""

    request: Request
    data_length: int | None = None

    @property
    def is_vin(self) -> bool:
        """Whether it asks for the identification number."""
        return self.request.service == VIN_SERVICE


class Chores:
    """The questions still to be asked, and what the others have brought."""

    def __init__(self, emit: Callable[[Event], None]) -> None:
        self._emit = emit
        self._units: tuple[Ids, ...] = ()
        self._counted = True
        self._todo: list[Chore] = []
        self._tries: dict[Request, int] = {}
        """Answers of no use so far."""
        self._upsets: dict[Request, int] = {}
        """Questions that ended in an exception instead of an answer."""
        self._codes: dict[tuple[int, int], tuple[str, ...]] = {}
        """By service and reply id. What was told once stands until told anew: a
        unit that falls silent has not lost its codes."""
        self._lamps: dict[int, bool] = {}

    def meet(
        self,
        units: Iterable[Ids],
        *,
        counted: bool,
        vin_from: Ids | None,
        anew: bool,
    ) -> None:
        """Ask everything of these units, unless they are known and not met anew.

        ``counted``: they answer in CAN's form.
        """
        units = tuple(dict.fromkeys(units))
        if not anew and (units, counted) == (self._units, self._counted):
            return
        self._units, self._counted = units, counted
        self._tries.clear()
        self._todo = _code_chores(units)
        if vin_from is not None:
            self._todo.append(_chore(VIN_SERVICE, vin_from, identifier=VIN_TYPE))

    def codes_again(self) -> None:
        """Ask for the codes once more, the given-up ones too."""
        self._tries.clear()
        vins = [c for c in self._todo if c.is_vin]
        self._todo = _code_chores(self._units) + vins

    def next(self, now_s: float) -> Chore | None:
        """Return the next question; None: all is asked.

        It counts as an upset until `took` is called: a question that resets or
        silences the adapter must not be asked for ever.
        """
        while self._todo:
            chore = self._todo[0]
            upsets = self._upsets.get(chore.request, 0)
            if max(upsets, self._tries.get(chore.request, 0)) < TRIES:
                self._upsets[chore.request] = upsets + 1
                return chore
            self._done(chore, now_s)
        return None

    def took(self, chore: Chore, result: Answer | Refusal, t_s: float) -> None:
        """Take what a question brought."""
        self._upsets.pop(chore.request, None)
        self._tries[chore.request] = self._tries.get(chore.request, 0) + 1
        if isinstance(result, Answer):
            with contextlib.suppress(BadCodes, BadVin):
                self._learn(chore, result, t_s)
                self._done(chore, t_s)
        elif result.kind is FaultKind.REFUSED:
            self._done(chore, t_s)

    def _learn(self, chore: Chore, answer: Answer, t_s: float) -> None:
        service, unit = chore.request.service, answer.reply_id
        if chore.is_vin:
            text = read_vin([answer.payload], counted=self._counted)
            digit = check_digit(text)
            self._emit(VehicleNumber(t_s=t_s, text=text, check_digit=digit))
        elif service == _CURRENT_DATA:
            self._lamps[unit] = read_status(answer.data)[0]
        else:
            self._codes[service, unit] = read_codes(
                [answer.payload], service=service, counted=self._counted
            )

    def _done(self, chore: Chore, t_s: float) -> None:
        """Cross a question off; hand the codes on once the last is answered."""
        self._todo = [c for c in self._todo if c is not chore]
        if not chore.is_vin and all(c.is_vin for c in self._todo):
            self._emit(self._told(t_s))

    def _told(self, t_s: float) -> TroubleCodes:
        def of(service: int) -> tuple[str, ...] | None:
            return merged(c for (s, _), c in self._codes.items() if s == service)

        return TroubleCodes(
            t_s=t_s,
            stored=of(STORED),
            pending=of(PENDING),
            permanent=of(PERMANENT),
            mil=any(self._lamps.values()) if self._lamps else None,
        )


def _code_chores(units: Iterable[Ids]) -> list[Chore]:
    units = tuple(units)
    lamps = [
        _chore(_CURRENT_DATA, u, identifier=STATUS_PID, data_length=STATUS_LENGTH)
        for u in units
    ]
    return lamps + [_chore(s, u) for s in CODE_SERVICES for u in units]


def _chore(
    service: int, ids: Ids, *, identifier: int = 0, data_length: int | None = None
) -> Chore:
    request = Request(
        service=service, identifier=identifier, request_id=ids[0], reply_id=ids[1]
    )
    return Chore(request=request, data_length=data_length)

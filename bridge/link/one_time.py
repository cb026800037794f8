"""One-time requests: trouble codes, lamp, identification.

The poller asks one of these a round, after the fluid has had its turn, so that none
of them keeps a reading waiting. What a unit will not tell is given up after a few
tries and left unknown.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable

from bridge.link.link import ElmLink
from bridge.link.standard_values import Ids
from bridge.protocol.frames import BadFrames
from bridge.protocol.framing import Framing, read_messages
from bridge.protocol.reply import Answer, Refusal, clean
from bridge.protocol.request import Request
from bridge.protocol.trouble_codes import (
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
from bridge.protocol.vehicle_number import (
    VIN_SERVICE,
    VIN_TYPE,
    BadVin,
    check_digit,
    read_vin,
)
from bridge.values.events import Event
from bridge.values.frozen import frozen
from bridge.values.readings import FaultKind, TroubleCodes, VehicleNumber

SEVERAL_DEADLINE_S = 1.5
"""Five messages at 10.4 kbit/s take about half a second."""
TRIES = 3
"""So often one thing is asked before it is given up."""
_CURRENT_DATA = 0x01


@frozen
class OneTimeRequest:
    """One question that is asked once."""

    request: Request
    data_length: int | None = None

    @property
    def is_vin(self) -> bool:
        """Whether it asks for the identification number."""
        return self.request.service == VIN_SERVICE


@frozen
class Brought:
    """What one question brought, and when its last byte arrived (loop time)."""

    t_s: float
    payloads: tuple[bytes, ...] = ()
    """Whole messages of the unit that was asked; several before CAN."""
    refusal: Refusal | None = None


async def ask(link: ElmLink, question: OneTimeRequest) -> Brought:
    """Ask one question; raises as `ElmLink.request` does."""
    outcome = await link.request(question.request, question.data_length)
    result = outcome.result
    if isinstance(result, Answer):
        return Brought(t_s=outcome.t_s, payloads=(result.payload,))
    framing = link.info.framing
    several = result.kind is FaultKind.BAD_REPLY and question.data_length is None
    if framing is None or framing.is_can or not several:
        return Brought(t_s=outcome.t_s, refusal=result)
    # The link takes one message for an answer; before CAN these have several. The
    # header is in force since the request just made.
    line = question.request.payload.hex().upper()
    said = await link.exchange.ask(line, deadline_s=SEVERAL_DEADLINE_S)
    payloads = _of_unit(said.lines, question.request, framing)
    if payloads:
        return Brought(t_s=said.t_s, payloads=payloads)
    return Brought(t_s=said.t_s, refusal=result)


def _of_unit(
    lines: tuple[str, ...], request: Request, framing: Framing
) -> tuple[bytes, ...]:
    """Return the messages of the unit that was asked; none if one is not to it."""
    try:
        messages = read_messages(clean(lines), framing)
    except BadFrames:
        return ()
    ours = tuple(m.payload for m in messages if m.unit == request.reply_id)
    return ours if all(p.startswith(request.echo) for p in ours) else ()


class OneTimeRequests:
    """The questions still to be asked, and what the others have brought."""

    def __init__(self, emit: Callable[[Event], None]) -> None:
        self._emit = emit
        self._units: tuple[Ids, ...] = ()
        self._counted = True
        self._todo: list[OneTimeRequest] = []
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
        self._todo = _code_questions(units)
        if vin_from is not None:
            self._todo.append(_question(VIN_SERVICE, vin_from, identifier=VIN_TYPE))

    def codes_again(self) -> None:
        """Ask for the codes once more, the given-up ones too."""
        self._tries.clear()
        vins = [c for c in self._todo if c.is_vin]
        self._todo = _code_questions(self._units) + vins

    def next(self, now_s: float) -> OneTimeRequest | None:
        """Return the next question; None: all is asked.

        It counts as an upset until `took` is called: a question that resets or
        silences the adapter must not be asked for ever.
        """
        while self._todo:
            question = self._todo[0]
            upsets = self._upsets.get(question.request, 0)
            if max(upsets, self._tries.get(question.request, 0)) < TRIES:
                self._upsets[question.request] = upsets + 1
                return question
            self._done(question, now_s)
        return None

    def took(self, question: OneTimeRequest, brought: Brought) -> None:
        """Take what a question brought."""
        self._upsets.pop(question.request, None)
        self._tries[question.request] = self._tries.get(question.request, 0) + 1
        if brought.refusal is None:
            with contextlib.suppress(BadCodes, BadVin):
                self._learn(question, brought)
                self._done(question, brought.t_s)
        elif brought.refusal.kind is FaultKind.REFUSED:
            self._done(question, brought.t_s)

    def _learn(self, question: OneTimeRequest, brought: Brought) -> None:
        service, unit = question.request.service, question.request.reply_id or 0
        payloads = brought.payloads
        if question.is_vin:
            text = read_vin(payloads, counted=self._counted)
            digit = check_digit(text)
            self._emit(VehicleNumber(t_s=brought.t_s, text=text, check_digit=digit))
        elif service == _CURRENT_DATA:
            self._lamps[unit] = read_status(payloads[0][2:])[0]
        else:
            self._codes[service, unit] = read_codes(
                payloads, service=service, counted=self._counted
            )

    def _done(self, question: OneTimeRequest, t_s: float) -> None:
        """Cross a question off; hand the codes on once the last is answered."""
        self._todo = [c for c in self._todo if c is not question]
        if not question.is_vin and all(c.is_vin for c in self._todo):
            self._emit(self._found(t_s))

    def _found(self, t_s: float) -> TroubleCodes:
        def of(service: int) -> tuple[str, ...] | None:
            return merged(c for (s, _), c in self._codes.items() if s == service)

        return TroubleCodes(
            t_s=t_s,
            stored=of(STORED),
            pending=of(PENDING),
            permanent=of(PERMANENT),
            mil=any(self._lamps.values()) if self._lamps else None,
        )


def _code_questions(units: Iterable[Ids]) -> list[OneTimeRequest]:
    units = tuple(units)
    lamps = [
        _question(_CURRENT_DATA, u, identifier=STATUS_PID, data_length=STATUS_LENGTH)
        for u in units
    ]
    return lamps + [_question(s, u) for s in CODE_SERVICES for u in units]


def _question(
    service: int, ids: Ids, *, identifier: int = 0, data_length: int | None = None
) -> OneTimeRequest:
    request = Request(
        service=service, identifier=identifier, request_id=ids[0], reply_id=ids[1]
    )
    return OneTimeRequest(request=request, data_length=data_length)

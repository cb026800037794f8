"""Characters that show while the bus is searched and the units are met."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.values.causes import Cause
from simulators.adapter import legacy_bus
from simulators.adapter.hooks import variant
from simulators.car.car_units import ENGINE_29, GEARBOX_29
from simulators.car.ecu import Reply
from simulators.characters.character import (
    CAN,
    CAN_11,
    REQUEST,
    Answering,
    Character,
)

if TYPE_CHECKING:
    from simulators.adapter.hooks import BusRequest, Host, Pieces
    from simulators.car.ecu import Unit

_EVERYTHING = b"\x01\x00"


class _Dots(Character):
    name = "dots"
    about = "dots instead of SEARCHING, on the answer's own line, with every search"
    takes_s = 1.0
    _searching = False

    def departing(self, pieces: Pieces) -> Pieces:
        """Turn the notice into dots and take the end of line after it away."""
        out: Pieces = []
        for at_s, piece in pieces:
            if piece.startswith(b"SEARCHING"):
                self._searching = True
                out += [(at_s + 0.1 * place, b".") for place in range(9)]
            elif self._searching and not piece.strip():
                self._searching = False
            else:
                out.append((at_s, piece))
        return out


class _Crumbs(Character):
    name = "crumbs"
    about = "the search takes 5 s, its answer comes in crumbs of one to seven bytes"
    takes_s = 7.0
    _first = True

    def started(self) -> None:
        adapter = self.bench.adapter
        adapter.settings = replace(adapter.settings, search_s=5.0, bus_init_s=5.0)

    def typed(self, line: str) -> str | None:
        """Take note of the first request, and of what comes after its answer."""
        if not re.fullmatch(REQUEST, line) and self.bench.now_s() > self.takes_s:
            self._first = False
        return None

    def departing(self, pieces: Pieces) -> Pieces:
        searching = any(piece.startswith((b"SEARCH", b"BUS")) for _, piece in pieces)
        if not self._first or self.bench.adapter.memory.connected or not searching:
            return pieces
        return [crumb for piece in pieces for crumb in self._crumbs(*piece)]

    def _crumbs(self, at_s: float, piece: bytes) -> Pieces:
        out: Pieces = []
        while piece:
            size = self.random.randint(1, 7)
            out.append((at_s, piece[:size]))
            piece, at_s = piece[size:], at_s + 0.4
        return out


class _StraysInSearch(Character):
    name = "strays-in-search"
    about = "the answers to 0100 come with answers to 010D and 0111"
    needs = CAN

    def replies(self, ask: BusRequest) -> None:
        if ask.payload == _EVERYTHING:
            ask.replies += [
                replace(reply, t_s=reply.t_s + later_s, payload=payload)
                for reply in ask.replies
                for later_s, payload in (
                    (-0.002, b"\x41\x0d\x00"),
                    (0.002, b"\x41\x11\x26"),
                )
            ]


def _named(host: Host, name: str) -> Unit | None:
    return next((u for u in host.adapter.units if u.name == name), None)


class _RefusesService01(Character):
    name = "refuses-service-01"
    about = "the only unit that answers refuses service 01 (7F 01 11)"
    said_as = Cause.ENGINE_UNTOLD

    def replies(self, ask: BusRequest) -> None:
        unit = _named(self.bench, "gearbox")
        if ask.payload[:1] == b"\x01" and unit is not None:
            refusal, at_s = b"\x7f\x01\x11", ask.now_s + unit.latency_s
            ask.replies = [Reply(t_s=at_s, sender=unit.reply_id, payload=refusal)]


class _NoEngine(Character):
    name = "no-engine"
    about = "no unit on the bus tells engine speed or road speed"
    said_as = Cause.ENGINE_UNTOLD

    def started(self) -> None:
        adapter = self.bench.adapter
        adapter.units = tuple(u for u in adapter.units if u.name != "engine")


class _EngineElsewhere(Character):
    name = "engine-elsewhere"
    about = "engine speed comes from 7EC, 18DAF11A or 1A"

    def started(self) -> None:
        unit = _named(self.bench, "engine")
        if unit is None:
            return
        if self.bench.car.protocol in legacy_bus.LEGACY:
            unit.request_id, unit.reply_id = 0x1A, 0x1A
        elif unit.reply_id > 0x7FF:
            unit.request_id, unit.reply_id = 0x18DA1AF1, 0x18DAF11A
        else:
            unit.request_id, unit.reply_id = 0x7E4, 0x7EC


class _ManyUnits(Character):
    name = "many-units"
    about = "four units answer 0100 in changing order, one of them refuses"
    needs = CAN_11

    def replies(self, ask: BusRequest) -> None:
        """Let two more answer, and shuffle."""
        if ask.payload != _EVERYTHING or ask.ident != 0x7DF:
            return
        ask.replies += [
            Reply(t_s=ask.now_s, sender=0x7EB, payload=bytes.fromhex("410080000000")),
            Reply(t_s=ask.now_s, sender=0x7ED, payload=bytes.fromhex("7F0112")),
        ]
        times = [ask.now_s + 0.008 + 0.002 * n for n in range(len(ask.replies))]
        self.random.shuffle(times)
        pairs = zip(ask.replies, times, strict=True)
        ask.replies = [replace(reply, t_s=t_s) for reply, t_s in pairs]


class _EmptyBitmap(Character):
    name = "empty-bitmap"
    about = "0100 is answered with no PID at all, though they are there"

    def replies(self, ask: BusRequest) -> None:
        if ask.payload == _EVERYTHING:
            ask.change(lambda _: bytes.fromhex("410000000000"))


class _NoKeepAlive(Character):
    name = "no-keep-alive"
    about = "a copy that sends no keep-alive: a K-line sleeps after 5 s of silence"
    needs = legacy_bus.K_LINE

    def started(self) -> None:
        adapter = self.bench.adapter
        adapter.settings = replace(adapter.settings, keep_alive=False)


class _OtherIds(Character):
    name = "other-ids"
    about = "the car's bus has 29-bit ids, whatever the sheet says"
    needs = CAN_11
    refused_as = Cause.WRONG_BUS

    def started(self) -> None:
        self.bench.car.protocol = "7"
        for unit in self.bench.adapter.units:
            ids = ENGINE_29 if unit.name == "engine" else GEARBOX_29
            unit.request_id, unit.reply_id = ids


SEARCHING: tuple[type[Character], ...] = (
    _Dots,
    _Crumbs,
    _StraysInSearch,
    _RefusesService01,
    _NoEngine,
    _EngineElsewhere,
    _ManyUnits,
    _EmptyBitmap,
    variant(
        Answering, "first-search-fails", "the first request ends in UNABLE TO CONNECT",
        text="UNABLE TO CONNECT", times=1, takes_s=1.5,
    ),
    variant(
        Answering, "no-bus", "every request ends in UNABLE TO CONNECT",
        text="UNABLE TO CONNECT", takes_s=1.5, refused_as=Cause.NO_BUS,
    ),
    variant(
        Answering, "first-wake-fails", "the first wake-up of a K-line fails",
        text="BUS INIT: ...ERROR", times=1, takes_s=1.5, needs=legacy_bus.K_LINE,
    ),
    variant(
        Answering, "never-wakes", "every wake-up of a K-line fails",
        text="BUS INIT: ...ERROR", takes_s=1.5, needs=legacy_bus.K_LINE,
        refused_as=Cause.BUS_INIT_FAILED,
    ),
    _NoKeepAlive,
    _OtherIds,
)  # fmt: skip

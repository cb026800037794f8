"""Characters that show while the bus is searched and the units are met."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.values.causes import Cause
from simulators.adapter import legacy_bus
from simulators.car.car_units import ENGINE_29, GEARBOX_29
from simulators.car.ecu import Reply
from simulators.characters.character import CAN, CAN_11, Character, Pieces
from simulators.characters.connecting import is_request

if TYPE_CHECKING:
    from simulators.adapter.hooks import BusRequest, Host
    from simulators.car.ecu import Unit

EVERYTHING = b"\x01\x00"
K_LINE = frozenset("345")


class Dots(Character):
    """Progress dots stand, one by one, at the head of the answer's own line."""

    name = "dots"
    about = "dots instead of SEARCHING, on the answer's own line, with every search"
    takes_s = 1.0

    def __init__(self, *, seed: int = 0) -> None:
        super().__init__(seed=seed)
        self._searching = False

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


class Crumbs(Character):
    """The search takes five seconds, and what it brings comes in crumbs."""

    name = "crumbs"
    about = "the search takes 5 s, its answer comes in crumbs of one to seven bytes"
    takes_s = 7.0

    def __init__(self, *, seed: int = 0) -> None:
        super().__init__(seed=seed)
        self._first = True

    def started(self, bench: Host) -> None:
        """Lengthen the search."""
        super().started(bench)
        bench.adapter.settings = replace(
            bench.adapter.settings, search_s=5.0, bus_init_s=5.0
        )

    def typed(self, line: str) -> str | None:
        """Take note of the first request, and of what comes after its answer."""
        if not is_request(line) and self.now_s > self.takes_s:
            self._first = False
        return None

    def departing(self, pieces: Pieces) -> Pieces:
        """Cut what leaves during the search."""
        if not self._first or self.bench is None:
            return pieces
        if self.bench.adapter.memory.connected or not any(
            piece.startswith((b"SEARCH", b"BUS")) for _, piece in pieces
        ):
            return pieces
        return [crumb for piece in pieces for crumb in self._crumbs(*piece)]

    def _crumbs(self, at_s: float, piece: bytes) -> Pieces:
        out: Pieces = []
        while piece:
            size = self.random.randint(1, 7)
            out.append((at_s, piece[:size]))
            piece, at_s = piece[size:], at_s + 0.4
        return out


class StraysInSearch(Character):
    """In the answer to 0100 stand answers to somebody else's questions."""

    name = "strays-in-search"
    about = "the answers to 0100 come with answers to 010D and 0111"
    needs = CAN

    def replies(self, ask: BusRequest) -> None:
        """Add them, before and behind."""
        if ask.payload != EVERYTHING:
            return
        strays = [
            replace(reply, t_s=reply.t_s + later_s, payload=payload)
            for reply in ask.replies
            for later_s, payload in (
                (-0.002, b"\x41\x0d\x00"),
                (0.002, b"\x41\x11\x26"),
            )
        ]
        ask.replies += strays


def _named(host: Host | None, name: str) -> Unit | None:
    units = host.adapter.units if host else ()
    return next((u for u in units if u.name == name), None)


class RefusesService01(Character):
    """The gearbox refuses service 01 and nobody else answers it."""

    name = "refuses-service-01"
    about = "the only unit that answers refuses service 01 (7F 01 11)"
    said_as = Cause.ENGINE_UNTOLD

    def replies(self, ask: BusRequest) -> None:
        """Refuse in the gearbox's name."""
        unit = _named(self.bench, "gearbox")
        if ask.payload[:1] != b"\x01" or unit is None:
            return
        ask.replies = [
            Reply(
                t_s=ask.now_s + unit.latency_s,
                sender=unit.reply_id,
                payload=b"\x7f\x01\x11",
            )
        ]


class NoEngine(Character):
    """The engine's unit is not on this bus."""

    name = "no-engine"
    about = "no unit on the bus tells engine speed or road speed"
    said_as = Cause.ENGINE_UNTOLD

    def started(self, bench: Host) -> None:
        """Take it off."""
        super().started(bench)
        units = bench.adapter.units
        bench.adapter.units = tuple(u for u in units if u.name != "engine")


class EngineElsewhere(Character):
    """The engine's unit sits at an unusual address."""

    name = "engine-elsewhere"
    about = "engine speed comes from 7EC, 18DAF11A or 1A"

    def started(self, bench: Host) -> None:
        """Move it."""
        super().started(bench)
        unit = _named(bench, "engine")
        if unit is None:
            return
        if bench.car.protocol in legacy_bus.LEGACY:
            unit.request_id, unit.reply_id = 0x1A, 0x1A
        elif unit.reply_id > 0x7FF:
            unit.request_id, unit.reply_id = 0x18DA1AF1, 0x18DAF11A
        else:
            unit.request_id, unit.reply_id = 0x7E4, 0x7EC


class ManyUnits(Character):
    """More units answer, in changing order, and one of them refuses."""

    name = "many-units"
    about = "four units answer 0100 in changing order, one of them refuses"
    needs = CAN_11

    def replies(self, ask: BusRequest) -> None:
        """Let two more answer, and shuffle."""
        if ask.payload != EVERYTHING or ask.ident != 0x7DF:
            return
        ask.replies += [
            Reply(t_s=ask.now_s, sender=0x7EB, payload=bytes.fromhex("410080000000")),
            Reply(t_s=ask.now_s, sender=0x7ED, payload=bytes.fromhex("7F0112")),
        ]
        times = [ask.now_s + 0.008 + 0.002 * n for n in range(len(ask.replies))]
        self.random.shuffle(times)
        pairs = zip(ask.replies, times, strict=True)
        ask.replies = [replace(reply, t_s=t_s) for reply, t_s in pairs]


class EmptyBitmap(Character):
    """The bitmap of supported PIDs is empty, and the PIDs are there."""

    name = "empty-bitmap"
    about = "0100 is answered with no PID at all, though they are there"

    def replies(self, ask: BusRequest) -> None:
        """Empty every bitmap."""
        if ask.payload == EVERYTHING:
            ask.replies = [
                replace(r, payload=bytes.fromhex("410000000000")) for r in ask.replies
            ]


class FirstSearchFails(Character):
    """The first request finds nobody, the next one does."""

    name = "first-search-fails"
    about = "the first request ends in UNABLE TO CONNECT"
    takes_s = 1.5
    text = "UNABLE TO CONNECT"
    times = 1

    def __init__(self, *, seed: int = 0) -> None:
        super().__init__(seed=seed)
        self._left = self.times

    def typed(self, line: str) -> str | None:
        """Fail as long as it is its turn."""
        if not is_request(line) or self._left <= 0:
            return None
        self._left -= 1
        return self.text


class NoBus(FirstSearchFails):
    """No search ever finds a bus."""

    name = "no-bus"
    about = "every request ends in UNABLE TO CONNECT"
    refused_as = Cause.NO_BUS
    times = 10**9


class FirstWakeFails(FirstSearchFails):
    """The first wake-up of a K-line gets no answer."""

    name = "first-wake-fails"
    about = "the first wake-up of a K-line fails"
    text = "BUS INIT: ...ERROR"
    needs = K_LINE


class NeverWakes(FirstWakeFails):
    """The K-line never wakes up."""

    name = "never-wakes"
    about = "every wake-up of a K-line fails"
    refused_as = Cause.BUS_INIT_FAILED
    times = 10**9


class NoKeepAlive(Character):
    """A copy that lets the K-line fall asleep."""

    name = "no-keep-alive"
    about = "a copy that sends no keep-alive: a K-line sleeps after 5 s of silence"
    needs = K_LINE

    def started(self, bench: Host) -> None:
        """Stop the messages in between."""
        super().started(bench)
        bench.adapter.settings = replace(bench.adapter.settings, keep_alive=False)


class OtherIds(Character):
    """The car speaks 29-bit ids, the sheet 11-bit ones."""

    name = "other-ids"
    about = "the car's bus has 29-bit ids, whatever the sheet says"
    needs = CAN_11
    refused_as = Cause.WRONG_BUS

    def started(self, bench: Host) -> None:
        """Move the whole car over."""
        super().started(bench)
        bench.car.protocol = "7"
        for unit in bench.adapter.units:
            ids = ENGINE_29 if unit.name == "engine" else GEARBOX_29
            unit.request_id, unit.reply_id = ids


SEARCHING: tuple[type[Character], ...] = (
    Dots, Crumbs, StraysInSearch, RefusesService01, NoEngine, EngineElsewhere,
    ManyUnits, EmptyBitmap, FirstSearchFails, NoBus, FirstWakeFails, NeverWakes,
    NoKeepAlive, OtherIds,
)  # fmt: skip

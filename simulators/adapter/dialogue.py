"""A request typed at the adapter, until the last answer and the prompt."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from simulators.adapter import bus, isotp, j1939, legacy_bus
from simulators.adapter.hooks import BusRequest
from simulators.adapter.printed import lines

if TYPE_CHECKING:
    from collections.abc import Generator

    from simulators.adapter.hooks import AdapterSide, Steps
    from simulators.car.ecu import Reply

_PENDING_S = 5.0  # P2* of ISO 14229-2: how long a pending answer may take
_NO_ACKNOWLEDGE_S = 0.02  # a CAN frame nobody acknowledges is given up after this


def request(adapter: AdapterSide, text: str) -> Steps:
    """Send the hexadecimal text, with a count digit if its length is odd."""
    if adapter.memory.protocol == "A":
        yield from _ask_j1939(adapter, text)
        return
    count = int(text[-1], 16) if len(text) % 2 else None
    payload = bytes.fromhex(text[: len(text) // 2 * 2])
    refused = count is not None and not adapter.settings.count_digit
    if refused or not 0 < len(payload) <= 8:
        adapter.answer("?")
        return
    if _fallen_asleep(adapter):
        adapter.memory.connected = False
    if not adapter.memory.connected:
        yield from _connect(adapter)
    if not adapter.memory.connected:
        adapter.prompt()
        return
    adapter.memory.last_bus_s = adapter.clock_s
    message = _message(adapter, payload)
    if message is None:
        adapter.answer("?")
        return
    yield from _ask(adapter, message, count or None)


def _fallen_asleep(adapter: AdapterSide) -> bool:
    """Tell whether a K-line's units have ended the communication meanwhile."""
    memory = adapter.memory
    quiet_s = adapter.clock_s - memory.last_bus_s
    if not memory.connected or memory.protocol not in legacy_bus.K_LINE:
        return False
    every_s = memory.wakes_every_s if adapter.settings.keep_alive else 0.0
    kept = 0.0 < every_s <= legacy_bus.ASLEEP_S
    return quiet_s > legacy_bus.ASLEEP_S and not kept


def _ask_j1939(adapter: AdapterSide, text: str) -> Steps:
    if not adapter.memory.connected:
        yield from _connect(adapter)
    if adapter.memory.connected:
        yield from j1939.request(adapter, text)
    else:
        adapter.prompt()


def _connect(adapter: AdapterSide) -> Steps:
    """Find the bus, as the first request after choosing a protocol does."""
    memory = adapter.memory
    if memory.automatic:
        adapter.emit(b"SEARCHING...")
        wake_s = legacy_bus.WAKE_S.get(adapter.car.protocol, 0.0)
        yield adapter.clock_s + adapter.settings.search_s + wake_s
        # The automatic search leaves J1939 out, as the data sheet says.
        memory.connected = adapter.car.ignition and adapter.car.protocol != "A"
        if memory.connected:
            memory.protocol = adapter.car.protocol
        adapter.say("" if memory.connected else "\rUNABLE TO CONNECT")
        return
    found = adapter.car.ignition and memory.protocol == adapter.car.protocol
    if memory.protocol in legacy_bus.K_LINE:
        adapter.emit(b"BUS INIT: ")
        told_s = adapter.settings.bus_init_s
        yield adapter.clock_s + (told_s or legacy_bus.WAKE_S[memory.protocol])
        adapter.say("OK" if found else "...ERROR")
    elif not found:
        yield adapter.clock_s + _NO_ACKNOWLEDGE_S
        adapter.say("CAN ERROR" if bus.is_can(memory.protocol) else "NO DATA")
    memory.connected = found


def _message(adapter: AdapterSide, payload: bytes) -> bytes | None:
    """Return what reaches the units; None if the adapter cannot send it."""
    memory = adapter.memory
    if not bus.is_can(memory.protocol):
        return payload if len(payload) <= 7 else None
    if memory.can_format:
        return payload if len(payload) <= 7 else None
    size = payload[0]
    # Without formatting the first byte must be the PCI byte of a single frame.
    return payload[1 : 1 + size] if 0 < size < len(payload) else b""


def _ask(adapter: AdapterSide, payload: bytes, count: int | None) -> Steps:
    now_s = adapter.clock_s
    adapter.bus = [frame for frame in adapter.bus if frame.t_s > now_s]
    ask = BusRequest(ident=_ident(adapter), payload=payload, now_s=now_s, count=count)
    _put_on_bus(adapter, ask)
    if not adapter.memory.responses:
        adapter.prompt()
        return
    if ask.say is not None:
        yield now_s + adapter.units[0].latency_s
        adapter.say(ask.say)
        adapter.prompt()
        return
    yield from _listen(adapter, ask)


def _ident(adapter: AdapterSide) -> int:
    memory = adapter.memory
    if not bus.is_can(memory.protocol):
        return int.from_bytes(memory.header_legacy, "big")
    in_11 = memory.protocol in bus.CAN_11
    return memory.header_11 if in_11 else memory.header_29_full


def _put_on_bus(adapter: AdapterSide, ask: BusRequest) -> None:
    protocol = adapter.memory.protocol
    if bus.is_can(protocol):
        ask.replies = bus.ask_can(adapter.units, ask.ident, ask.payload, ask.now_s)
    else:
        header = adapter.memory.header_legacy
        ask.replies = bus.ask_legacy(
            adapter.units, protocol, header, ask.payload, ask.now_s
        )
    if not adapter.car.ignition:
        ask.say = "CAN ERROR" if bus.is_can(protocol) else "NO DATA"
    for hook in adapter.hooks:
        hook.replies(ask)
    for reply in ask.replies:
        ask.frames += _frames(adapter, reply)
    for hook in adapter.hooks:
        hook.frames(ask)
    adapter.bus = sorted(adapter.bus + ask.frames, key=lambda frame: frame.t_s)


def _frames(adapter: AdapterSide, reply: Reply) -> list[bus.Frame]:
    protocol = adapter.memory.protocol
    if not bus.is_can(protocol):
        return bus.legacy_frames(reply, protocol)
    unit = next((u for u in adapter.units if u.reply_id == reply.sender), None)
    flow = _flow(adapter, reply.sender)
    if flow is None or unit is None or flow.ident != unit.request_id:
        flow = None  # the sender of a long message waits in vain
    return bus.can_frames(reply, protocol, unit.padding if unit else None, flow)


def _flow(adapter: AdapterSide, sender: int) -> isotp.FlowControl | None:
    """Return the flow control the adapter sends to the owner of a reply id."""
    memory = adapter.memory
    if not memory.can_flow or not memory.accepts(sender):
        return None
    ident = memory.flow_header if memory.flow_mode == 1 else _partner(sender)
    data = memory.flow_data if memory.flow_mode else b"\x30\x00\x00"
    if ident is None or data is None:
        return None
    return isotp.parse_flow(ident, data.ljust(3, b"\x00"))


def _partner(sender: int) -> int | None:
    """The adapter knows whom to answer only among the standard addresses."""
    if 0x7E8 <= sender <= 0x7EF:
        return sender - 8
    if sender & 0x1FFFFF00 == 0x18DAF100:
        return 0x18DA00F1 | (sender & 0xFF) << 8
    return None


def _listen(adapter: AdapterSide, ask: BusRequest) -> Steps:
    """Print what comes until the count is reached or nothing has come in time."""
    window_s = adapter.memory.listen_s(adaptive_works=adapter.settings.adaptive)
    until_s = ask.now_s + window_s
    heard = 0
    while not (ask.count and heard >= ask.count):
        frame = yield from _next_frame(adapter, until_s)
        if frame is None:
            break
        if not _wanted(adapter, frame):
            continue
        printed = _print(adapter, ask, frame)
        if ask.hang:
            yield math.inf
        heard += printed
        _learn(adapter, ask, frame.t_s)
        pending = _is_pending(adapter, frame) and adapter.settings.waits_for_pending
        until_s = frame.t_s + (_PENDING_S if pending else window_s)
    if not heard:
        adapter.memory.round_trip_s = None  # what was learnt was too short
        adapter.say("NO DATA")
    adapter.prompt()


def _next_frame(
    adapter: AdapterSide, until_s: float
) -> Generator[float, None, bus.Frame | None]:
    """Wait for the next frame on the bus; None once the time is up."""
    while True:
        coming = adapter.bus[0] if adapter.bus else None
        if coming is not None and coming.t_s <= adapter.clock_s:
            return adapter.bus.pop(0)
        if adapter.clock_s >= until_s:
            return None
        yield until_s if coming is None else min(coming.t_s, until_s)


def _wanted(adapter: AdapterSide, frame: bus.Frame) -> bool:
    if not bus.is_can(adapter.memory.protocol):
        return True
    return adapter.memory.accepts(frame.ident)


def _print(adapter: AdapterSide, ask: BusRequest, frame: bus.Frame) -> bool:
    """Print a frame; tell whether it gave any line."""
    texts = lines(frame, adapter.memory, adapter.settings)
    for text in texts:
        changed = text
        for hook in adapter.hooks:
            changed = hook.line(ask, changed)
        if ask.hang:
            adapter.emit(changed.encode("latin-1", "replace"))
            return True
        adapter.say(changed)
        ask.printed += 1
    return bool(texts)


def _learn(adapter: AdapterSide, ask: BusRequest, t_s: float) -> None:
    """Follow the slowest answer quickly and faster ones slowly."""
    seen_s, known_s = t_s - ask.now_s, adapter.memory.round_trip_s
    if known_s is None or seen_s > known_s:
        adapter.memory.round_trip_s = seen_s
    else:
        adapter.memory.round_trip_s = known_s + 0.125 * (seen_s - known_s)


def _is_pending(adapter: AdapterSide, frame: bus.Frame) -> bool:
    data = frame.data[1:] if bus.is_can(adapter.memory.protocol) else frame.data
    return data[:1] == b"\x7f" and data[2:3] == b"\x78"

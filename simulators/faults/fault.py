"""What all faults share: when they strike, and small tools for spoiling answers."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from simulators.adapter.hooks import Hooks

if TYPE_CHECKING:
    from simulators.adapter.hooks import BusRequest
    from simulators.car.ecu import Reply


class BenchFault(Hooks):
    """One thing that goes wrong, by name; its constructor's arguments are its options.

    Times among them are in seconds.
    """


@dataclass(eq=False, kw_only=True)
class ExchangeFault(BenchFault):
    """One that strikes single exchanges.

    ``chance`` is the share of exchanges it strikes, 0..1; ``only`` limits it to
    requests whose hexadecimal text begins so ('22', '0105'); ``seed`` repeats it.
    """

    chance: float = 1.0
    only: str = ""
    seed: int = 0

    def __post_init__(self) -> None:
        self.random = random.Random(self.seed)  # noqa: S311 - repeatable, not secret
        self._begins = bytes.fromhex(self.only)

    def strikes(self, ask: BusRequest) -> bool:
        """Tell whether this exchange is to go wrong."""
        if not ask.payload.startswith(self._begins):
            return False
        return self.chance >= 1 or self.random.random() < self.chance


def echo_size(payload: bytes) -> int:
    """Return how many bytes of a positive answer repeat the request."""
    return {0x62: 3, 0x41: 2, 0x49: 2, 0x61: 2}.get(payload[0], 1)


def is_positive(payload: bytes) -> bool:
    """Tell whether an answer carries data."""
    return payload[:1] != b"\x7f" and len(payload) > echo_size(payload)


def falsified(payload: bytes) -> bytes:
    """Return an answer with the same echo and other, believable data."""
    size = echo_size(payload)
    return payload[:size] + bytes(byte ^ 0x15 for byte in payload[size:])


def neighbour(sender: int) -> int:
    """Return the reply id of another unit, one an adapter lets through."""
    if sender > 0x7FF:
        return sender & ~0xFF | (0x2A if sender & 0xFF != 0x2A else 0x2B)
    return 0x7E8 if sender != 0x7E8 else 0x7EA


def from_neighbour(reply: Reply, *, later_s: float = 0.0) -> Reply:
    """Return another unit's answer to the same request, with other data."""
    return replace(
        reply,
        sender=neighbour(reply.sender),
        payload=falsified(reply.payload),
        t_s=reply.t_s + later_s,
    )

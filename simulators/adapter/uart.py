"""The serial side of an adapter: bytes take ten bit times each, both ways."""

from __future__ import annotations

import math
from collections import deque

_EPS_S = 1e-9


MOST_ARRIVING = 4096
"""Bytes kept that have not arrived yet; a program that sends on loses the rest."""


class Receiver:
    """Bytes on their way in, each with the time it has fully arrived."""

    def __init__(self, baud: int) -> None:
        self.byte_s = 10 / baud
        self._queue: deque[tuple[float, int]] = deque()
        self._last_s = -math.inf

    def put(self, data: bytes, now_s: float) -> None:
        """Take bytes that start arriving now, behind those still arriving."""
        at_s = max(now_s, self._last_s)
        for byte in data[: MOST_ARRIVING - len(self._queue)]:
            at_s += self.byte_s
            self._queue.append((at_s, byte))
        self._last_s = at_s

    def next_s(self) -> float:
        """Return when the next byte is in; infinity if none is coming."""
        return self._queue[0][0] if self._queue else math.inf

    def end_s(self) -> float:
        """Return when the last byte is in; infinity if none is coming."""
        return self._queue[-1][0] if self._queue else math.inf

    def pop(self) -> tuple[float, int]:
        """Take the next byte with its time."""
        return self._queue.popleft()

    def clear(self) -> None:
        """Forget everything on its way."""
        self._queue.clear()


class Sender:
    """Bytes on their way out."""

    def __init__(self, baud: int) -> None:
        self.byte_s = 10 / baud
        self._queue: deque[tuple[float, bytes]] = deque()
        self._free_s = -math.inf

    def put(self, data: bytes, ready_s: float) -> None:
        """Queue bytes that may leave from ``ready_s`` on."""
        if data:
            self._queue.append((ready_s, data))

    def take(self, now_s: float) -> bytes:
        """Return every byte that has fully left by now."""
        out = bytearray()
        while self._queue:
            ready_s, data = self._queue[0]
            start_s = max(ready_s, self._free_s)
            left = math.floor((now_s - start_s) / self.byte_s + _EPS_S / self.byte_s)
            if left <= 0:
                break
            out += data[:left]
            self._free_s = start_s + min(left, len(data)) * self.byte_s
            if left < len(data):
                self._queue[0] = (ready_s, data[left:])
                break
            self._queue.popleft()
        return bytes(out)

    def burst_s(self) -> float:
        """Return when the bytes now leaving without a pause are through."""
        end_s = math.inf
        free_s = self._free_s
        for ready_s, data in self._queue:
            if ready_s > end_s + _EPS_S:
                break
            end_s = max(ready_s, free_s) + len(data) * self.byte_s
            free_s = end_s
        return end_s

    def end_s(self, now_s: float) -> float:
        """Return when everything queued is through; now if nothing is."""
        free_s = self._free_s
        for ready_s, data in self._queue:
            free_s = max(ready_s, free_s) + len(data) * self.byte_s
        return max(now_s, free_s)

    def clear(self) -> None:
        """Throw away what has not left yet."""
        self._queue.clear()

"""What an adapter says about itself is heard, and nothing is changed by it."""

from __future__ import annotations

import pytest

from bridge.jobfile.adapter_id import AdapterId, answer


class Scripted:
    """A port that answers from a list, in pieces of two bytes."""

    def __init__(self, answers: dict[bytes, bytes]) -> None:
        self._answers, self._waiting = answers, b""
        self.written: list[bytes] = []
        self.closed = False

    async def read(self) -> tuple[bytes, float]:
        data, self._waiting = self._waiting[:2], self._waiting[2:]
        return data, 1.5

    def write(self, data: bytes) -> None:
        self.written.append(data)
        self._waiting = self._answers[data]

    def close(self) -> None:
        self.closed = True

    def set_baud(self, speed: int) -> int:
        return speed


ANSWERS = {
    b"ATZ\r": b"ATZ\r\r\rELM327 v1.5\r\r>",
    b"ATDPN\r": b"A6\r\r>",
    b"0105\r": b"41 05 3C\r\r>",
}


async def test_name_and_protocol_are_heard_once() -> None:
    told: list[dict] = []
    inner = Scripted(ANSWERS)

    async def opener() -> Scripted:
        return inner

    port = await AdapterId(lambda kind, content: told.append({kind: content})).wrap(
        opener
    )()
    for line in (b"ATZ\r", b"ATDPN\r", b"0105\r", b"ATZ\r", b"ATDPN\r"):
        port.write(line)
        passed = b""
        while data := (await port.read())[0]:
            passed += data
        assert passed == ANSWERS[line]
    port.close()
    assert told == [
        {"adapter": {"banner": "ELM327 v1.5"}},
        {"adapter": {"banner": "ELM327 v1.5", "protocol": "A6"}},
    ]
    assert inner.written[0] == b"ATZ\r"
    assert inner.closed
    assert port.set_baud(9600) == 9600
    assert getattr(port, "no_such_thing", None) is None


@pytest.mark.parametrize(
    ("data", "told"),
    [(b"?\r\r>", ""), (b"\r>", ""), (b"at i\r", ""), (b"A\x07B\r>", "A?B")],
)
def test_odd_answers_say_nothing_or_little(data: bytes, told: str) -> None:
    assert answer("ATI", data) == told

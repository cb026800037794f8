"""Multi-frame answers against the `can-isotp` package (an independent ISO 15765-2).

The package segments the payload and is handed the flow control it asks for; the
frames it sends must come out of our reader as the same payload.
"""

from __future__ import annotations

import isotp
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.protocol.frames import BadFrames, Message, read_frames
from bridge.protocol.reply import Answer, check
from bridge.protocol.request import Request
from tests.everyday import examples


def segmented(payload: bytes, *, padding: int | None = None) -> list[bytes]:
    """Return the data of the CAN frames can-isotp sends for a payload."""
    sent: list[bytes] = []
    waiting: list[isotp.CanMessage] = []

    def send(message: isotp.CanMessage) -> None:
        sent.append(bytes(message.data))
        if message.data[0] >> 4 == 1:  # first frame: clear to send, no gaps
            flow = isotp.CanMessage(
                arbitration_id=0x7E1, dlc=3, data=bytearray([0x30, 0, 0])
            )
            waiting.append(flow)

    address = isotp.Address(isotp.AddressingMode.Normal_11bits, txid=0x7E9, rxid=0x7E1)
    params = {} if padding is None else {"tx_padding": padding}
    layer = isotp.TransportLayerLogic(
        rxfn=lambda _timeout: waiting.pop(0) if waiting else None,
        txfn=send,
        address=address,
        params=params,
    )
    layer.send(payload)
    for _ in range(2000):
        if not layer.transmitting():
            break
        layer.process()
    return sent


def lines(frames: list[bytes], unit: str = "7E9") -> list[str]:
    return [unit + f.hex().upper() for f in frames]


@examples(150)
@given(st.binary(min_size=1, max_size=300), st.sampled_from([None, 0xAA, 0x00]))
def test_every_payload_comes_back(payload: bytes, padding: int | None) -> None:
    frames = segmented(payload, padding=padding)
    assert read_frames(lines(frames), id_digits=3) == [Message(0x7E9, payload)]


@examples(80)
@given(st.binary(min_size=20, max_size=200), st.data())
def test_a_lost_frame_is_never_glued_over(payload: bytes, data: st.DataObject) -> None:
    frames = segmented(payload)
    lost = data.draw(st.integers(0, len(frames) - 1))
    with pytest.raises(BadFrames):
        read_frames(lines(frames[:lost] + frames[lost + 1 :]), id_digits=3)


def test_the_longest_classic_payload_and_the_sequence_wrap() -> None:
    # ISO 15765-2: 4095 bytes start 1F FF; the sequence number wraps F -> 0.
    payload = bytes(n % 251 for n in range(4095))
    frames = segmented(payload)
    assert frames[0][:2] == bytes.fromhex("1FFF")
    assert [f[0] for f in frames[15:18]] == [0x2F, 0x20, 0x21]
    assert read_frames(lines(frames), id_digits=3) == [Message(0x7E9, payload)]


def test_the_data_sheets_identification_answer() -> None:
    # ELM327 data sheet, service 09 PID 02 with headers on (a worked example; its
    # text is not used as a demonstration car anywhere).
    told = [
        "7E8 10 14 49 02 01 31 44 34",
        "7E8 21 47 50 30 30 52 35 35",
        "7E8 22 42 31 32 33 34 35 36",
    ]
    request = Request(service=0x09, identifier=0x02, reply_id=0x7E8)
    answer = check(told, request, reply_id=0x7E8, data_length=18)
    assert isinstance(answer, Answer)
    assert answer.data[0] == 1  # number of data items
    assert len(answer.data[1:]) == 17

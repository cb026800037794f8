"""A wire log is read strictly, written so that it reads back, and played faithfully."""

from __future__ import annotations

import asyncio

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.link.ports.wire_log import format_line
from bridge.values.errors import UsageError
from simulators.serve.paced_loop import PacedLoop
from simulators.serve.pipe import BenchPipe
from simulators.serve.playback import (
    Chunk,
    Playback,
    exchanges,
    parse_wire_log,
    playback_bench,
    read_playback,
)

LOG = r"""# a cheap adapter, recorded at home
0.000000 < \xFC\x00
1.000000 > ATZ\r
1.500000 < ATZ\r\r\rELM327 v1.5\r\r>
2.000000 > 0105\r
2.040000 < 41 05 3C \r
2.240000 < \r>
3.000000 > 01
3.000500 > 05\r
3.100000 < NO DATA\r\r>
"""


@given(
    st.lists(
        st.tuples(
            st.floats(0, 1e5, allow_nan=False), st.booleans(), st.binary(min_size=1)
        ),
        min_size=1,
    )
)
def test_what_is_written_reads_back(rows):
    times = sorted(round(row[0], 6) for row in rows)
    chunks = tuple(
        Chunk(t_s=t_s, to_adapter=way, data=data)
        for t_s, (_t, way, data) in zip(times, rows, strict=True)
    )
    chunks += (Chunk(t_s=times[-1], to_adapter=False, data=b">"),)
    text = "\r\n".join(
        format_line(c.t_s, c.data, to_adapter=c.to_adapter) for c in chunks
    )
    assert text.isascii()
    assert parse_wire_log(text, "log") == chunks


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "nothing an adapter said"),
        ("1.0 > ATZ\\r", "nothing an adapter said"),
        ("1.0 OK", "line 1"),
        ("nan < OK", "line 1"),
        ("2.0 < OK\n1.0 < OK", "line 2"),
        ("1.0 < OK\\q", "escape"),
        ("1.0 < OK\\x4", "escape"),
        ("1.0 < °", r"\\xB0|latin|escape|wire log"),
        ("1.0 < \u20ac", "character"),
    ],
)
def test_bad_logs_are_refused_in_one_sentence(text, word):
    if "°" in text:
        assert parse_wire_log(text, "log")[0].data == b"\xb0"
        return
    with pytest.raises(UsageError, match=word) as caught:
        parse_wire_log(text, "log.txt")
    assert "log.txt" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_missing_and_binary_files(tmp_path):
    with pytest.raises(UsageError, match="cannot be read"):
        read_playback(tmp_path / "none.log")
    (tmp_path / "x.log").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(UsageError, match="not a text file"):
        read_playback(tmp_path / "x.log")


def heard(player: Playback, until_s: float, step_s: float = 0.01) -> list:
    out, now_s = [], player.wake_s()
    while now_s is not None and now_s <= until_s:
        out.append((round(now_s, 6), player.take(now_s)))
        now_s = player.wake_s()
    return out


def test_answers_come_with_the_delays_of_the_log():
    player = Playback(exchanges(parse_wire_log(LOG, "log")))
    player.power_up(10.0)
    assert heard(player, 11) == [(10.0, b"\xfc\x00")]
    player.receive(b"at z\r", 20.0)
    assert heard(player, 21) == [(20.5, b"ATZ\r\r\rELM327 v1.5\r\r>")]
    player.receive(b"0105\r", 30.0)
    assert heard(player, 31) == [(30.04, b"41 05 3C \r"), (30.24, b"\r>")]
    player.receive(b"0105\r", 40.0)
    assert heard(player, 41) == [(40.0995, b"NO DATA\r\r>")]
    player.receive(b"0105\r", 50.0)  # from the start again
    assert heard(player, 51)[0] == (50.04, b"41 05 3C \r")
    player.receive(b"ATRV\r", 60.0)
    assert heard(player, 61) == [(60.005, b"?\r\r>")]


def test_a_program_on_a_bench_that_plays_a_log():
    async def main():
        bench = playback_bench(LOG, "log")
        pipe = BenchPipe(bench)
        assert await pipe.read() == (b"\xfc\x00", 0.0)
        pipe.write(b"ATZ\r")
        data, t_s = await pipe.read()
        with pytest.raises(UsageError):
            bench.fault("silent")
        return data, t_s

    with asyncio.Runner(loop_factory=PacedLoop) as runner:
        data, t_s = runner.run(main())
    assert data.endswith(b"ELM327 v1.5\r\r>")
    assert t_s == pytest.approx(0.5)

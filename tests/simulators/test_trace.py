"""Recorded curves: what is read, what is refused, and how they play."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.values.errors import TraceError
from bridge.values.trace_text import Sample, parse_trace
from simulators.car.curve import Curve, read_trace


def test_the_plain_form():
    assert parse_trace("time_s,temp_c\n0,20\n1.5,20.5\n", "t.csv") == (
        Sample(time_s=0.0, temp_c=20.0),
        Sample(time_s=1.5, temp_c=20.5),
    )


def test_what_spreadsheets_do_to_files_is_tolerated():
    text = "\ufeff Temp_C , note, time_s ,Engine_RPM\r\n20.5,a,0,700\r\n\r\n ,b,1,\r\n"
    assert parse_trace(text, "t.csv") == (
        Sample(time_s=0.0, temp_c=20.5, engine_rpm=700.0),
        Sample(time_s=1.0, temp_c=None),
    )
    assert len(parse_trace("time_s,temp_c\r0,20\r1,21\r", "old.csv")) == 2


def test_optional_columns_are_kept():
    text = "time_s,temp_c,speed_kmh,coolant_c,ambient_c\n0,20,0,80,-5\n"
    (sample,) = parse_trace(text, "t.csv")
    assert (sample.speed_kmh, sample.coolant_c, sample.ambient_c) == (0.0, 80.0, -5.0)


def test_a_short_row_has_a_dropout():
    assert parse_trace("time_s,temp_c\n0,20\n1\n", "t.csv")[1].temp_c is None


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", ("empty", "time_s,temp_c")),
        ("\n \n", ("empty",)),
        ("0,20\n1,21\n", ("line 1", "time_s")),
        ("time_s,temp\n0,20\n", ("line 1", "temp_c")),
        ("time_s;temp_c\n0;20\n", ("line 1", "time_s")),
        ("time_s,temp_c,temp_c\n0,20,21\n", ("line 1", "twice")),
        ("time_s,temp_c\n", ("no temperature",)),
        ("time_s,temp_c\n0,\n1,\n", ("no temperature",)),
        ("time_s,temp_c\n0,20\n1,warm\n", ("line 3", "'warm'", "temp_c")),
        ("time_s,temp_c\n0,20\n1,nan\n", ("line 3", "'nan'")),
        ("time_s,temp_c\n0,20\n1,-inf\n", ("line 3", "'-inf'")),
        ("time_s,temp_c\n0,20\n1,2_0\n", ("line 3", "'2_0'")),
        ("time_s,temp_c\n0,20\n1,٢٠\n", ("line 3",)),
        ("time_s,temp_c\n0,20\n1,1e400\n", ("line 3", "1e400")),
        ("time_s,temp_c\n0,20\n1,'20,5'\n", ("line 3",)),
        ("time_s,temp_c\n0,20\n1,250.5\n", ("line 3", "250.5", "unit")),
        ("time_s,temp_c\n0,20\n1,-61\n", ("line 3", "-61")),
        ("time_s,temp_c\n0,20\n0,21\n", ("line 3", "increase")),
        ("time_s,temp_c\n5,20\n\n4,21\n", ("line 4", "increase")),
        ("time_s,temp_c\n,20\n", ("line 2", "time_s")),
        ("temp_c,time_s\n20\n", ("line 2", "time_s")),
        ("time_s,temp_c,engine_rpm\n0,20,-1\n", ("line 2", "engine_rpm")),
        ("time_s,temp_c\n0,20\x00\n", ("not a text file",)),
        ("time_s,temp_c\n0," + "9" * 200_000 + "\n", ("line 2",)),
    ],
)
def test_what_is_wrong_is_said_in_one_sentence(text, words):
    with pytest.raises(TraceError) as caught:
        parse_trace(text, "log.csv")
    said = str(caught.value)
    assert said.startswith("log.csv")
    assert "\n" not in said
    assert len(said) < 250
    for word in words:
        assert word in said


@given(st.text())
def test_no_text_raises_anything_else(text):
    for candidate in (text, "time_s,temp_c\n" + text):
        try:
            samples = parse_trace(candidate, "x")
        except TraceError as error:
            assert "\n" not in str(error)  # noqa: PT017 - both outcomes are right
        else:
            assert samples


def test_files_that_cannot_be_read(tmp_path):
    with pytest.raises(TraceError, match="cannot be read"):
        read_trace(tmp_path / "none.csv")
    with pytest.raises(TraceError, match="is a folder"):
        read_trace(tmp_path)
    (tmp_path / "x.csv").write_bytes(b"\xff\xfet\x00i\x00")
    with pytest.raises(TraceError, match="not a text file"):
        read_trace(tmp_path / "x.csv")


CURVE = Curve(parse_trace("time_s,temp_c\n100,20\n110,30\n120,\n130,40\n140,50\n", "c"))


@pytest.mark.parametrize(
    ("elapsed_s", "temp_c"),
    [(-1, None), (0, 20), (5, 25), (10, 30), (19.9, 30), (20, None), (29.9, None),
     (30, 40), (37.5, 47.5), (40, 50), (40.1, None)],
)  # fmt: skip
def test_a_curve_is_straight_between_rows_and_absent_in_a_dropout(elapsed_s, temp_c):
    assert CURVE.value("temp_c", elapsed_s) == (
        None if temp_c is None else pytest.approx(temp_c)
    )


def test_other_columns_play_too():
    text = "time_s,temp_c,engine_rpm,coolant_c\n0,20,700,80\n10,30,800,\n"
    trace = Curve(parse_trace(text, "c"))
    assert trace.value("engine_rpm", 5) == 750
    assert trace.value("coolant_c", 5) == 80
    assert trace.value("ambient_c", 5) is None
    assert trace.length_s == 10

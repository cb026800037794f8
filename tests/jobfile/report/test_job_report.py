"""The report's parts: the trace that keeps its extremes, the page, the PDF."""

from __future__ import annotations

import itertools
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.jobfile.report.document import Document, Para, ReportTable, Section, Tone
from bridge.jobfile.report.field_words import after, moment_utc
from bridge.jobfile.report.report_html import STYLE, as_html
from bridge.jobfile.report.report_plot import (
    LETTER,
    WIDTH,
    Drawn,
    PlotLine,
    PlotMark,
    Word,
    ticks,
    time_unit,
)
from bridge.jobfile.report.report_plot import draw as draw_plot
from bridge.jobfile.report.thinned_trace import ThinnedTrace
from tests.everyday import examples


@examples(60)
@given(
    st.lists(
        st.tuples(st.floats(0.0, 30.0), st.floats(-40.0, 150.0)),
        min_size=1,
        max_size=400,
    ),
    st.integers(2, 20),
)
def test_every_column_keeps_its_first_last_lowest_and_highest(
    steps: list[tuple[float, float]], columns: int
) -> None:
    """Against brute force over the same columns (M4, PVLDB 7(10), 2014)."""
    trace = ThinnedTrace(gap_s=1e9, columns=columns)
    times = list(itertools.accumulate(step for step, _ in steps))
    points = list(zip(times, (v for _, v in steps), strict=True))
    for t_s, value in points:
        trace.add(t_s, value)
    drawn = [p for line in trace.lines() for p in line]
    assert len(drawn) <= 4 * 2 * columns
    assert set(drawn) <= set(points)
    grouped: dict[int, list[tuple[float, float]]] = {}
    for point in points:
        grouped.setdefault(int(point[0] // trace._width_s), []).append(point)
    for group in grouped.values():
        values = [v for _, v in group]
        kept = [p for p in drawn if p in group]
        assert {min(values), max(values)} <= {v for _, v in kept}
        assert group[0] in kept
        assert group[-1] in kept


def test_a_gap_breaks_the_line() -> None:
    trace = ThinnedTrace(gap_s=2.0)
    for t_s in (0.0, 1.0, 2.0, 9.0, 10.0):
        trace.add(t_s, 20.0 + t_s)
    assert [[t for t, _ in line] for line in trace.lines()] == [
        [0.0, 1.0, 2.0],
        [9.0, 10.0],
    ]
    assert trace.gaps == 1
    assert trace.longest_gap == (2.0, 7.0)


def test_many_gaps_do_not_grow_without_end() -> None:
    trace = ThinnedTrace(gap_s=0.5, columns=50)
    for i in range(20_000):
        trace.add(float(i), 20.0)
    assert trace.gaps == 19_999
    assert len(trace._breaks) <= 4 * 50 + 1
    assert len(trace.lines()) <= 8 * 50


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e6), st.integers(2, 12))
def test_ticks_are_round_few_and_inside(low: float, span: float, most: int) -> None:
    found = ticks(low, low + span, most)
    assert len(found) <= most + 1
    assert all(low - 1e-6 * span <= t <= low + 1.000001 * span for t in found)


def test_the_plot_stays_on_its_sheet() -> None:
    drawn = Drawn(
        lines=[[(0.0, 20.0), (100.0, 60.0)], [(120.0, 61.0)]],
        window=(35.0, 45.0),
        gaps=[(100.0, 20.0)],
        marks=[PlotMark(at_s=0.0, text="opened"), PlotMark(at_s=120.0, text="closed")],
        length_s=120.0,
        unit="°C",
    )
    plot = draw_plot(drawn)
    for shape in plot.shapes:
        if isinstance(shape, PlotLine):
            assert all(
                0 <= x <= WIDTH and 0 <= y <= plot.height for x, y in shape.points
            )
    assert time_unit(120.0) == (1.0, "s")
    assert time_unit(86400.0) == (3600.0, "h")


_TEXTS = st.sampled_from(["GO", "GO ends", "opened", "call to close", "settled"])


@given(
    st.lists(st.tuples(st.floats(0.0, 900.0), _TEXTS), max_size=40),
    st.lists(st.floats(-20.0, 120.0), min_size=2, max_size=30),
)
def test_no_word_of_the_plot_lies_on_the_curve_a_line_or_another_word(
    told: list[tuple[float, str]], temps: list[float]
) -> None:
    drawn = Drawn(
        lines=[[(i * 900.0 / (len(temps) - 1), t) for i, t in enumerate(temps)]],
        window=(35.0, 45.0),
        gaps=[(300.0, 40.0)],
        marks=[PlotMark(at_s=at, text=text) for at, text in told],
        length_s=900.0,
        unit="°C",
    )
    plot = draw_plot(drawn)
    boxes = [_room_of(s) for s in plot.shapes if isinstance(s, Word)]
    lines = [s for s in plot.shapes if isinstance(s, PlotLine)]
    assert all(x >= 0 and right <= WIDTH for x, _, right, _ in boxes)
    for i, box in enumerate(boxes):
        assert not any(_meet(box, other) for other in boxes[:i])
        for line in lines:
            for piece in itertools.pairwise(line.points):
                (x, y), (to_x, to_y) = sorted(piece)
                assert not _meet(box, (x, min(y, to_y), to_x, max(y, to_y)))
    words = {s.text for s in plot.shapes if isinstance(s, Word)}
    assert plot.unnamed or {text for _, text in told} <= words


def _room_of(word: Word) -> tuple[float, float, float, float]:
    """Where a word is: left, top, right, bottom; 5 points high, as small letters."""
    width = len(word.text) * (LETTER if word.anchor == "start" else 4.2)
    share = {"start": 0.0, "middle": 0.5, "end": 1.0}[word.anchor]
    left = max(0.0, word.x - share * width)
    return (left, word.y - 6.0, left + width, word.y)


def _meet(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return (
        one[0] < other[2]
        and other[0] < one[2]
        and one[1] < other[3]
        and other[1] < one[3]
    )


def _luminance(colour: str) -> float:
    """WCAG 2.2, definition of relative luminance."""
    digits = colour if len(colour) == 6 else "".join(2 * c for c in colour)
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [
        p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one: str, other: str) -> float:
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_every_writing_has_contrast() -> None:
    # WCAG 2.2, 1.4.6 (enhanced): 7 to 1; its own example: black on white is 21 to 1.
    assert _contrast("000000", "ffffff") == pytest.approx(21.0)
    pairs = re.findall(r"background: #(\w+); color: #(\w+)", STYLE)
    assert len(pairs) == 3
    for ground, ink in [*pairs, ("fff", "1b1b1b"), ("fff", "3d3d3d")]:
        assert _contrast(ground, ink) >= 7.0
    assert _contrast("cfe9d6", "1b1b1b") >= 7.0  # marks over the band
    assert _contrast("cfe9d6", "0b3d91") >= 3.0  # 1.4.11: the line on the band
    assert _contrast("cfe9d6", "6b0f0f") >= 3.0


NASTY = "<b>&\"' </style><script>x</script> ( \\ ) é ± Ж 車"


def nasty() -> Document:
    return Document(
        title="T",
        subtitle=NASTY,
        sections=(
            Section(
                heading=NASTY,
                blocks=(
                    Para(text=NASTY, tone=Tone.BAD),
                    ReportTable(
                        caption=NASTY, head=("a", NASTY), rows=((NASTY, "b"),) * 90
                    ),
                    Para(text="x" * 500),
                ),
            ),
        ),
        footer=NASTY,
    )


def test_foreign_text_cannot_become_markup() -> None:
    page = as_html(nasty())
    assert "<script" not in page
    assert page.count("</style>") == 1
    assert "車" in page


def test_a_time_reads_like_a_clock() -> None:
    assert after(0.0) == "0:00:00.0"
    assert after(3725.96) == "1:02:06.0"
    assert after(59.96) == "0:01:00.0"
    assert moment_utc(0.0) == "1970-01-01 00:00:00 UTC"
    assert moment_utc(1e30) == "--"

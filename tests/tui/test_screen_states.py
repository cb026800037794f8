"""Every banner state, as a person reads it off the screen."""

from __future__ import annotations

from dataclasses import replace
from math import inf, nan
from pathlib import Path

import pytest

from bridge.level.gate import ReadingState
from bridge.snapshot import Snapshot
from bridge.values.conditions import (
    Condition,
    ConditionName,
    ConditionState,
    Reason,
    Verdict,
)
from bridge.values.outlook import Crossing, Outlook
from bridge.values.readings import LinkState
from tests.tui.helpers import staged
from tests.tui.stage import (
    COOL_DOWN,
    SHEET,
    WARM_UP,
    connecting,
    lost,
    never,
    silent,
    stale,
)
from tui.live.app import CONTACT_S
from tui.live.screen_state import Contact, ScreenInputs, screen_state
from tui.widgets.banner import Banner, big_verdict
from tui.widgets.bigtext import BANNER, DIGITS, WIDE_DIGITS, set_text
from tui.widgets.glyphs import ASCII, RICH

GO_AT = WARM_UP.t_at(45.0)
COLD_AT = WARM_UP.t_at(34.0)


def shows(text: str, verdict: Verdict) -> bool:
    """Say whether the banner's letters and frame are those of the verdict."""
    lines = text.splitlines()
    inside = 7 if len(lines) >= 34 else 5
    letters = big_verdict(verdict, len(lines[0]) - 4, inside, RICH)
    framed = "╔" in text if verdict is Verdict.GO else "▞▞▞▞" in text
    other = "▞▞▞▞" in text if verdict is Verdict.GO else "╔" in text
    return all(line.rstrip() in text for line in letters) and framed and not other


async def test_before_the_first_snapshot_it_is_no_go(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        text = await stage.text()
        assert shows(text, Verdict.NO_GO)
        assert "Starting: the monitor has not reported yet" in text


async def test_connecting(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        text = await stage.play(connecting())
        assert shows(text, Verdict.NO_GO)
        assert "Connecting to the car" in text
        assert "not live: no reading yet" in text
        assert "not known" in text


async def test_too_cold_counts_down(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        text = await stage.play(WARM_UP.snapshot(COLD_AT))
        assert shows(text, Verdict.NO_GO)
        assert "Too cold: 34.0 °C, the window opens at 42 °C" in text
        assert "warming 2.9 °C/min" in text
        # 900 s * ln((70 - 27) / (70 - 35)) = 185.3 s, by hand.
        assert "opens in 3 min 05 s, likely between 2:35 and 3:40" in text
        assert "shuts in 8 min 08 s" in text
        assert "Fluid in window    not OK" in text
        assert "780 rpm" in text
        assert "±0.4" in text


async def test_big_digits_hold_temperature_and_countdown(tmp_path: Path) -> None:
    async with staged(tmp_path, size=(120, 40)) as stage:
        text = await stage.play(WARM_UP.snapshot(COLD_AT))
        for figure in ("34.0", "3:05"):
            for row in set_text(figure, WIDE_DIGITS):
                assert row.replace("#", "█").replace(".", " ").rstrip() in text


async def test_go(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        text = await stage.play(WARM_UP.snapshot(GO_AT))
        assert shows(text, Verdict.GO)
        assert "Set the level now: open the plug" in text
        assert "the window is open now" in text
        assert "shuts in 3 min 42 s" in text
        assert "not OK" not in text


async def test_go_about_to_shut(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        text = await stage.play(WARM_UP.snapshot(WARM_UP.t_at(52.0) - 85))
        assert shows(text, Verdict.GO)
        assert "The window shuts soon" in text
        assert "shuts in 1 min 2" in text


async def test_too_short_a_stay_is_no_go(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        text = await stage.play(WARM_UP.snapshot(WARM_UP.t_at(52.0) - 50))
        assert shows(text, Verdict.NO_GO)
        assert "Too little time left in the window" in text


async def test_too_hot(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        text = await stage.play(COOL_DOWN.snapshot(COOL_DOWN.t_at(65.0)))
        assert shows(text, Verdict.NO_GO)
        assert "Too hot: 65.0 °C, the window ends at 52 °C" in text
        assert "cooling 1.5 °C/min" in text


async def test_link_lost_blanks_the_numbers(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        text = await stage.play(WARM_UP.snapshot(GO_AT), lost(GO_AT + 14, 14.0))
        assert shows(text, Verdict.NO_GO)
        assert "Connection to the adapter lost" in text
        assert "not live: last seen 45.0 °C, 14 s ago" in text
        assert "lost, trying again" in text
        assert "the port /dev/ttyUSB0 has" in text
        assert "opens: cannot tell" in text
        assert "780 rpm" not in text


async def test_stale_shows_no_live_number(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        text = await stage.play(WARM_UP.snapshot(GO_AT), stale(GO_AT + 4, 4.0))
        assert shows(text, Verdict.NO_GO)
        assert "The last fluid temperature is too old to trust" in text
        assert text.count("45.0") == 1
        assert "not live: last seen 45.0 °C, 4 s ago" in text


async def test_may_never_reach_the_window(tmp_path: Path) -> None:
    async with staged(tmp_path, size=(120, 40)) as stage:
        text = await stage.play(never(1000.0))
        assert shows(text, Verdict.NO_GO)
        told = "opens not before 48:20, may not reach the window at idle"
        assert told in text


async def test_learning_says_so(tmp_path: Path) -> None:
    snapshot = replace(
        WARM_UP.snapshot(COLD_AT), outlook=Outlook.LEARNING, figures_in_s=38.0
    )
    async with staged(tmp_path, size=(120, 40)) as stage:
        text = await stage.play(snapshot)
        assert (
            "opens: conditions changed, a countdown again in 38 s; not before 2:35"
            in text
        )


DENIALS = {
    "no temperature": {"temp_c": None},
    "a temperature that is no number": {"temp_c": nan},
    "an endless temperature": {"temp_c": inf},
    "a temperature outside the window": {"temp_c": 52.2},
    "a standing reason": {"reasons": (Reason.ENGINE_STOPPED,)},
    "a silent link": {"link": LinkState.SILENT},
    "no age": {"age_s": None},
    "an age that is no number": {"age_s": nan},
    "no conditions": {"conditions": ()},
}


def verdict_of(snapshot: Snapshot) -> Verdict:
    return screen_state(
        ScreenInputs(sheet=SHEET, unit="C", contact=Contact.HELD, snapshot=snapshot)
    ).verdict


@pytest.mark.parametrize("change", DENIALS.values(), ids=DENIALS.keys())
def test_a_go_that_contradicts_itself_is_not_shown(change: dict[str, object]) -> None:
    snapshot = WARM_UP.snapshot(GO_AT)
    assert verdict_of(snapshot) is Verdict.GO
    assert verdict_of(replace(snapshot, **change)) is Verdict.NO_GO


@pytest.mark.parametrize("state", [ConditionState.UNKNOWN, ConditionState.NOT_MET])
@pytest.mark.parametrize("index", range(6))
def test_a_go_with_one_condition_unmet_is_not_shown(
    index: int, state: ConditionState
) -> None:
    snapshot = WARM_UP.snapshot(GO_AT)
    conditions = list(snapshot.conditions)
    conditions[index] = replace(conditions[index], state=state)
    changed = replace(snapshot, conditions=tuple(conditions))
    assert verdict_of(changed) is Verdict.NO_GO
    assert verdict_of(replace(snapshot, conditions=tuple(conditions[:index]))) is (
        Verdict.NO_GO
    )


async def test_the_screen_says_that_it_does_not_believe_such_a_go(
    tmp_path: Path,
) -> None:
    snapshot = replace(WARM_UP.snapshot(GO_AT), conditions=())
    async with staged(tmp_path) as stage:
        text = await stage.play(snapshot)
        assert shows(text, Verdict.NO_GO)
        assert "Not every condition is known to be OK" in text


@pytest.mark.slow
async def test_a_dropout_is_a_gap_in_the_plot(tmp_path: Path) -> None:
    async with staged(tmp_path, size=(120, 40)) as stage:
        before = [WARM_UP.snapshot(float(t)) for t in range(0, 60, 2)]
        gone = [stale(float(t), t - 58.0) for t in range(60, 120, 2)]
        after = [WARM_UP.snapshot(float(t)) for t in range(120, 180, 2)]
        whole = [WARM_UP.snapshot(float(t)) for t in range(0, 180, 2)]
        broken = braille_columns(await stage.play(*before, *gone, *after))
    async with staged(tmp_path, size=(120, 40)) as stage:
        joined = braille_columns(await stage.play(*whole))
    assert joined > broken
    assert max(joined - broken) - min(joined - broken) + 1 == len(joined - broken)


def braille_columns(text: str) -> set[int]:
    """Return the columns left of now in which the plot has a dot."""
    plot = [line[:72] for line in text.splitlines() if "┊" in line or max(line) >= "⠀"]
    now = next(line.index("┊") for line in plot if "┊" in line)
    return {x for line in plot for x, sign in enumerate(line[:now]) if sign > "⠀"}


async def test_no_adapter_answer_names_the_state(tmp_path: Path) -> None:
    snapshot = silent(
        WARM_UP.snapshot(GO_AT),
        ReadingState.STALE,
        link=LinkState.SILENT,
        age_s=5.0,
    )
    async with staged(tmp_path) as stage:
        text = await stage.play(snapshot)
        assert "The adapter or the car does not answer" in text
        assert "Link no answer" in text


async def test_the_frame_differs_in_shape_not_only_in_colour(tmp_path: Path) -> None:
    async with staged(tmp_path) as stage:
        stop = await stage.play(WARM_UP.snapshot(COLD_AT))
        assert stage.app.screen.query_one(Banner).has_class("-go") is False
        go = await stage.play(WARM_UP.snapshot(GO_AT))
        assert stage.app.screen.query_one(Banner).has_class("-go") is True
    assert "✘" in stop
    assert "✔ Fluid in window" in go
    assert stop.splitlines()[1] != go.splitlines()[1]


async def test_countdown_beyond_the_hour(tmp_path: Path) -> None:
    snapshot = replace(
        WARM_UP.snapshot(COLD_AT),
        opens=Crossing(p05_s=2000.0, p50_s=3000.0, p95_s=None, chance=0.8),
        shuts=Crossing(p05_s=None, p50_s=None, p95_s=None, chance=0.1),
    )
    async with staged(tmp_path, size=(120, 40)) as stage:
        text = await stage.play(snapshot)
        assert "opens not before 33:20, most likely in about 50 min" in text
        assert "(chance 80 %)" in text
        assert "▶ 60 min" in text
        assert "shuts: likely not within the hour (chance 10 %)" in text


def test_every_glyph_of_the_fonts_is_rectangular() -> None:
    for font in (BANNER, DIGITS, WIDE_DIGITS):
        for bitmap in font.values():
            assert len({len(row) for row in bitmap}) == 1
            assert len(bitmap) == len(font[" "])


def test_ascii_letters_are_ascii() -> None:
    for verdict in Verdict:
        assert all(line.isascii() for line in big_verdict(verdict, 76, 7, ASCII))


def test_sheet_of_the_stage_is_what_the_words_say() -> None:
    assert (SHEET.window.low_c, SHEET.window.high_c) == (42.0, 52.0)


async def test_lost_contact_leaves_a_gap_and_keeps_the_past(tmp_path: Path) -> None:
    async with staged(tmp_path, size=(120, 40)) as stage:
        await stage.play(*(WARM_UP.snapshot(float(t)) for t in range(4000, 4100, 2)))
        quiet = await stage.silence(CONTACT_S + 1)
        assert "No data" in quiet
        assert braille_columns(quiet)
        later = (WARM_UP.snapshot(float(t)) for t in range(4160, 4200, 2))
        columns = braille_columns(await stage.play(*later))
        assert set(range(min(columns), max(columns))) - columns


async def test_no_word_of_an_open_window_where_the_gate_does_not_know_it(
    tmp_path: Path,
) -> None:
    """As in the first minute at a warm start: inside, and not known well enough."""
    inside = WARM_UP.snapshot(WARM_UP.t_at(45.0))
    unsure = replace(
        inside,
        conditions=tuple(
            Condition(name=c.name, state=ConditionState.UNKNOWN)
            if c.name is ConditionName.TEMPERATURE
            else c
            for c in inside.conditions
        ),
    )
    async with staged(tmp_path) as stage:
        assert "the window is open now" in await stage.play(inside)
        text = await stage.play(unsure)
        assert "the window is open now" not in text
        assert "by the reading it is open; not sure yet" in text
        assert shows(text, Verdict.NO_GO)

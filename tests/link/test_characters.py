"""Every adapter character of the bench: read through, or refused by its true cause."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.values.causes import Cause
from bridge.values.conditions import Verdict
from bridge.values.errors import UsageError
from bridge.values.readings import LinkState
from bridge.values.sheet import Role
from simulators.car.scenes import make_bench
from simulators.characters.all_characters import CHARACTERS, chosen, mixture
from tests.link.character_rig import (
    BUSES,
    could_s,
    expected,
    fits,
    play,
    sheet_for,
)
from tests.link.rig import watch
from tui.words.link_wording import CAUSES, sentence

SEARCHED = "CAN 11/500, searched"
FIRST_S = 1.5
"""The issue's limit, in simulated seconds from when the adapter could give it."""


@pytest.mark.parametrize(
    "name", [n for n, k in CHARACTERS.items() if fits(SEARCHED, k)]
)
@pytest.mark.few(10)
def test_a_character_is_read_through_or_refused_by_its_true_cause(name: str) -> None:
    kind = CHARACTERS[name]
    went = play(SEARCHED, (kind,), for_s=12.0)
    cause = expected(SEARCHED, kind)
    assert went.wrong == 0
    assert went.cause is (cause or kind.said_as)
    if cause is not None:
        assert went.first_s is None
        assert went.last.verdict is Verdict.NO_GO
        assert CAUSES[cause].remedy in sentence(cause, went.last.link_detail)
    else:
        assert went.first_s is not None
        assert went.first_s <= could_s(SEARCHED, (kind,)) + FIRST_S
        assert went.last.link is LinkState.LIVE
        assert not any(line.startswith("ATTP") for line in went.lines)


@pytest.mark.parametrize("bus", [b for b in BUSES if b != SEARCHED])
@pytest.mark.few(3)
def test_a_sheet_for_each_bus_reads_on_it(bus: str) -> None:
    went = play(bus, (), for_s=12.0)
    assert went.wrong == 0
    assert went.cause is None
    assert went.first_s is not None
    assert went.first_s <= could_s(bus, ()) + FIRST_S
    assert went.last.engine_rpm is not None
    assert went.last.speed_kmh is not None


@pytest.mark.parametrize(
    "name", ["first-wake-fails", "never-wakes", "no-keep-alive", "engine-elsewhere"]
)
@pytest.mark.parametrize("bus", ["ISO 9141-2", "KWP, fast start"])
@pytest.mark.few(3)
def test_a_k_line_is_woken_and_woken_again(bus: str, name: str) -> None:
    kind = CHARACTERS[name]
    went = play(bus, (kind,), for_s=16.0)
    assert went.cause is kind.refused_as
    assert (went.first_s is None) == (kind.refused_as is not None)


def test_engine_and_road_speed_come_from_whichever_unit_offers_them() -> None:
    went = play(SEARCHED, (CHARACTERS["engine-elsewhere"],), for_s=8.0)
    assert went.last.engine_rpm == pytest.approx(750.0, abs=30.0)
    assert went.last.speed_kmh == 0.0
    assert went.last.untold == ()


def test_what_no_unit_tells_is_named_so_that_the_person_can_stand_in() -> None:
    went = play(SEARCHED, (CHARACTERS["no-engine"],), for_s=8.0)
    assert set(went.last.untold) == {Role.ENGINE_SPEED, Role.VEHICLE_SPEED}
    assert "confirm engine (5) and standing (6)" in sentence(went.cause)


def test_a_search_that_brings_dots_is_not_begun_again() -> None:
    went = play(SEARCHED, (CHARACTERS["dots"],), for_s=8.0)
    assert went.lines.count("ATSP0") == 1


def test_stopped_is_answered_by_a_pause_and_not_by_a_flood() -> None:
    went = play(SEARCHED, (CHARACTERS["always-stopped"],), for_s=10.0)
    asked = [s for s in went.lines if not s.startswith("AT") and s != "!"]
    assert 2 <= len(asked) <= 4 * 10


def test_half_an_answer_without_a_prompt_costs_three_seconds_at_most() -> None:
    went = play(SEARCHED, (CHARACTERS["half-said"],), for_s=8.0)
    assert went.first_s is not None
    plain = play(SEARCHED, (), for_s=4.0)
    assert plain.first_s is not None
    assert went.first_s - plain.first_s <= 3.0


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.slow
def test_a_mixture_is_read_through(seed: int) -> None:
    kinds = mixture(seed, "6")
    assert kinds == mixture(seed, "6")
    went = play(SEARCHED, kinds, for_s=16.0)
    assert went.wrong == 0
    assert went.first_s is not None, [k.name for k in kinds]


def test_names_are_joined_with_a_plus_and_a_wrong_one_is_one_sentence() -> None:
    kinds = chosen("dots+echo-stays", "6")
    assert [k.name for k in kinds] == ["dots", "echo-stays"]
    for text, word in (
        ("dots+nothing-like-it", "nothing-like-it"),
        ("mix:", "mix:"),
        ("never-wakes", "needs a bus"),
    ):
        with pytest.raises(UsageError, match=word):
            chosen(text, "6")


def test_every_cause_an_adapter_can_show_has_a_character() -> None:
    played = {k.refused_as or k.said_as for k in CHARACTERS.values()}
    elsewhere = {
        Cause.PORT_GONE,  # tests/link/test_link_on_bench.py
        Cause.NO_PROMPT,  # half-said, on its way
        Cause.FILTER_REFUSED,  # on a bus with ids of its own
        Cause.NOT_BROADCAST,
        Cause.UNIT_PENDING,
    }
    assert set(Cause) - played == elsewhere


def test_every_character_stands_in_the_docs() -> None:
    page = (Path(__file__).parents[2] / "docs" / "adapters.md").read_text("utf-8")
    missing = [name for name in CHARACTERS if f"| `{name}` |" not in page]
    assert not missing


def test_an_adapter_that_dribbles_ok_and_no_prompt_is_no_modem() -> None:
    sheet = sheet_for(SEARCHED)
    bench = make_bench("warm-day", sheet)
    bench.fault("dribble")
    snapshots, _ = watch(bench, sheet, 15.0)
    said = {s.link_cause for s in snapshots}
    assert Cause.NO_PROMPT in said
    assert Cause.MODEM not in said


def test_an_old_answer_in_the_line_is_not_taken_for_a_banner() -> None:
    kinds = (CHARACTERS["old-answer"], CHARACTERS["slow-restart"])
    went = play(SEARCHED, kinds, for_s=8.0)
    assert Cause.ADAPTER_RESTARTED not in went.causes
    assert went.first_s is not None
    assert went.first_s <= could_s(SEARCHED, kinds) + FIRST_S

"""The judges behind `make show-service` must be able to find something."""

from datetime import timedelta

import pytest

from bridge.service import due
from bridge.service.amounts import Jug
from tests.show.parts.service import dates as service_dates
from tests.show.parts.service import jugs as service_jugs
from tests.show.parts.service import leg_ways
from tests.show.parts.service import outside as service_outside
from tests.show.parts.service import ways as service_ways

WAYS = service_ways.WAYS | leg_ways.WAYS
SLOW = ("close at", "static, then warm")


def test_a_jug_worse_than_stated_is_found(monkeypatch):
    monkeypatch.setattr(service_jugs, "JUG", Jug(scale_half=0.06))
    tally = service_jugs.simulate(1, 400, service_jugs.WORLDS[0])
    assert tally.net_held / tally.cases < 0.95
    assert tally.kept_held / tally.cases < 0.95


def test_the_stated_jug_holds():
    for world in service_jugs.WORLDS:
        tally = service_jugs.simulate(1, 400, world)
        assert tally.net_held / tally.cases >= 0.95
        assert tally.wrong <= 0.05 * tally.verdicts
        assert tally.verdicts > 100


def test_a_wrong_formula_is_found(monkeypatch):
    monkeypatch.setattr(
        service_jugs, "by_54d", lambda ml, from_c, to_c, density: ml
    )  # fmt: skip
    assert min(service_jugs.conserved(1, 50)) > 1.0


def test_balances_are_conserved():
    assert max(service_jugs.conserved(2, 300)) < 1e-6


def test_a_day_off_is_found(monkeypatch):
    right = due.months_later
    monkeypatch.setattr(
        due, "months_later", lambda day, n: right(day, n) + timedelta(days=1)
    )
    assert service_dates.due_dates(1, 100)[0] == 100


def test_due_dates_and_files_are_right():
    wrong, shortened = service_dates.due_dates(2, 500)
    assert (wrong, shortened > 10) == (0, True)
    assert service_dates.calendar_files(2, 100) == (0, 75)


def test_a_figure_out_of_bounds_is_found():
    check = service_outside.Check(
        name="x", source="y", published=1.0, ours=1.1, allowed=0.05
    )
    assert not check.holds
    assert check.difference == pytest.approx(0.1)


def test_every_published_figure_has_its_source_and_holds():
    found = service_outside.checks()
    assert [c.name for c in found if not c.holds or not c.source] == []
    assert len(found) > 25


@pytest.mark.parametrize("way", [w for w in WAYS if w not in SLOW])
@pytest.mark.slow
def test_no_service_is_complete_that_went_wrong(way):
    found = service_ways.tally(way, WAYS[way], 3, 6)
    assert found.wrongly_complete == []
    assert found.refused == set()
    assert found.plug_words == set()


def test_a_program_that_calls_all_of_them_complete_is_found(monkeypatch):
    monkeypatch.setattr(service_ways, "is_complete", lambda sheet, log: True)
    found = service_ways.tally("measured refill", WAYS["measured refill"], 3, 10)
    assert len(found.wrongly_complete) == found.bad > 0


@pytest.mark.slow
def test_rounds_taken_for_one_are_found(monkeypatch):
    right = service_ways.old_share_of
    monkeypatch.setattr(
        service_ways, "old_share_of", lambda sheet, log: right(sheet, log, 1)
    )
    found = service_ways.tally("three rounds", WAYS["three rounds"], 3, 4)
    assert not all(found.shares)

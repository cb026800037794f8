"""The search over the simulated wire: what it asks, how fast, when it stops, resuming.

Services that report: SAE J1979, ISO 14230-3 (21), ISO 14229-1 (22); busy and pending:
ISO 14229-1, codes 21 and 78.
"""

from __future__ import annotations

import asyncio
import math
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise

import pytest

from bridge.search.ledger import Ledger
from bridge.search.scan.hunt import search
from bridge.search.scan.search_link import FindLink, Stopped
from bridge.search.search_plan import read_spans
from bridge.values.errors import LinkLost, UsageError
from simulators.car.hidden import hidden_bench
from simulators.serve.bench import Bench
from simulators.serve.paced_loop import PacedLoop
from simulators.serve.pipe import BenchPipe
from tests.link.rig import Noted
from tests.show.parts.find.wire import Sent

SPANS = "21:01-20 22:1000-1020"
NARROW, WIDE = 2, 1
"""Seeds of a car with 11-bit ids and of one with 29-bit ids."""


@dataclass(slots=True)
class Went:
    """What came of one search."""

    ledger: Ledger
    entries: list[dict] = field(default_factory=list)
    sent: Sent = field(default_factory=Sent)
    backed_off: int = 0
    lefts: list[int] = field(default_factory=list)


def go(
    bench: Bench,
    *,
    ledger: Ledger | None = None,
    spans: str = SPANS,
    pace: float = 10.0,
    prepare: Callable[[], None] | None = None,
    cut_after_s: float | None = None,
    **told,
) -> Went:
    """Search a bench in simulated time."""
    went = Went(ledger or Ledger())
    loop = PacedLoop(math.inf)
    session = told.pop("session", False)
    protocol = told.pop("protocol", "auto")

    async def main() -> None:
        pipe = Noted(BenchPipe(bench), went.sent.lines)
        link = FindLink(pipe, per_s=pace, protocol=protocol, session=session)
        try:
            await link.connect()
            if prepare is not None:
                prepare()
            work = search(
                link,
                went.ledger,
                went.entries.append,
                lambda p: went.lefts.append(p.left),
                spans=read_spans(spans),
                **told,
            )
            if cut_after_s is None:
                await work
            else:
                await asyncio.wait_for(work, cut_after_s)
        finally:
            went.backed_off = link.exchange.backed_off
            await link.aclose()
            bench.close()

    try:
        loop.run_until_complete(main())
    finally:
        loop.close()
    return went


def hidden(seed: int) -> Bench:
    """A random car whose identifiers lie where the short search looks."""
    return hidden_bench(seed, span=(0x1000, 0x1020))[0]


def gearbox(bench: Bench):
    return bench.adapter.units[1]


@pytest.mark.parametrize("seed", [NARROW, WIDE])
@pytest.mark.parametrize("pace", [4.0, 20.0])
def test_it_finds_what_answers_and_keeps_its_pace(seed, pace):
    bench = hidden(seed)
    unit = gearbox(bench)
    assert (unit.request_id > 0x7FF) == (seed == WIDE)
    went = go(bench, pace=pace)
    found = {(a.service, a.identifier) for a in went.ledger.answered}
    there = {(0x22, i) for i in unit.identifiers}
    there |= {(0x21, i) for i in unit.locals_ if i <= 0x20}
    assert found == there
    assert {a.request_id for a in went.ledger.answered} == {unit.request_id}
    assert went.sent.forbidden == []
    times = [t for t, _ in went.sent.requests]
    gaps = [b - a for a, b in pairwise(times)]
    # The two questions of connecting come before the pace has anything to compare.
    assert min(gaps[2:]) >= 1.0 / pace - 1e-6
    assert went.lefts[-1] == 0
    assert went.lefts[-20:] == sorted(went.lefts[-20:], reverse=True)


def test_a_search_goes_on_where_it_was_stopped():
    whole = go(hidden(NARROW))
    with pytest.raises(TimeoutError):
        go(hidden(NARROW), ledger=(half := Ledger()), cut_after_s=5.0)
    key = (gearbox(hidden(NARROW)).request_id, 0x21)
    before = set(half.asked.get(key, set()))
    assert before
    rest = go(hidden(NARROW), ledger=half)
    asked = {s for _, s in rest.sent.requests if s.startswith("21")}
    assert not asked & {f"21{i:02X}" for i in before}
    assert rest.ledger.answered.keys() == whole.ledger.answered.keys()
    told = Ledger()
    for entry in whole.entries:
        told.take(entry)
    assert told.answered == whole.ledger.answered
    assert told.asked == whole.ledger.asked


@pytest.fixture
def refuse(monkeypatch):
    """Return a function that makes gearbox units refuse some questions."""

    def arrange(code: int, *, first: int, last: float) -> None:
        from simulators.car.ecu import Unit, UnitRefusal

        plain, count = Unit._positive, 0

        def positive(self: Unit, payload: bytes, now_s: float) -> bytes:
            nonlocal count
            if self.name == "gearbox":
                count += 1
                if first <= count <= last:
                    raise UnitRefusal(code)
            return plain(self, payload, now_s)

        monkeypatch.setattr(Unit, "_positive", positive)

    return arrange


@pytest.mark.parametrize("code", [0x21, 0x78])
def test_a_busy_unit_slows_it_down_and_loses_nothing(refuse, code):
    plain = go(hidden(NARROW))
    refuse(code, first=20, last=21)
    went = go(hidden(NARROW))
    assert went.backed_off >= 1
    assert went.ledger.answered.keys() == plain.ledger.answered.keys()
    times = [t for t, _ in went.sent.requests]
    gaps = [b - a for a, b in pairwise(times)]
    assert max(gaps) >= 0.2
    assert went.sent.most_per_s <= 10


@pytest.mark.parametrize(
    ("code", "says"),
    [(0x21, "busy"), (0x36, "attempts"), (0x83, "engine"), (0x93, "too low")],
)
def test_it_stops_when_the_unit_says_so(refuse, code, says):
    refuse(code, first=30, last=math.inf)
    with pytest.raises(Stopped, match=says):
        go(hidden(NARROW))


def test_a_service_the_unit_does_not_have_is_left_at_once(refuse):
    bench = hidden(NARROW)
    gearbox(bench).locals_ = {}
    went = go(bench)
    asked = [s for _, s in went.sent.requests if s.startswith("21")]
    assert len(asked) == 1
    (why,) = went.ledger.closed.values()
    assert "0x11" in why


def test_it_stops_when_the_unit_falls_silent():
    bench = hidden(NARROW)
    unit = gearbox(bench)
    plain, count = type(unit).answer, 0

    def answer(ident, payload, now_s):
        nonlocal count
        count += 1
        return plain(unit, ident, payload, now_s) if count < 40 else ()

    class Quiet:
        """The unit, until it falls silent."""

        def __getattr__(self, name):
            return answer if name == "answer" else getattr(unit, name)

    bench.adapter.units = (bench.adapter.units[0], Quiet())
    with pytest.raises(Stopped, match="stopped answering"):
        go(bench)


def test_the_engine_must_stand_unless_the_person_says_otherwise():
    bench = hidden(NARROW)
    bench.car.engine_on = True
    with pytest.raises(UsageError, match="switch it off"):
        go(bench)
    bench = hidden(NARROW)
    bench.car.engine_on = True
    assert go(bench, engine_on=True).ledger.answered


def test_a_tired_battery_ends_it():
    bench = hidden(NARROW)
    bench.car.voltage_drop_v = 1.2
    with pytest.raises(Stopped, match=r"11\.2 V"):
        go(bench)


def test_an_unplugged_adapter_ends_it_with_what_it_knew_kept():
    bench = hidden(NARROW)
    ledger = Ledger()
    bench.at(6.0, lambda: bench.unplug(math.inf))
    with pytest.raises(LinkLost):
        go(bench, ledger=ledger)
    assert any(ledger.asked.values())


@pytest.mark.parametrize("session", [False, True])
def test_a_session_is_asked_for_only_if_the_person_asks_for_it(session):
    went = go(hidden(NARROW), session=session)
    lines = {s for _, s in went.sent.requests}
    assert ("1003" in lines) is session
    if not session:
        assert went.sent.forbidden == []


def test_only_named_units_are_asked():
    went = go(hidden(NARROW), only=(0x7E1,), spans="21:01-05")
    heads = {s for _, s, _ in went.sent.lines if s.startswith("ATSH")}
    assert heads <= {"ATSH7E0", "ATSH7E1", "ATSH7DF"}


def test_a_car_with_no_gearbox_unit_is_said_so():
    bench = hidden(NARROW)
    bench.adapter.units = bench.adapter.units[:1]
    with pytest.raises(Stopped, match="no control unit answers besides"):
        go(bench)

"""Whatever the sheet and whatever the adapter does: only reading reaches the wire.

The judge is a list of its own, after SAE J1979 and ISO 14229-1: services that report,
and nothing else. Writing (2E, 3B, 3D), clearing (04, 14), resetting (11), actuating
(08, 2F, 30, 31), unlocking (27) and the rest are not on it.
"""

from __future__ import annotations

import contextlib
from dataclasses import replace

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bridge.sheets import load
from bridge.values.errors import ForbiddenRequest
from bridge.values.sheet import Role, Sheet, Signal, Window
from simulators.car.scenes import make_bench
from simulators.faults.all_faults import LINK_FAULTS
from tests.link.rig import watch

REPORTING = {"01": 2, "03": 1, "07": 1, "09": 2, "0A": 1, "21": 2, "22": 3}
"""Service and the bytes of a whole request."""
HARMLESS = ("ATZ", "ATWS", "ATI", "ATD", "ATE0", "ATL0", "ATS0", "ATH1", "ATCAF1")
PREFIXES = ("ATSP", "ATSH", "ATCP", "ATCRA", "ATST", "ATAT", "ATFCS", "ATRV", "ATDPN")


def reports_only(line: str, *, session: bool) -> bool:
    if line in (*HARMLESS, "!", "ATCRA") or line.startswith((*PREFIXES, "ATMP")):
        return (line.isascii() and line.isalnum()) or line == "!"
    if session and line in ("1003", "3E00"):
        return True
    size = REPORTING.get(line[:2])
    # One more digit than whole bytes is the count of frames the adapter waits for.
    return size is not None and len(line) in (2 * size, 2 * size + 1)


ids = st.one_of(
    st.none(),
    st.integers(1, 0xFF),
    st.sampled_from([0x7E0, 0x7E1, 0x712, 0x18DA18F1]),
    st.integers(0x600, 0x7FF),
)
roles = st.sampled_from(list(Role))
readable = st.builds(
    Signal,
    role=roles,
    service=st.sampled_from([0x01, 0x21, 0x22]),
    identifier=st.integers(0, 0xFF),
    request_id=ids,
    reply_id=ids,
    data_length=st.integers(1, 30),
)
broadcast = st.builds(
    Signal, role=roles, pgn=st.integers(0xF000, 0xFFFF), data_length=st.just(8)
)
wild = st.builds(
    Signal,
    role=roles,
    service=st.integers(0, 255),
    identifier=st.integers(0, 0xFFFFFF),
    request_id=ids,
    reply_id=ids,
    pgn=st.one_of(st.none(), st.integers(-1, 0x1FFFF)),
)


def lists_of(one: st.SearchStrategy[Signal]) -> st.SearchStrategy[list[Signal]]:
    return st.lists(one, max_size=4, unique_by=lambda s: s.role)


signals = st.one_of(
    lists_of(readable), lists_of(broadcast), lists_of(readable), lists_of(wild)
)
sheets = st.builds(
    Sheet,
    name=st.just("any"),
    source=st.just("any"),
    window=st.just(Window(low_c=35.0, high_c=45.0)),
    protocol=st.sampled_from(["auto", "6", "7", "5", "A"]),
    extended_session=st.booleans(),
    signals=signals.map(tuple),
)
faults = st.lists(
    st.tuples(st.floats(0.1, 5.0), st.sampled_from(LINK_FAULTS)), max_size=3
)


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(sheets, faults)
def test_nothing_else_ever_reaches_the_wire(
    sheet: Sheet, planned: list[tuple[float, str]]
) -> None:
    bench = make_bench("warm-day", load("scar-eight-speed"))
    at = {
        at_s + n * 1e-3: (lambda name=name: bench.fault(name))
        for n, (at_s, name) in enumerate(planned)
    }
    seen: list[str] = []
    # A sheet that cannot even be asked about ends it; what was sent before counts.
    with contextlib.suppress(ForbiddenRequest):
        watch(bench, sheet, 6.0, at=at, into=seen)
    for line in seen:
        assert reports_only(line, session=sheet.extended_session), line


def test_the_judge_can_say_no() -> None:
    for line in ("04", "2E115700", "1003", "3E00", "31010203", "ATPP0CSV23", "2703"):
        assert not reports_only(line, session=False)


def test_a_sheet_that_asks_for_no_session_sends_none_under_any_fault() -> None:
    sheet = replace(load("scar-eight-speed"), extended_session=False)
    for name in ("session-needed", "refused", "quiet-reset"):
        bench = make_bench("warm-day", sheet)
        bench.fault(name)
        _, lines = watch(bench, sheet, 10.0)
        assert not {"1003", "3E00"} & set(lines)

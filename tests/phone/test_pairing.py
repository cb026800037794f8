"""The token, the sessions, the buckets, the log of refusals."""

from __future__ import annotations

import re
from pathlib import Path

from tui.phone.limits import MOST_KNOWN, Limiter, Rate
from tui.phone.pairing import MOST_SESSIONS, Pairing
from tui.phone.refusals import LINES_PER_S, Refusals, file_writer


def test_a_token_is_good_once() -> None:
    pairing = Pairing()
    token = pairing.token
    assert re.fullmatch("[A-Z2-7]{16}", token)  # RFC 4648, section 6: base 32
    secret = pairing.pair(token)
    assert secret is not None
    assert len(secret) == 64
    assert pairing.session(secret) == "phone 1"
    assert pairing.pair(token) is None
    assert pairing.token != token


def test_a_token_may_be_typed_in_small_letters() -> None:
    pairing = Pairing()
    assert pairing.pair(pairing.token.lower())


def test_a_wrong_token_changes_nothing() -> None:
    pairing = Pairing()
    token = pairing.token
    for wrong in ("", token[:-1], token + "A", "\ud800", "ÄÖÜ" * 5):
        assert pairing.pair(wrong) is None
    assert pairing.token == token
    assert pairing.paired == 0


def test_the_oldest_session_goes_when_there_are_too_many() -> None:
    pairing = Pairing()
    secrets = [pairing.pair(pairing.token) for _ in range(MOST_SESSIONS + 1)]
    assert pairing.paired == MOST_SESSIONS
    assert pairing.session(secrets[0] or "") is None
    assert pairing.session(secrets[-1] or "") is not None


def test_a_bucket_empties_and_fills_again() -> None:
    limiter = Limiter(Rate(burst=2.0, per_s=0.5))
    assert [limiter.allows("a", 0.0) for _ in range(3)] == [True, True, False]
    assert limiter.allows("b", 0.0)
    assert not limiter.allows("a", 1.0)
    assert limiter.allows("a", 2.1)


def test_a_bucket_takes_no_notice_of_a_clock_that_goes_back() -> None:
    limiter = Limiter(Rate(burst=1.0, per_s=1.0))
    assert limiter.allows("a", 100.0)
    assert not limiter.allows("a", 50.0)


def test_many_addresses_take_bounded_memory() -> None:
    limiter = Limiter(Rate(burst=1.0, per_s=1.0))
    for n in range(3 * MOST_KNOWN):
        limiter.allows(str(n), 0.0)
    assert len(limiter._left) == MOST_KNOWN


def test_a_flood_of_refusals_is_counted_and_not_all_written() -> None:
    lines: list[str] = []
    now = [0.0]
    refusals = Refusals(lines.append, lambda: now[0])
    for _ in range(1000):
        refusals.note("flood", "192.0.2.1", 429)
    assert len(lines) == LINES_PER_S
    now[0] = 1.0
    refusals.note("oversize", "192.0.2.1", 413)
    assert refusals.total == 1001
    assert lines[-1] == (
        "refused with 413: oversize, from 192.0.2.1, and 995 more before it"
    )


def test_the_log_is_a_file_with_times(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "phone.log"
    file_writer(path)("refused with 403: not paired, from 192.0.2.1")
    assert re.fullmatch(
        r"\d{4}-\d\d-\d\dT[\d:.]+\+00:00 refused with 403: not paired, from 192.0.2.1",
        path.read_text().strip(),
    )


def test_a_log_that_cannot_be_written_harms_nobody(tmp_path: Path) -> None:
    blocker = tmp_path / "file"
    blocker.write_text("")
    file_writer(blocker / "phone.log")("lost")

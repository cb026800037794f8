"""The chain of hashes and the seal; SHA-256 itself against FIPS 180-4's example."""

from __future__ import annotations

import hashlib
import math
import shutil
import struct
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.jobfile.file.chain import (
    NO_HASH,
    Row,
    RowDraft,
    from_body,
    is_linked,
    link,
    number,
    to_body,
)
from bridge.jobfile.file.check import FileState, check
from bridge.jobfile.file.store import JobError
from tests.jobfile.job_help import change, record

drafts = st.builds(
    RowDraft,
    kind=st.sampled_from(["reading", "note"]),
    t_s=st.none() | st.floats(allow_nan=False).map(number),
    utc_s=st.floats(0, 4e9).map(number),
    role=st.sampled_from(["", "engine-speed"]),
    value=st.none() | st.floats(allow_nan=False).map(number),
    raw=st.binary(max_size=9),
    body=st.sampled_from(["", "{}", '{"a":1}']),
)


def test_sha_256_is_the_published_one() -> None:
    # FIPS 180-4, example of the one-block message "abc" (NIST, SHA256.pdf).
    told = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert hashlib.sha256(b"abc").hexdigest() == told


def test_what_is_hashed_is_what_the_document_says() -> None:
    draft = RowDraft("reading", 1.5, 2.5, "engine-speed", 750.0, b"\x41\x0c", "{}")
    numbers = struct.pack(">qBdddIIII", 7, 3, 1.5, 2.5, 750.0, 7, 12, 2, 2)
    content = NO_HASH + numbers + b"reading" + b"engine-speed" + b"\x41\x0c" + b"{}"
    assert link(NO_HASH, 7, draft) == hashlib.sha256(content).digest()


@given(drafts, drafts, st.integers(1, 2**40))
def test_two_different_events_have_different_hashes(
    one: RowDraft, other: RowDraft, seq: int
) -> None:
    same = link(NO_HASH, seq, one) == link(NO_HASH, seq, other)
    assert same == (one == other)


@given(drafts)
def test_number_and_place_are_hashed_too(draft: RowDraft) -> None:
    told = link(NO_HASH, 5, draft)
    assert is_linked(NO_HASH, Row(5, *draft, told))
    assert not is_linked(NO_HASH, Row(6, *draft, told))
    assert not is_linked(told, Row(5, *draft, told))


def test_odd_types_are_no_link() -> None:
    for odd in (None, "text", 3):
        assert not is_linked(NO_HASH, Row(1, "a", 0.0, 0.0, "", 0.0, odd, "", b""))  # type: ignore[arg-type]
        assert not is_linked(NO_HASH, Row(1, "a", 0.0, odd, "", 0.0, b"", "", b""))  # type: ignore[arg-type]


def test_numbers_come_back_as_they_went_in() -> None:
    assert number(math.nan) is None
    assert math.copysign(1.0, number(-0.0) or 0.0) == 1.0
    assert from_body(to_body({"ä": [1.5, None]})) == {"ä": [1.5, None]}
    assert to_body({"ä": 1}).isascii()
    assert from_body("[1]") == from_body("{") == from_body("") == {}
    with pytest.raises(ValueError):
        to_body({"a": math.inf})


@pytest.fixture(scope="module")
def closed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("job") / "a.job"
    record(path, seconds=10)
    return path


@pytest.fixture
def copy(closed: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(closed, tmp_path / "b.job"))


def test_an_untouched_job_is_intact(closed: Path) -> None:
    found = check(closed)
    assert found.state is FileState.INTACT
    assert found.events > 150
    assert [p.name for p in closed.parent.iterdir()] == ["a.job"]  # nothing beside it


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE event SET value = value + 0.1 WHERE seq = 40",
        "UPDATE event SET t_s = t_s + 1 WHERE seq = 40",
        "UPDATE event SET utc_s = utc_s - 1 WHERE seq = 40",
        "UPDATE event SET kind = 'note' WHERE seq = 40",
        "UPDATE event SET role = 'selector' WHERE seq = 40",
        "UPDATE event SET raw = x'00' WHERE seq = 40",
        "UPDATE event SET raw = 'text' WHERE seq = 40",
        "UPDATE event SET body = '{}' WHERE seq = 40",
        "UPDATE event SET body = x'FF' WHERE seq = 40",
        "UPDATE event SET value = NULL WHERE seq = 40",
        "UPDATE event SET hash = x'00' WHERE seq = 40",
        "DELETE FROM event WHERE seq = 40",
    ],
)
def test_a_changed_event_is_found(copy: Path, statement: str) -> None:
    change(copy, statement)
    found = check(copy)
    assert found.state is FileState.CHANGED
    assert found.events == 39
    assert "changed at event 40" in found.sentence


def test_swapped_and_missing_first_events_are_found(copy: Path) -> None:
    change(
        copy,
        "UPDATE event SET seq = -1 WHERE seq = 50",
        "UPDATE event SET seq = 50 WHERE seq = 51",
        "UPDATE event SET seq = 51 WHERE seq = -1",
    )
    assert "changed at event 50" in check(copy).sentence
    change(copy, "DELETE FROM event WHERE seq = 1")
    assert "changed at event 1:" in check(copy).sentence


def test_a_cut_off_end_is_said(copy: Path) -> None:
    last = check(copy).events
    change(copy, f"DELETE FROM event WHERE seq > {last - 20}")
    found = check(copy)
    assert found.state is FileState.OPEN
    assert f"cut off after event {last - 20}" in found.sentence


def test_an_added_event_without_its_hash_is_found(copy: Path) -> None:
    last = check(copy).events
    change(
        copy,
        f"INSERT INTO event SELECT {last + 1}, kind, t_s, utc_s, role, value, raw, "
        "body, hash FROM event WHERE seq = 30",
    )
    assert check(copy).state is FileState.CHANGED


def test_a_byte_where_no_event_lies_is_found(copy: Path) -> None:
    content = bytearray(copy.read_bytes())
    content[99] ^= 1  # the number of the SQLite that wrote it: of no consequence
    copy.write_bytes(content)
    found = check(copy)
    assert found.state is FileState.ALTERED
    assert "changed outside its events" in found.sentence


def test_a_table_beside_the_events_is_found(copy: Path) -> None:
    change(copy, "CREATE TABLE more (x)")
    with pytest.raises(JobError, match="put beside them"):
        check(copy)


def test_what_is_no_job_file_is_said(tmp_path: Path) -> None:
    foreign, empty = tmp_path / "foreign.job", tmp_path / "empty.job"
    foreign.write_text("hello\n" * 100)
    empty.touch()
    for path in (foreign, empty, tmp_path / "absent.job"):
        with pytest.raises(JobError, match="job"):
            check(path)


def test_another_format_is_not_guessed_at(copy: Path) -> None:
    change(copy, "PRAGMA user_version=3")
    with pytest.raises(JobError, match="format 3"):
        check(copy)

"""Job files changed, cut, swapped and torn at random: is each one reported?"""

from __future__ import annotations

import random
import shutil
import sqlite3
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from bridge.jobfile.file.check import FileState, check
from bridge.jobfile.recorder import start
from bridge.values.errors import SumpgateError
from tests.show.parts.evidence.job import complain, job, run_job
from tests.show.parts.show_run import ShowRun, crossed

Tamper = Callable[[Path, random.Random], None]


def tampered(folder: Path, told: ShowRun) -> None:
    """Tamper with copies of a closed job; none may be called intact."""
    chance, runs = random.Random(told.seed), told.size(66, 550)
    closed = folder / "closed.job"
    recorder = start(closed, job(), complain)
    run_job(recorder, for_s=20.0, scene="warm-day")
    assert recorder.close()
    counts: Counter[tuple[str, str]] = Counter()
    for i in range(runs):
        how, tamper = TAMPERS[i % len(TAMPERS)]
        copy = Path(shutil.copyfile(closed, folder / "copy.job"))
        before = copy.read_bytes()
        while copy.read_bytes() == before:  # chance may change nothing
            tamper(copy, chance)
        said = _said(copy)
        counts[how, said] += 1
        if said == FileState.INTACT:
            told.misses.append(f"run {i}: {how} was called intact")
        for beside in folder.glob("copy.job*"):
            beside.unlink()
    untouched = sum(
        _said(Path(shutil.copyfile(closed, folder / f"same-{i}.job")))
        == FileState.INTACT
        for i in range(runs // 5)
    )
    print("Tampered with, and what was said")
    crossed([how for how, _ in TAMPERS], sorted({s for _, s in counts}), counts)
    told.tell("tampered", runs)
    called_intact = sum(n for (_, s), n in counts.items() if s == FileState.INTACT)
    told.tell("tampered_called_intact", called_intact, want=0)
    told.tell("untouched_intact", untouched, want=runs // 5)


def _said(path: Path) -> str:
    try:
        return check(path).state.value
    except SumpgateError:
        return "unreadable"


def _flip_bits(path: Path, chance: random.Random) -> None:
    content = bytearray(path.read_bytes())
    for _ in range(chance.randint(1, 3)):
        content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
    path.write_bytes(content)


def _overwrite(path: Path, chance: random.Random) -> None:
    content = bytearray(path.read_bytes())
    at, length = chance.randrange(len(content)), chance.randint(1, 4096)
    content[at : at + length] = bytes(len(content[at : at + length]))
    path.write_bytes(content)


def _cut_bytes(path: Path, chance: random.Random) -> None:
    content = path.read_bytes()
    path.write_bytes(content[: chance.randrange(1, len(content))])


def _swap_pages(path: Path, chance: random.Random) -> None:
    content = bytearray(path.read_bytes())
    one, other = (chance.randrange(len(content) // 4096) * 4096 for _ in range(2))
    first, second = content[one : one + 4096], content[other : other + 4096]
    content[one : one + 4096], content[other : other + 4096] = second, first
    path.write_bytes(content)


def _append_bytes(path: Path, chance: random.Random) -> None:
    path.write_bytes(path.read_bytes() + chance.randbytes(chance.randint(1, 5000)))


def _sql(path: Path, *statements: str) -> None:
    db = sqlite3.connect(path, isolation_level=None)
    for statement in statements:
        db.execute(statement)
    db.close()


def _last(path: Path) -> int:
    db = sqlite3.connect(path)
    (last,) = db.execute("SELECT max(seq) FROM event").fetchone()
    db.close()
    return int(last)


def _change_row(path: Path, chance: random.Random) -> None:
    seq = chance.randint(1, _last(path))
    what = chance.choice(
        (
            "value = coalesce(value, 0) + 1",
            "t_s = coalesce(t_s, 0) + 0.001",
            "utc_s = utc_s + 1",
            "kind = 'note'",
            "body = body || ' '",
            "raw = x'0102'",
            "role = 'selector'",
            "hash = randomblob(32)",
        )
    )
    _sql(path, f"UPDATE event SET {what} WHERE seq = {seq}")


def _drop_rows(path: Path, chance: random.Random) -> None:
    first = chance.randint(1, _last(path))
    end = first + chance.randint(0, 3)
    _sql(path, f"DELETE FROM event WHERE seq BETWEEN {first} AND {end}")


def _drop_and_close_up(path: Path, chance: random.Random) -> None:
    seq = chance.randint(1, _last(path) - 1)
    _sql(
        path,
        f"DELETE FROM event WHERE seq = {seq}",
        f"UPDATE event SET seq = -(seq - 1) WHERE seq > {seq}",
        "UPDATE event SET seq = -seq WHERE seq < 0",
    )


def _swap_rows(path: Path, chance: random.Random) -> None:
    one, other = chance.sample(range(1, _last(path) + 1), 2)
    _sql(
        path,
        f"UPDATE event SET seq = -1 WHERE seq = {one}",
        f"UPDATE event SET seq = {one} WHERE seq = {other}",
        f"UPDATE event SET seq = {other} WHERE seq = -1",
    )


def _cut_rows(path: Path, chance: random.Random) -> None:
    _sql(path, f"DELETE FROM event WHERE seq > {chance.randint(1, _last(path) - 1)}")


def _double_row(path: Path, chance: random.Random) -> None:
    last = _last(path)
    _sql(
        path,
        f"INSERT INTO event SELECT {last + 1}, kind, t_s, utc_s, role, value, raw, "
        f"body, hash FROM event WHERE seq = {chance.randint(1, last)}",
    )


TAMPERS: tuple[tuple[str, Tamper], ...] = (
    ("bits flipped", _flip_bits),
    ("bytes overwritten", _overwrite),
    ("file cut short", _cut_bytes),
    ("pages swapped", _swap_pages),
    ("bytes appended", _append_bytes),
    ("an event changed", _change_row),
    ("events dropped", _drop_rows),
    ("one dropped, numbers closed", _drop_and_close_up),
    ("two events swapped", _swap_rows),
    ("events cut off", _cut_rows),
    ("an event doubled", _double_row),
)

"""Job files made to do harm, hashes and seal in order: what do the verbs make of them?

Each family is a way somebody could make a false job: words that are orders to another
program, lists where words belong, impossible numbers, kinds that are formulas, things
put into the database beside the events, and sizes beyond reason.
"""

from __future__ import annotations

import contextlib
import csv
import io
import json
import random
import resource
import sqlite3
from collections import Counter
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from bridge.jobfile.file.chain import NO_HASH, RowDraft, link
from bridge.jobfile.file.digest import PLACEHOLDER, seal
from bridge.jobfile.file.format import APPLICATION_ID, FORMAT, TABLES, RowKind
from bridge.jobfile.file.reader import reading, rows
from bridge.jobfile.report.summary import tell
from bridge.jobfile.several.history import to_csv, visit_of
from bridge.sheets import load
from bridge.values.codec import to_plain
from bridge.values.errors import SumpgateError
from tests.show.parts.evidence.job import SHEET, whole_job
from tests.show.parts.evidence.pages import random_log
from tests.show.parts.show_run import ShowRun, crossed
from tui.cli.main import main as sumpgate

MOST_RSS_MB = 400.0
"""More than what one verb on a usual job takes, by far less than what a machine has."""
WORDS = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</style></title><script src='http://192.0.2.1/x'></script>",
    "javascript:alert(1)",
    "=1+1",
    "+1+1",
    "-1+1",
    "@SUM(1)",
    "\t=1+1",
    "\x1b]0;title\x07\x1b[2J",
    "\u202etxt.exe",
    "\ud800",
    "a\0b",
    "line\nline\r\n=1",
    "x" * 50_000,
    "%s%n{0}{x}",
    "&lt;b&gt; <para> <img src='/etc/passwd'/> <br/>",
)
ODD: tuple[Any, ...] = (
    [], {}, [[]], [1, "a", None], {"a": {"b": 1}}, None, True, False, "", 0, -1,
    10**17, -(10**17), 1e308, -1e308, 5e-324, "nan", "GO", "\ud800", [None] * 50,
)  # fmt: skip
Plain = list[list[Any]]
"""Events as lists of kind, t_s, utc_s, role, value, raw, body; the body is an object
or, to be written as it stands, a text."""


def _leaves(content: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    items: Any = ()
    if isinstance(content, dict):
        items = content.items()
    elif isinstance(content, list):
        items = enumerate(content)
    below = [leaf for k, v in items for leaf in _leaves(v, (*path, k))]
    return ([path] if path else []) + below


def _put(content: Any, path: tuple[Any, ...], value: Any) -> None:
    for key in path[:-1]:
        content = content[key]
    content[path[-1]] = value


def _change_leaf(events: Plain, chance: random.Random, values: tuple[Any, ...]) -> None:
    for _ in range(chance.randint(1, 12)):
        body = chance.choice([e[6] for e in events if isinstance(e[6], dict) and e[6]])
        leaves = _leaves(body)
        if leaves:
            _put(body, chance.choice(leaves), chance.choice(values))


def _words(events: Plain, chance: random.Random) -> None:
    _change_leaf(events, chance, WORDS)


def _types(events: Plain, chance: random.Random) -> None:
    _change_leaf(events, chance, ODD)


def _lacking(events: Plain, chance: random.Random) -> None:
    """Take keys away."""
    for _ in range(chance.randint(1, 6)):
        body = chance.choice([e[6] for e in events if isinstance(e[6], dict) and e[6]])
        del body[chance.choice(list(body))]


def _numbers(events: Plain, chance: random.Random) -> None:
    """Put numbers beyond all reason into the columns and the bodies."""
    event = chance.choice(events)
    column = chance.choice((1, 2, 4, 6))
    event[column] = chance.choice((1e308, -1e300, float("inf"), 9e9, -5.0))
    if column == 6:
        event[6] = chance.choice(
            (
                '{"ml":' + "9" * 400 + "}",
                '{"ml":' + "9" * 6_000 + "}",
                '{"ml":1e999}',
                '{"ml":NaN}',
                '{"a":' + "[" * 100_000 + "]" * 100_000 + "}",
                "[" * 100_000,
                '{"a":' * 30 + "1" + "}" * 30,
                '{"ml":1,"ml":"=1"}',
                '"text"',
                "[1]",
                "{",
                '{"text":"ä"}',
            )
        )


def _kinds(events: Plain, chance: random.Random) -> None:
    """Call events what they are not."""
    for _ in range(chance.randint(1, 4)):
        event = chance.choice(events)
        if chance.random() < 0.5:
            event[chance.choice((0, 3))] = chance.choice(WORDS)
        else:
            event[0] = chance.choice(list(RowKind)).value


def _order(events: Plain, chance: random.Random) -> None:
    """Say things twice, or in another order."""
    for _ in range(chance.randint(1, 8)):
        event = [*chance.choice(events)]
        events.insert(chance.randrange(len(events) + 1), event)
    if chance.random() < 0.3:
        chance.shuffle(events)


def _sizes(events: Plain, chance: random.Random) -> None:
    """Make one event, or all of them together, as large as can be."""
    last = events[-1]
    how = chance.randrange(4)
    if how == 0:
        last[6] = '{"text":"' + "x" * 3_000_000 + '"}'
    elif how == 1:
        last[5] = bytes(60_000_000)
    elif how == 2:
        kinds = [f"k{i}" for i in range(40)] + ["note", "photo", "volume"]
        body = {"text": "x" * 60_000}
        events += [[chance.choice(kinds), *last[1:6], body] for _ in range(2_000)]
    else:
        events += [[f"k{i}", *last[1:6], {"i": i}] for i in range(20_000)]


_SQL = (
    (
        "CREATE TRIGGER t AFTER INSERT ON event BEGIN DELETE FROM event WHERE "
        "kind = 'note'; END"
    ),
    "CREATE VIEW v AS SELECT * FROM event",
    "CREATE TABLE more (x)",
    "CREATE INDEX i ON event (kind)",
    "CREATE UNIQUE INDEX i ON event (hash)",
    "ALTER TABLE event ADD COLUMN more TEXT",
    "ALTER TABLE seal RENAME TO seals",
    (
        "DROP TABLE seal; CREATE VIEW seal AS WITH RECURSIVE c(x) AS (SELECT 1 UNION "
        "ALL SELECT x + 1 FROM c) SELECT zeroblob(1000000) AS digest FROM c"
    ),
    "DROP TABLE seal; CREATE TABLE seal (digest BLOB NOT NULL)",
    "ALTER TABLE event RENAME TO e; CREATE VIEW event AS SELECT * FROM e",
    (
        "ALTER TABLE event RENAME TO e; CREATE VIEW event AS WITH RECURSIVE c(x) AS "
        "(SELECT 1 UNION ALL SELECT x + 1 FROM c) SELECT x AS seq, 'note' AS kind, 0.0 "
        "AS t_s, 0.0 AS utc_s, '' AS role, 0.0 AS value, x'' AS raw, '' AS body, x'' "
        "AS hash FROM c"
    ),
    "ANALYZE",
    "CREATE VIRTUAL TABLE f USING fts5(x)",
)


def _made(path: Path, events: Plain, sql: str = "") -> None:
    """Write a job file with hashes and seal in order, whatever its events hold."""
    path.unlink(missing_ok=True)
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute(f"PRAGMA application_id={APPLICATION_ID}")
        db.execute(f"PRAGMA user_version={FORMAT}")
        db.executescript(TABLES)
        db.execute("BEGIN")
        before = NO_HASH
        for seq, (*columns, body) in enumerate(events, 1):
            written = (
                body if isinstance(body, str) else json.dumps(body) if body else ""
            )
            draft = RowDraft(*columns, body=written)
            try:
                before = link(before, seq, draft)
                row = (seq, *draft, before)
                db.execute("INSERT INTO event VALUES (?,?,?,?,?,?,?,?,?)", row)
            except (UnicodeError, OverflowError):
                break  # not even SQLite takes it
        db.execute("COMMIT")
        with contextlib.suppress(sqlite3.OperationalError):
            db.executescript(sql)
        with contextlib.suppress(sqlite3.OperationalError):
            db.execute("INSERT INTO seal VALUES (?)", (PLACEHOLDER,))
    seal(path)


def _copied(events: Plain) -> Plain:
    return [[*e[:6], json.loads(json.dumps(e[6]))] for e in events]


_FAMILIES: dict[str, Callable[[Plain, random.Random], None]] = {
    "words that are orders": _words,
    "lists for words": _types,
    "keys taken away": _lacking,
    "impossible numbers": _numbers,
    "other kinds and roles": _kinds,
    "twice and in disorder": _order,
    "beyond all size": _sizes,
}
_SCHEMA = "another schema"


class _Page(HTMLParser):
    """Finds what a page of ours never has: scripts, handlers, things fetched."""

    def __init__(self) -> None:
        super().__init__()
        self.bad: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in ("script", "img", "iframe", "object", "embed", "link", "base"):
            self.bad.append(tag)
        for name, _ in attrs:
            if name.startswith("on") or name in ("href", "src", "srcset", "style"):
                self.bad.append(f"{tag} {name}")


def _in_page(path: Path) -> str:
    page = _Page()
    page.feed(path.read_text("utf-8"))
    page.close()
    return f"a page with {page.bad[0]}" if page.bad else ""


def _in_csv(path: Path) -> str:
    csv.field_size_limit(10_000_000)
    with path.open(encoding="utf-8", newline="") as file:
        for line in csv.reader(file):
            for cell in line:
                if cell[:1] in ("=", "+", "@", "\t", "\r", "-") and not _number(cell):
                    return f"a formula {cell[:30]!r}"
    return ""


def _number(cell: str) -> bool:
    with contextlib.suppress(ValueError):
        return bool(float(cell) or True)
    return False


def _in_json(path: Path) -> str:
    json.loads(path.read_text("utf-8"))
    return ""


_LOOKED_AT = {".html": _in_page, ".csv": _in_csv, ".json": _in_json}
_VERBS = (
    "job check x.job",
    "job show x.job",
    "report x.job",
    "export x.job",
    "export --format json x.job",
    "replay x.job",
    "job compare x.job good.job",
    "job list",
    "report --to x-out --force x.job",
)


def _run(verb: str) -> tuple[int | str, str]:
    """Run a verb; return its exit code and all it said, or what fell over."""
    out, err = io.StringIO(), io.StringIO()
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code: int | str = sumpgate(verb.split())
    except Exception as problem:
        return f"{type(problem).__name__}: {problem}"[:200], ""
    lines = err.getvalue().splitlines()
    if code not in (0, 2):
        return f"exit code {code}", ""
    if code == 2 and verb.split()[1] != "check" and len(lines) > 1:
        return f"{len(lines)} lines of error", ""
    return code, out.getvalue() + err.getvalue()


def _orders(said: str) -> str:
    """Return what of a text a terminal would take for an order."""
    bad = [c for c in said if not c.isprintable() and c != "\n"]
    return f"{bad[0]!r} on the terminal" if bad else ""


def _in_history() -> list[str]:
    """Write the job's line of a history; return what fell over."""
    try:
        with Path("x-history.csv").open("w", encoding="utf-8", newline="") as file:
            to_csv([visit_of(tell(Path("x.job")))], file)
    except SumpgateError:
        return []
    except Exception as problem:
        return [f"history: {type(problem).__name__}: {problem}"[:200]]
    return []


def _attack(folder: Path, verbs: tuple[str, ...]) -> tuple[list[str], bool]:
    """Let every verb at one hostile job: what went wrong, and whether it is intact."""
    wrong, intact = [], False
    for verb in verbs:
        code, said = _run(verb)
        if isinstance(code, str):
            wrong.append(f"{verb}: {code}")
        elif bad := _orders(said):
            wrong.append(f"{verb}: {bad}")
        intact |= verb.startswith("job check") and code == 0
    wrong += _in_history()
    for made in [*folder.glob("x[.-]*.*"), *folder.glob("x-out/*")]:
        try:
            bad = _LOOKED_AT.get(made.suffix, lambda _: "")(made)
        except (ValueError, csv.Error) as problem:
            bad = f"{problem}"
        if bad:
            wrong.append(f"{made.name}: {bad}")
        if made.name != "x.job" or made.parent != folder:
            made.unlink()
    return wrong, intact


def hostile(folder: Path, told: ShowRun) -> None:
    """Make hostile jobs and run every verb on each."""
    chance, runs = random.Random(told.seed), told.size(24, 500)
    good = folder / "good.job"
    whole_job(good, for_s=40.0)
    with reading(good) as db:
        kept = [[*r[1:7], json.loads(r.body) if r.body else {}] for r in rows(db)]
    log = random_log(load(SHEET), chance)
    service = [["service", 1.0, kept[0][2], "", None, b"", to_plain(e)] for e in log]
    kept[-1:-1] = service
    names = [*_FAMILIES, _SCHEMA]
    counts: Counter[tuple[str, str]] = Counter()
    with contextlib.chdir(folder):
        for i in range(runs):
            name = names[i % len(names)]
            events = _copied(kept)
            if name == _SCHEMA:
                _made(Path("x.job"), events, _SQL[i // len(names) % len(_SQL)])
            else:
                _FAMILIES[name](events, chance)
                _made(Path("x.job"), events)
            pdf = ("report --pdf --force x.job",) if i % 5 == 0 else ()
            wrong, intact = _attack(folder, (*_VERBS, *pdf))
            counts[name, "intact" if intact else "refused"] += 1
            counts[name, "harm"] += len(wrong)
            told.misses += [f"hostile {i}, {name}: {w}" for w in wrong]
            if name == _SCHEMA and intact:
                told.misses.append(f"hostile {i}: another schema was called intact")
    print(f"Hostile jobs, each through {len(_VERBS)} verbs and more")
    crossed(names, ("refused", "intact", "harm"), counts)
    rss_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    told.tell("hostile_jobs", runs)
    told.tell("hostile_harm", sum(counts[name, "harm"] for name in names), want=0)
    told.tell("hostile_refused", sum(counts[name, "refused"] for name in names))
    told.tell("hostile_rss_mb", rss_mb, most=MOST_RSS_MB)

"""What a search knows so far, told entry by entry so that it can be taken up again.

An entry is a plain dict of JSON types. A file of them, one a line, is the search's
whole memory: reading it back through `take` gives the same ledger. Pure.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from bridge.search.search_plan import IdentifierSpan, count_left
from bridge.search.watched import Address, Series, Typed, Watch
from bridge.values.errors import UsageError

FORMAT = 1
Entry = dict[str, Any]


@dataclass(slots=True)
class Ledger:
    """Everything a search has brought."""

    units: dict[int, int] = field(default_factory=dict)
    """Request id -> reply id of every unit that answered."""
    swept: set[str] = field(default_factory=set)
    """Addressings ('11', '29') whose units have all been tried."""
    asked: dict[tuple[int, int], set[int]] = field(default_factory=dict)
    """(request id, service) -> identifiers that need not be asked again."""
    closed: dict[tuple[int, int], str] = field(default_factory=dict)
    """(request id, service) -> why the unit is not asked that service any more."""
    answered: dict[Address, bytes] = field(default_factory=dict)
    """What answered, and with what data at first."""
    protocol: str = ""
    """The adapter's protocol digit the units answered on."""
    watch: Watch = field(default_factory=Watch)

    def take(self, entry: Entry) -> None:
        """Take one entry.

        Raises:
            UsageError: the file is of another format.
            KeyError, ValueError, TypeError: no entry of this tool.
        """
        what = entry["what"]
        taker = _TAKERS.get(what)
        if taker is not None:  # a newer tool may write others
            taker(self, entry)

    def left(self, spans: tuple[IdentifierSpan, ...], units: tuple[int, ...]) -> int:
        """Return how many identifiers are still to be asked of these units."""
        return sum(
            count_left(spans, service, self.asked.get((unit, service), set()))
            for unit in units
            for service in {s.service for s in spans}
            if (unit, service) not in self.closed
        )


def _head(_: Ledger, entry: Entry) -> None:
    if entry["format"] != FORMAT:
        raise UsageError(
            f"the search file is of format {entry['format']}, and this tool knows "
            f"{FORMAT}: name another file with --state"
        )


def _unit(ledger: Ledger, entry: Entry) -> None:
    ledger.units[int(entry["request"], 16)] = int(entry["reply"], 16)
    ledger.protocol = str(entry.get("protocol", ledger.protocol))


def _swept(ledger: Ledger, entry: Entry) -> None:
    ledger.swept.add(str(entry["addressing"]))


def _asked(ledger: Ledger, entry: Entry) -> None:
    key = int(entry["request"], 16), int(entry["service"])
    ledger.asked.setdefault(key, set()).update(int(i) for i in entry["identifiers"])


def _closed(ledger: Ledger, entry: Entry) -> None:
    ledger.closed[int(entry["request"], 16), int(entry["service"])] = str(entry["why"])


def _answer(ledger: Ledger, entry: Entry) -> None:
    ledger.answered[address_of(entry)] = bytes.fromhex(entry["data"])


def _sample(ledger: Ledger, entry: Entry) -> None:
    series = ledger.watch.series.setdefault(address_of(entry), Series())
    series.t_s.append(float(entry["t_s"]))
    series.data.append(bytes.fromhex(entry["data"]))


def _around(ledger: Ledger, entry: Entry) -> None:
    kept = {
        "coolant": ledger.watch.coolant,
        "ambient": ledger.watch.ambient,
        "engine": ledger.watch.engine,
    }[entry["of"]]
    kept.append((float(entry["t_s"]), float(entry["value"])))


def _typed(ledger: Ledger, entry: Entry) -> None:
    t_s, temp_c = float(entry["t_s"]), float(entry["temp_c"])
    ledger.watch.typed.append(Typed(t_s, temp_c, float(entry["accuracy_c"])))


def _watch(ledger: Ledger, _: Entry) -> None:
    ledger.watch = Watch()


_TAKERS = {
    "search": _head,
    "unit": _unit,
    "swept": _swept,
    "asked": _asked,
    "closed": _closed,
    "answer": _answer,
    "watch": _watch,
    "sample": _sample,
    "around": _around,
    "typed": _typed,
}


def address_of(entry: Entry) -> Address:
    """Return the identifier an entry speaks of."""
    return Address(
        int(entry["request"], 16),
        int(entry["reply"], 16),
        int(entry["service"]),
        int(entry["identifier"]),
    )


def told(address: Address) -> Entry:
    """Return an identifier as an entry holds it."""
    return {
        "request": f"{address.request_id:X}",
        "reply": f"{address.reply_id:X}",
        "service": address.service,
        "identifier": address.identifier,
    }

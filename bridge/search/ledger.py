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
        match entry["what"]:  # a newer tool may write others
            case "search":
                _check_format(entry)
            case "unit":
                self.units[_id(entry)] = int(entry["reply"], 16)
                self.protocol = str(entry.get("protocol", self.protocol))
            case "swept":
                self.swept.add(str(entry["addressing"]))
            case "asked":
                asked = _id(entry), int(entry["service"])
                fresh = {int(i) for i in entry["identifiers"]}
                self.asked.setdefault(asked, set()).update(fresh)
            case "closed":
                self.closed[_id(entry), int(entry["service"])] = str(entry["why"])
            case "answer":
                self.answered[address_of(entry)] = bytes.fromhex(entry["data"])
            case "watch" | "sample" | "around" | "typed":
                self.watch = _watched(self.watch, entry)

    def left(self, spans: tuple[IdentifierSpan, ...], units: tuple[int, ...]) -> int:
        """Return how many identifiers are still to be asked of these units."""
        return sum(
            count_left(spans, service, self.asked.get((unit, service), set()))
            for unit in units
            for service in {s.service for s in spans}
            if (unit, service) not in self.closed
        )


def _id(entry: Entry) -> int:
    return int(entry["request"], 16)


def _check_format(entry: Entry) -> None:
    if entry["format"] != FORMAT:
        raise UsageError(
            f"the search file is of format {entry['format']}, and this tool knows "
            f"{FORMAT}: name another file with --state"
        )


def _watched(watch: Watch, entry: Entry) -> Watch:
    if entry["what"] == "watch":  # another warm-up
        return Watch()
    t_s = float(entry["t_s"])
    match entry["what"], entry.get("of"):
        case "sample", _:
            series = watch.series.setdefault(address_of(entry), Series())
            series.t_s.append(t_s)
            series.data.append(bytes.fromhex(entry["data"]))
        case "typed", _:
            temp_c, accuracy_c = float(entry["temp_c"]), float(entry["accuracy_c"])
            watch.typed.append(Typed(t_s, temp_c, accuracy_c))
        case _, "coolant" | "ambient" | "engine" as what:
            getattr(watch, what).append((t_s, float(entry["value"])))
        case _:
            raise ValueError(entry["of"])
    return watch


def address_of(entry: Entry) -> Address:
    """Return the identifier an entry speaks of."""
    return Address(
        _id(entry),
        int(entry["reply"], 16),
        int(entry["service"]),
        int(entry["identifier"]),
    )


def as_entry(address: Address) -> Entry:
    """Return an identifier as an entry holds it."""
    return {
        "request": f"{address.request_id:X}",
        "reply": f"{address.reply_id:X}",
        "service": address.service,
        "identifier": address.identifier,
    }

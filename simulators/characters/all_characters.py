"""Every character by name, and how several are put into one bench."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

from bridge.values.errors import UsageError
from simulators.characters.commands_known import COMMANDS_KNOWN
from simulators.characters.connecting import CONNECTING
from simulators.characters.reading import READING
from simulators.characters.searching import SEARCHING
from simulators.characters.strangers import STRANGERS

if TYPE_CHECKING:
    from simulators.characters.character import Character
    from simulators.serve.bench import Bench

CHARACTERS: dict[str, type[Character]] = {
    kind.name: kind
    for kind in (*CONNECTING, *COMMANDS_KNOWN, *STRANGERS, *SEARCHING, *READING)
}
"""Every character by its name."""
MIX = "mix:"
MOST_MIXED = 4


def chosen(text: str, protocol: str) -> tuple[type[Character], ...]:
    """Return the characters of 'a', 'a+b' or 'mix:SEED' for a car's protocol.

    A mixture is drawn from those that can be read through.

    Raises:
        UsageError: a name or a seed that is none, or one that needs another bus.
    """
    if text.startswith(MIX):
        return mixture(_seed(text), protocol)
    kinds = tuple(_known(name.strip()) for name in text.split("+"))
    for kind in kinds:
        if kind.needs and protocol not in kind.needs:
            raise UsageError(
                f"the adapter character {kind.name} needs a bus with protocol "
                f"{', '.join(sorted(kind.needs))}, and this car speaks {protocol}"
            )
    return kinds


def mixture(seed: int, protocol: str) -> tuple[type[Character], ...]:
    """Return two to four characters that can be read through, the same for a seed."""
    chance = random.Random(seed)  # noqa: S311 - repeatable, not secret
    fitting = [
        kind
        for kind in CHARACTERS.values()
        if kind.refused_as is None and (not kind.needs or protocol in kind.needs)
    ]
    return tuple(chance.sample(fitting, chance.randint(2, MOST_MIXED)))


def settle_in(bench: Bench, kinds: tuple[type[Character], ...]) -> None:
    """Put characters into a bench that has not started."""
    for place, kind in enumerate(kinds):
        bench.add(kind.name, kind(seed=place))


def _known(name: str) -> type[Character]:
    if name not in CHARACTERS:
        raise UsageError(
            f"there is no adapter character {name!r}: choose from "
            f"{', '.join(sorted(CHARACTERS))}, join several with +, or write mix:SEED"
        )
    return CHARACTERS[name]


def _seed(text: str) -> int:
    number = text.removeprefix(MIX)
    if not (number.isascii() and number.isdigit()):
        raise UsageError(f"{text!r} is no mixture: write mix: and a whole number")
    return int(number)

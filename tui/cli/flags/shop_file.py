"""A shop's own small file, named as ``shop`` in the settings: what every job tells."""

from __future__ import annotations

import tomllib
from pathlib import Path

from bridge.plain_file import SMALL_BYTES, read_plain
from bridge.units import printable
from bridge.values.errors import UsageError
from bridge.values.service_events import Particular

KEYS = (Particular.SHOP, Particular.MECHANIC, Particular.PLACE)
EXAMPLE = 'shop = "Corner garage"'
LONGEST = 200


def shop_of(name: str) -> dict[Particular, str]:
    """Return what a shop's file tells; nothing where the settings name none.

    Raises UsageError, with one sentence.
    """
    if not name:
        return {}
    path = Path(name).expanduser()
    text = read_plain(path, "the shop's file", most_bytes=SMALL_BYTES)
    try:
        shop = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as problem:
        raise UsageError(
            f"The shop's file {path} cannot be read ({problem}): write lines such as "
            f"{EXAMPLE}."
        ) from None
    for key, value in shop.items():
        if key not in tuple(map(str, KEYS)) or not isinstance(value, str):
            raise UsageError(
                f"The shop's file {path} has {printable(key, 40)!r}: it takes "
                f"{', '.join(KEYS)}, each a text in quotes."
            )
    words = {
        key: " ".join(printable(shop.get(key, ""), LONGEST).split()) for key in KEYS
    }
    return {key: word for key, word in words.items() if word}

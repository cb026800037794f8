"""The page's address as a QR code (ISO/IEC 18004) made of text. Pure.

In capitals, so that the code's short alphanumeric mode holds it: scheme and host do
not mind (RFC 3986, 6.2.2.1), and the token has capitals only.
"""

from __future__ import annotations

import segno

QUIET = 4
"""Modules of light around the code, as ISO/IEC 18004 asks for. With the verdict above
it a code of 25 modules then just fits 24 lines."""
_HALVES = {(0, 0): "█", (0, 1): "▀", (1, 0): "▄", (1, 1): " "}
"""Light is drawn, dark is left: on a dark ground that is the right way round."""


def modules(address: str) -> list[list[int]]:
    """Return the code's modules with their quiet zone; 1 is dark."""
    code = segno.make_qr(address.upper(), error="l", boost_error=True)
    return [[int(m) for m in row] for row in code.matrix_iter(border=QUIET)]


def half_blocks(address: str) -> list[str]:
    """Return the code two modules to a character: light on a dark ground."""
    rows = modules(address)
    if len(rows) % 2:
        rows = [*rows, [0] * len(rows[0])]
    pairs = zip(rows[::2], rows[1::2], strict=True)
    return [
        "".join(_HALVES[above, below] for above, below in zip(*pair, strict=True))
        for pair in pairs
    ]

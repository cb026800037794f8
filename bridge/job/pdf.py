"""The little of PDF that a report needs: pages with text, lines and boxes.

PDF 1.4 (ISO 32000-1 is its successor), the standard fonts Helvetica and
Helvetica-Bold, WinAnsiEncoding. Coordinates are points from the upper left corner.
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from dataclasses import dataclass, field

Colour = tuple[float, float, float]
BLACK: Colour = (0.1, 0.1, 0.1)
_CATALOG = (
    b"<< /Type /Catalog /Pages 2 0 R /Lang (en) "
    b"/ViewerPreferences << /DisplayDocTitle true >> >>"
)
PAPERS = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}
_RESPELL = str.maketrans({"−": "-", "✓": "", "✗": "", "\u202f": " ", "\t": " "})


def encode(text: str) -> bytes:
    """Return a text in WinAnsiEncoding; what it does not have becomes '?'."""
    plain = "".join(max(c, " ") for c in text.translate(_RESPELL))
    return plain.encode("cp1252", "replace")


def lacks(text: str) -> bool:
    """Return whether some character of a text cannot be written."""
    try:
        text.translate(_RESPELL).encode("cp1252")
    except UnicodeEncodeError:
        return True
    return False


@dataclass(slots=True)
class Page:
    """One page, drawn upon in order."""

    width: float
    height: float
    _said: list[bytes] = field(default_factory=list)

    def text(self, x: float, y: float, data: bytes, size: float, *, bold: bool) -> None:
        """Write a text with its base line at y."""
        font = b"F2" if bold else b"F1"
        for sign in (b"\\", b"(", b")"):
            data = data.replace(sign, b"\\" + sign)
        at = f"{x:.2f} {self.height - y:.2f} Td".encode()
        self._said.append(
            _fill(BLACK) + b"BT /%s %.1f Tf %s (%s) Tj ET" % (font, size, at, data)
        )

    def line(
        self,
        points: Sequence[tuple[float, float]],
        colour: Colour,
        width: float,
        dash: str = "",
    ) -> None:
        """Draw a line through points; ``dash`` as in PDF, such as '3 2'."""
        told = [f"{x:.2f} {self.height - y:.2f}" for x, y in points]
        path = f"{told[0]} m " + " ".join(f"{p} l" for p in told[1:])
        red, green, blue = colour
        self._said.append(
            f"{red:.2f} {green:.2f} {blue:.2f} RG {width:.2f} w [{dash}] 0 d 1 j "
            f"{path} S".encode()
        )

    def box(
        self, x: float, y: float, width: float, height: float, colour: Colour
    ) -> None:
        """Fill a box whose upper left corner is at x, y."""
        at = f"{x:.2f} {self.height - y - height:.2f} {width:.2f} {height:.2f} re f"
        self._said.append(_fill(colour) + at.encode())

    def stream(self) -> bytes:
        """Return what was drawn, as PDF's operators."""
        return b"\n".join(self._said)


def _fill(colour: Colour) -> bytes:
    return "{:.2f} {:.2f} {:.2f} rg ".format(*colour).encode()


def write(pages: Sequence[Page], title: str) -> bytes:
    """Return the whole file."""
    objects = [
        _CATALOG,
        b"",  # the list of pages, known at the end
        _font(b"Helvetica"),
        _font(b"Helvetica-Bold"),
        b"<< /Title %s /Producer (sumpgate) >>" % _title(title),
    ]
    kids = []
    for page in pages:
        packed = zlib.compress(page.stream(), 9)
        head = b"<< /Length %d /Filter /FlateDecode >>" % len(packed)
        objects.append(head + b"\nstream\n" + packed + b"\nendstream")
        kids.append(b"%d 0 R" % (len(objects) + 1))
        objects.append(
            f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {page.width:g} "
            f"{page.height:g}] /Contents {len(objects)} 0 R /Resources << /Font << "
            "/F1 3 0 R /F2 4 0 R >> >> >>".encode()
        )
    objects[1] = b"<< /Type /Pages /Count %d /Kids [%s] >>" % (
        len(pages),
        b" ".join(kids),
    )
    return _file(objects)


def _font(name: bytes) -> bytes:
    return (
        b"<< /Type /Font /Subtype /Type1 /BaseFont /%s /Encoding /WinAnsiEncoding >>"
        % name
    )


def _title(text: str) -> bytes:
    return b"<%s>" % ("\ufeff" + text).encode("utf-16-be", "replace").hex().encode()


def _file(objects: Sequence[bytes]) -> bytes:
    out = bytearray(b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n")
    places = []
    for number, content in enumerate(objects, 1):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, content)
    start = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    for place in places:
        out += b"%010d 00000 n \n" % place
    size = len(objects) + 1
    out += b"trailer\n<< /Size %d /Root 1 0 R /Info 5 0 R >>\n" % size
    out += b"startxref\n%d\n%%%%EOF\n" % start
    return bytes(out)

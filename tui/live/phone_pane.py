"""What the screen's phone page says: code, address, who follows, what was refused."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tui.phone.qr import half_blocks
from tui.words.screen import phone_words

if TYPE_CHECKING:
    from tui.phone.server import PhoneServer
    from tui.words.figures import TemperatureUnit

_GAP = "  "
TEXT_WIDTH = 38


class PhonePane:
    """The phone page's server as the screen sees it; read from the screen's thread."""

    title = phone_words.PANE

    def __init__(self, server: PhoneServer) -> None:
        self._server = server

    def set_unit(self, unit: TemperatureUnit) -> None:
        """Show temperatures in this unit on the phone, too."""
        self._server.hub.unit = unit

    def set_unread(self, unread: bool) -> None:  # noqa: FBT001 - a switch
        """Say whether the cautions are still to be read on the laptop."""
        self._server.hub.unread = unread

    def text(self, *, ascii_only: bool) -> str:
        """Return the page's lines: the code on the left, the words beside it."""
        words = self.words()
        if ascii_only:
            return "\n".join(words)
        code = half_blocks(self._server.address)
        width = len(code[0])
        rows = max(len(code), len(words))
        code += [" " * width] * (rows - len(code))
        words = [*words, *[""] * (rows - len(words))]
        return "\n".join(
            f"{left}{_GAP}{right}".rstrip()
            for left, right in zip(code, words, strict=True)
        )

    def words(self) -> list[str]:
        """Return the lines beside the code, short enough for 80 columns."""
        server, address = self._server, self._server.address
        return [
            phone_words.SCAN_OR_OPEN,
            *[address[n : n + TEXT_WIDTH] for n in range(0, len(address), TEXT_WIDTH)],
            *phone_words.FOR_ONE,
            f"Paired {server.pairing.paired}, following {server.hub.watching},",
            f"marks {server.hub.taken}, refused {server.refusals.total}.",
            "",
            *(phone_words.LOOPBACK if server.loopback else phone_words.NOT_ENCRYPTED),
        ]

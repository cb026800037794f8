"""Where a fault may reach into the adapter; this base leaves everything alone."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from simulators.bench import Bench
    from simulators.bus import Frame
    from simulators.ecu import Reply


@dataclass(slots=True, kw_only=True)
class Ask:
    """One request on the bus, as far as it has got; hooks may change all of it."""

    ident: int
    """CAN id, or the three header bytes as one number."""
    payload: bytes
    now_s: float
    count: int | None = None
    """The digit of expected answers, if one was given."""
    replies: list[Reply] = field(default_factory=list)
    frames: list[Frame] = field(default_factory=list)
    say: str | None = None
    """A text printed in place of the answers."""
    hang: bool = False
    """True: nothing more is printed, not even the prompt."""
    printed: int = 0
    """Lines printed so far."""


class Hooks:
    """Every place a fault can take hold of; override what is needed."""

    def started(self, bench: Bench) -> None:
        """Called when it is switched on."""

    def stopped(self, bench: Bench) -> None:
        """Called when it is switched off."""

    def arriving(self, data: bytes) -> bytes:
        """Change bytes before the adapter sees them."""
        return data

    def typed(self, line: str) -> str | None:  # noqa: ARG002 - for subclasses
        """Answer a whole line (upper case, no blanks) in the adapter's place."""
        return None

    def replies(self, ask: Ask) -> None:
        """Change what the control units answer."""

    def frames(self, ask: Ask) -> None:
        """Change the frames on the bus."""

    def line(self, ask: Ask, text: str) -> str:  # noqa: ARG002 - for subclasses
        """Change one line of an answer before it is printed."""
        return text

    def departing(self, pieces: list[tuple[float, bytes]]) -> list[tuple[float, bytes]]:
        """Change bytes (with the time they are ready) before they leave."""
        return pieces

"""Where a fault may reach into the adapter, and what it finds there."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Generator

    from simulators.adapter.adapter_settings import AdapterSettings, Memory
    from simulators.adapter.bus import Frame
    from simulators.car.car import Car
    from simulators.car.ecu import Reply, Unit

    Steps = Generator[float, None, None]
    """A job in progress: each value is the time it wants to be resumed at."""


@dataclass(slots=True, kw_only=True)
class BusRequest:
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

    def started(self, bench: Host) -> None:
        """Called when it is switched on."""

    def stopped(self, bench: Host) -> None:
        """Called when it is switched off."""

    def arriving(self, data: bytes) -> bytes:
        """Change bytes before the adapter sees them."""
        return data

    def typed(self, line: str) -> str | None:  # noqa: ARG002 - for subclasses
        """Answer a whole line (upper case, no blanks) in the adapter's place."""
        return None

    def replies(self, ask: BusRequest) -> None:
        """Change what the control units answer."""

    def frames(self, ask: BusRequest) -> None:
        """Change the frames on the bus."""

    def line(self, ask: BusRequest, text: str) -> str:  # noqa: ARG002 - for subclasses
        """Change one line of an answer before it is printed."""
        return text

    def departing(self, pieces: list[tuple[float, bytes]]) -> list[tuple[float, bytes]]:
        """Change bytes (with the time they are ready) before they leave."""
        return pieces


class AdapterSide(Protocol):
    """What a request, or a fault, needs of the adapter it happens in."""

    car: Car
    units: tuple[Unit, ...]
    settings: AdapterSettings
    hooks: list[Hooks]
    memory: Memory
    bus: list[Frame]
    """Frames that have not passed yet."""
    clock_s: float

    def emit(self, data: bytes) -> None:
        """Let bytes leave from now on."""

    def say(self, text: str) -> None:
        """Print one line."""

    def answer(self, text: str) -> None:
        """Print a line, if there is one, and the prompt."""

    def prompt(self) -> None:
        """Print the empty line and the prompt that end every answer."""

    def reset(self, reason: str | None = "") -> None:
        """Forget everything now."""

    def power_up(self, now_s: float, *, banner: bool = False) -> None:
        """Start afresh, as after plugging in."""

    def set_speed(self, baud: int) -> None:
        """Let bytes take as long as they do at another speed, in bits a second."""

    def swallow_output(self) -> None:
        """Lose what has not left yet."""


class Host(Protocol):
    """What a fault needs of the bench it is switched on in."""

    car: Car

    @property
    def adapter(self) -> AdapterSide:
        """The adapter it strikes."""

    def now_s(self) -> float:
        """Return bench time in seconds."""

    def unplug(self, for_s: float = 0.0) -> None:
        """Break the connection now."""

    def replug(self) -> None:
        """Let programs connect again at once."""

"""Where a fault may reach into the adapter, and what it finds there."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, ClassVar, Protocol, TypeVar

from simulators.adapter.adapter_settings import Memory
from simulators.adapter.uart import Receiver, Sender

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Sequence

    from simulators.adapter.adapter_settings import AdapterSettings
    from simulators.adapter.bus import Frame
    from simulators.car.car import Car
    from simulators.car.ecu import Reply, Unit

    Steps = Generator[float, None, None]
    """A job in progress: each value is the time it wants to be resumed at."""
    Pieces = list[tuple[float, bytes]]
    """Bytes on their way out, each with the time they are ready."""


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

    def change(self, payload: Callable[[bytes], bytes]) -> None:
        """Change what every answer carries."""
        self.replies = [replace(r, payload=payload(r.payload)) for r in self.replies]

    def delay(self, by_s: float) -> None:
        """Move every answer back."""
        self.replies = [replace(r, t_s=r.t_s + by_s) for r in self.replies]


class Hooks:
    """Every place a fault can take hold of; override what is needed."""

    name: ClassVar[str] = ""
    about: ClassVar[str] = ""
    bench: Host
    """Where it is switched on."""

    def started(self) -> None:
        """Called when it is switched on."""

    def stopped(self) -> None:
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

    def departing(self, pieces: Pieces) -> Pieces:
        """Change bytes before they leave."""
        return [self.piece(ready_s, data) for ready_s, data in pieces]

    def piece(self, ready_s: float, data: bytes) -> tuple[float, bytes]:
        """Change one piece of them, if that is all there is to change."""
        return ready_s, data


Kind = TypeVar("Kind", bound=Hooks)


def variant(base: type[Kind], name: str, about: str, **own: object) -> type[Kind]:
    """Return a kind of its own that differs from ``base`` in class attributes alone."""
    return type(name, (base,), {"name": name, "about": about, **own})


class AdapterSide:
    """The adapter as a request or a fault sees it: what it remembers, what it says."""

    def __init__(
        self, car: Car, units: Sequence[Unit], settings: AdapterSettings
    ) -> None:
        self.car, self.units, self.settings = car, tuple(units), settings
        self.hooks: list[Hooks] = []
        self.memory = Memory(linefeeds=settings.linefeeds)
        self.bus: list[Frame] = []
        """Frames that have not passed yet."""
        self.clock_s = 0.0
        self._receiver = Receiver(settings.baud)
        self._sender = Sender(settings.baud)

    def reset(self, reason: str | None = "") -> None:
        """Forget everything now; print a reason and the banner unless it is None."""
        raise NotImplementedError

    def power_up(self, now_s: float) -> None:
        """Start afresh, as after plugging in; the car is not touched."""
        raise NotImplementedError

    def answer(self, text: str) -> None:
        """Print a line, if there is one, and the prompt."""
        if text:
            self.say(text)
        self.prompt()

    def say(self, text: str) -> None:
        """Print one line."""
        self.emit(text.encode("latin-1", "replace") + self._line_end())

    def prompt(self) -> None:
        """Print the empty line and the prompt that end every answer."""
        self.emit(self._line_end() + b">")

    def _line_end(self) -> bytes:
        return b"\r\n" if self.memory.linefeeds else b"\r"

    def emit(self, data: bytes) -> None:
        """Let bytes leave from now on, through whatever hooks are there."""
        pieces = [(self.clock_s, data)]
        for hook in self.hooks:
            pieces = hook.departing(pieces)
        for ready_s, piece in pieces:
            self._sender.put(piece, ready_s)

    def set_speed(self, baud: int) -> None:
        """Let bytes take as long as they do at another speed, in bits a second."""
        self._receiver.byte_s = self._sender.byte_s = 10 / baud

    def swallow_output(self) -> None:
        """Throw away what has not left yet."""
        self._sender.clear()


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

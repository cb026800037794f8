"""A program's end of an adapter, in simulated time, without a loop."""

from __future__ import annotations

from simulators.adapter.adapter import Adapter
from simulators.car.car import Car
from simulators.car.car_units import make_units
from simulators.car.plant import Heat, Plant


class Rig:
    """Types commands at an adapter and collects what comes back."""

    def __init__(self, *, units=None, settings=None, hooks=(), signals=None, **car):
        self.car = Car(plant=Plant(Heat.soaked(20.0), ambient_c=20.0), **car)
        made = make_units(self.car, signals) if units is None else units(self.car)
        self.adapter = Adapter(self.car, made, settings=settings, hooks=hooks)
        self.now_s = 0.0

    def raw(self, data: bytes, *, patience_s: float = 30.0) -> bytes:
        """Send bytes and return everything up to the prompt, or to silence."""
        self.adapter.receive(data, self.now_s)
        return self.wait(patience_s=patience_s)

    def wait(self, *, patience_s: float = 30.0) -> bytes:
        out, until_s = b"", self.now_s + patience_s
        while not out.endswith(b">"):
            wake_s = self.adapter.wake_s()
            if wake_s is None or wake_s > until_s:
                break
            self.now_s = max(self.now_s, wake_s)
            out += self.adapter.take(self.now_s)
        return out

    def ask(self, *commands: str) -> list[str]:
        """Type commands; return the lines of the last answer without blanks at ends."""
        out = b""
        for command in commands:
            out = self.raw(command.encode("latin-1") + b"\r")
            assert out.endswith(b">"), (command, out)
        text = out[:-1].decode("latin-1").replace("\n", "\r")
        return [line.strip() for line in text.split("\r") if line.strip()]


def quiet(**options) -> Rig:
    """A rig initialised as a program would: no echo, no linefeeds, protocol 6."""
    rig = Rig(**options)
    rig.ask("ATE0", "ATL0", "ATSP6")
    return rig

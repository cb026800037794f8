"""The bench: a car and its adapter, run by the asyncio loop a program lives in.

Bench time is the loop's own clock from the moment the bench starts, so under
``PacedLoop`` the whole bench runs in simulated time.
"""

from __future__ import annotations

import asyncio
import math
from collections.abc import Callable, Iterable
from functools import partial
from typing import TYPE_CHECKING, Protocol

from bridge.values.errors import PortError, UsageError
from simulators.car.car import GRID_S
from simulators.faults.all_faults import known, make_fault

if TYPE_CHECKING:
    from simulators.adapter.adapter import Adapter
    from simulators.adapter.hooks import Hooks
    from simulators.car.car import Car, Truth
    from simulators.faults.fault_schedule import Planned

Deliver = Callable[[bytes], None]
Cut = Callable[[], None]


class BenchDevice(Protocol):
    """Bytes in, bytes out, time passed in."""

    def power_up(self, now_s: float) -> None:
        """Start afresh."""

    def receive(self, data: bytes, now_s: float) -> None:
        """Take bytes of the program."""

    def take(self, now_s: float) -> bytes:
        """Return the bytes that are due by now."""

    def wake_s(self) -> float | None:
        """Return when something is due next; None: only input can bring it."""


class Bench:
    """One car behind one adapter, with at most one program connected."""

    def __init__(
        self, car: Car, adapter: Adapter, *, device: BenchDevice | None = None
    ) -> None:
        self.car = car
        self.adapter = adapter
        self.device: BenchDevice = device or adapter
        """What the program talks to: the adapter, or something in its place."""
        self.port: BenchPort | None = None
        """Where the program is connected; None: nobody is."""
        self.active: dict[str, Hooks] = {}
        """Faults that are on, by name."""
        self._plan: list[tuple[float, Callable[[], None]]] = []
        self._timers: set[asyncio.TimerHandle] = set()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._epoch_s = 0.0
        self._plugged = asyncio.Event()
        self._plugged.set()

    # -- time -----------------------------------------------------------------

    def start(self) -> None:
        """Start the bench's clock on the running loop; a second call does nothing."""
        if self._loop is not None:
            return
        self._loop = asyncio.get_running_loop()
        self._epoch_s = self._loop.time()
        for at_s, action in self._plan:
            self._arm(at_s, action)

    def now_s(self) -> float:
        """Return bench time in seconds; 0 until it starts."""
        return 0.0 if self._loop is None else self._loop.time() - self._epoch_s

    def at(self, at_s: float, action: Callable[[], None]) -> None:
        """Plan an action for a moment of bench time."""
        if self._loop is None:
            self._plan.append((at_s, action))
        else:
            self._arm(at_s, action)

    def _arm(self, at_s: float, action: Callable[[], None]) -> None:
        def fire() -> None:
            self._timers.discard(timer)
            action()

        timer = self.call_at(at_s, fire)
        self._timers.add(timer)

    def call_at(self, at_s: float, action: Callable[[], None]) -> asyncio.TimerHandle:
        """Have the loop call back at a moment of bench time; the bench must run."""
        if self._loop is None:
            raise UsageError("The bench has not been started: call start() first.")
        return self._loop.call_at(self._epoch_s + at_s, action)

    def close(self) -> None:
        """Cancel everything planned and let go of the program."""
        for timer in self._timers:
            timer.cancel()
        self._timers.clear()
        if self.port is not None:
            self.port.detach()

    # -- the program's side ---------------------------------------------------

    @property
    def plugged(self) -> bool:
        """Whether a program can connect now."""
        return self._plugged.is_set()

    async def until_plugged(self) -> None:
        """Wait until a program can connect."""
        await self._plugged.wait()

    def attach(self, deliver: Deliver, cut: Cut) -> BenchPort:
        """Connect a program; raises PortError while the adapter is unplugged.

        ``deliver`` gets the bytes for the program, ``cut`` is called when the bench
        drops the connection. The adapter starts as just powered up.
        """
        self.start()
        if not self.plugged:
            raise PortError("The bench's adapter is unplugged: wait until it is back.")
        if self.port is not None:
            self.port.drop()
        self.device.power_up(self.now_s())
        self.port = BenchPort(self, deliver, cut)
        # Not at once: the caller is not ready for bytes before this returns.
        self.call_at(self.now_s(), self.port.pump)
        return self.port

    def unplug(self, for_s: float = 0.0) -> None:
        """Break the connection now; nobody can connect for a time in seconds."""
        if for_s > 0:
            self._plugged.clear()
        if not math.isinf(for_s) and for_s > 0:
            self.at(self.now_s() + for_s, self.replug)
        if self.port is not None:
            self.port.drop()

    def replug(self) -> None:
        """Let programs connect again at once."""
        self._plugged.set()

    def nudge(self) -> None:
        """Deliver what is due; call it after changing the adapter from outside."""
        if self.port is not None:
            self.port.pump()

    # -- faults ---------------------------------------------------------------

    def fault(self, name: str, on: bool = True, **options: object) -> None:  # noqa: FBT001, FBT002 - reads as a switch
        """Switch a fault on or off; switching on again replaces its options.

        Raises UsageError for a name, an option or a value that does not exist.
        """
        if on:
            self.add(name, make_fault(name, **options))
        else:
            known(name)
            self.remove(name)

    def add(self, name: str, hooks: Hooks) -> None:
        """Put hooks in, under a name, in the place of any there before."""
        if self.device is not self.adapter:
            raise UsageError("A log that is played back takes no faults of its own.")
        self.remove(name)
        self.active[name] = hooks
        self.adapter.hooks.append(hooks)
        hooks.bench = self
        hooks.started()
        self.nudge()

    def remove(self, name: str, hooks: Hooks | None = None) -> None:
        """Take hooks out again; given, only if they are still the ones in place."""
        there = self.active.get(name)
        if there is None or hooks not in (None, there):
            return
        del self.active[name]
        self.adapter.hooks.remove(there)
        there.stopped()
        self.nudge()

    def plan(self, planned: Iterable[Planned]) -> None:
        """Have faults come and go at their times."""
        for item in planned:
            self.at(item.at_s, partial(self._come, item))

    def _come(self, item: Planned) -> None:
        self.add(item.name, make_fault(item.name, **dict(item.options)))
        if item.for_s is not None:
            gone = partial(self.remove, item.name, self.active[item.name])
            self.at(self.now_s() + item.for_s, gone)

    # -- truth ----------------------------------------------------------------

    def truth(self, at_s: float | None = None) -> Truth | None:
        """Return what really was at a bench time (default: now).

        None: not yet, or more than ten minutes of car time ago.
        """
        wanted_s = self.now_s() if at_s is None else at_s
        self.car.advance(self.now_s())
        if not self.car.log:
            return None
        first_s = self.car.log[0].t_s
        place = math.floor((wanted_s * self.car.scale - first_s) / GRID_S + 1e-6)
        if not 0 <= place < len(self.car.log):
            return None
        return self.car.log[place]


class BenchPort:
    """The bench's end of one connection."""

    def __init__(self, bench: Bench, deliver: Deliver, cut: Cut) -> None:
        self._bench = bench
        self._deliver = deliver
        self._cut = cut
        self._timer: asyncio.TimerHandle | None = None
        self.open = True

    def feed(self, data: bytes) -> None:
        """Hand bytes of the program to the adapter."""
        if self.open:
            self._bench.device.receive(data, self._bench.now_s())
            self.pump()

    def pump(self) -> None:
        """Deliver what has left the adapter by now and ask to be woken for more."""
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None
        if not self.open:
            return
        data = self._bench.device.take(self._bench.now_s())
        wake_s = self._bench.device.wake_s()
        if wake_s is not None:
            self._timer = self._bench.call_at(wake_s, self.pump)
        if data:
            self._deliver(data)

    def detach(self) -> None:
        """The program has gone."""
        self.open = False
        if self._timer is not None:
            self._timer.cancel()
        if self._bench.port is self:
            self._bench.port = None

    def drop(self) -> None:
        """The bench breaks the connection."""
        if self.open:
            self.detach()
            self._cut()

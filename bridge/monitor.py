"""The monitor: link, session and tick put together.

`run` polls a car and hands out a snapshot four times a second and at every change
that matters; because the decision is made anew at each tick, a hung read turns
stale on screen instead of freezing at GO.
"""

from __future__ import annotations

import asyncio
import contextlib
import itertools
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Protocol

from bridge.level.step.resume import resume
from bridge.level.thermometer import Thermometer
from bridge.link.clock import SuspendWatch, now_s, sleep
from bridge.link.poller import Opener, Poller
from bridge.link.ports.baud import BaudSearch
from bridge.service.log import circuits_of
from bridge.service.rounds import runs_dry
from bridge.session.session import advance, apply
from bridge.session.session_state import Session, begin
from bridge.session.taken_up import NEW, TakenUp
from bridge.snapshot import Snapshot
from bridge.thermal.lesson import NO_LESSONS, Lessons, car_key, lesson
from bridge.thermal.prior import Prior
from bridge.values.causes import Cause
from bridge.values.errors import PortError
from bridge.values.events import (
    ClockJump,
    Dropout,
    Event,
    LinkChange,
    PersonEvent,
)
from bridge.values.readings import LinkState, Reading
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.sheet import Role, Sheet
from bridge.values.trace_text import Sample

TICK_S = 0.25
NO_CAR_TICK_S = 1.0
"""Without a source nothing changes by itself but an open plug's time."""
NO_CAR = "no car is connected: the steps only"
KEPT_WITHIN_S = 0.5
"""What a person tells is shown once it is on the disk, or after so long."""
POLL_INTERVAL_S = 0.2
TOO_OLD_S = 0.5
"""A decision this old is not shown but made again."""
DECISIONS = 3
"""So often at most: a machine that takes half a second for each is beyond help."""
CLOSING_S = 4.0
"""The trouble codes are read a last time so long before a planned end."""
CLOSING_ROUNDS = 12
"""And not later than so many rounds before it: one request goes into each."""

Deliver = Callable[[Snapshot], None]


class Witness(Protocol):
    """Is told all that a monitor takes and decides, in its order and its own loop.

    From that the same session can be made again. It must not raise, and waits in
    ``keep`` only.
    """

    def began(
        self,
        *,
        now_s: float,
        interval_s: float,
        session: Session,
    ) -> None:
        """Take note of the loop's time that counts as 0, before anything else.

        ``session``: what it begins with; it may have been taken up again.
        """

    def took(self, event: Event) -> None:
        """Take note of an event, in the order the session took them."""

    def keep(self, *, within_s: float) -> None:
        """Return once all that was taken is on the disk; not later than that."""

    def looked(self, *, now_s: float, snapshot: Snapshot) -> None:
        """Take note of a decision and of the loop's time it was made at."""


class Monitor:
    """Watches one car through one sheet."""

    def __init__(
        self,
        *,
        sheet: Sheet,
        open_port: Opener | None,
        deliver: Deliver,
        interval_s: float = POLL_INTERVAL_S,
        baud: BaudSearch | None = None,
        witness: Witness | None = None,
        lessons: Lessons = NO_LESSONS,
        thermometer: Thermometer | None = None,
        taken_up: TakenUp = NEW,
        utc: Callable[[], float] = time.time,
    ) -> None:
        """``deliver`` is called in the loop's own thread with each snapshot.

        ``baud``: finds the speed of a port that has one; None: it is fixed.
        ``witness``: writes the job down; None: nobody does. ``taken_up``: a job that
        goes on. ``lessons``:
        what earlier jobs on such cars taught. ``open_port``: None where
        ``thermometer`` is the only source and the person types it in, or there is no
        car at all.
        """
        self._utc = utc
        self._taken_up = taken_up
        self._witness = witness
        self._interval_s = interval_s
        self._deliver = deliver
        self._thermometer = thermometer
        self._session = begin(
            sheet,
            interval_s=interval_s,
            lessons=lessons,
            thermometer=thermometer,
            told=taken_up.told,
        )
        self._no_car = open_port is None and not (thermometer and thermometer.alone)
        self._poller = None
        if open_port is not None:
            self._poller = Poller(
                open_port=open_port,
                sheet=sheet,
                emit=self._on,
                interval_s=interval_s,
                baud=baud,
            )
        self._closing_s = max(CLOSING_S, CLOSING_ROUNDS * interval_s)
        self._suspend = SuspendWatch()
        self._t0_s = 0.0
        self._last: Snapshot | None = None
        self._judged = False
        self._closing = False
        """Whether the codes are still to be read before the end."""

    async def run(self, *, for_s: float | None = None) -> None:
        """Watch until cancelled, or for ``for_s`` seconds of the loop's time.

        Raises:
            PortError: the port could not be opened the first time.
        """
        self._t0_s = now_s()
        self._session = self._goes_on(self._session)
        if self._witness is not None:
            self._witness.began(
                now_s=self._t0_s,
                interval_s=self._interval_s,
                session=self._session,
            )
        self._closing = for_s is not None and for_s > 3 * self._closing_s
        polling = asyncio.create_task(self._source())
        try:
            await self._tick(polling, for_s)
        finally:
            polling.cancel()
            with contextlib.suppress(asyncio.CancelledError, PortError):
                await polling

    def _goes_on(self, session: Session) -> Session:
        """Return the session with what the job was left with, on this loop's clock."""
        job = self._taken_up
        if job.step is None:
            return session
        away_s = self._utc() - job.left_utc_s
        return replace(
            session,
            step=resume(job.step, now_s=self._t0_s, away_s=away_s),
            judged_after=job.judged_after,
            carried=job.carried,
        )

    async def _source(self) -> None:
        """Poll the car; a thermometer's person is a source that is always there."""
        if self._poller is not None:
            await self._poller.run()
        detail, state = "no adapter: the temperature is typed in", LinkState.LIVE
        if self._no_car:
            detail, state = NO_CAR, LinkState.CONNECTING
        self._on(LinkChange(state=state, t_s=now_s(), detail=detail))
        while True:
            await sleep(3600.0)

    async def _tick(self, polling: asyncio.Task[None], for_s: float | None) -> None:
        next_s = now_s()
        while for_s is None or now_s() - self._t0_s < for_s:
            if polling.done():
                polling.result()  # raises what ended it
            gap_s = self._suspend.gap_s()
            if gap_s:
                self._on(ClockJump(t_s=now_s(), gap_s=gap_s))
            self._close(for_s)
            self._look_or_repeat()
            every_s = NO_CAR_TICK_S if self._no_car else TICK_S
            next_s = max(next_s + every_s, now_s())
            await sleep(next_s - now_s())

    def _close(self, for_s: float | None) -> None:
        """Read the codes a last time shortly before a planned end; once."""
        if for_s is None or now_s() - self._t0_s < for_s - self._closing_s:
            return
        if self._closing and self._session.link is LinkState.LIVE:
            self._closing = False
            self.read_codes()

    def read_codes(self) -> None:
        """Read the trouble codes once more; call it in the loop's own thread."""
        if self._poller is not None:
            self._poller.read_codes()

    @property
    def last(self) -> Snapshot | None:
        """The newest snapshot; None: there is none yet."""
        return self._last

    def tell(self, event: PersonEvent) -> Snapshot:
        """Take what the person tells, stamped now, and return what it makes.

        In the loop's own thread, or in any once the loop has ended: then at the time
        of the last look. It is on the disk before it is shown, unless the disk is
        slow or full.
        """
        at_s = self._now_s()
        event = replace(event, t_s=at_s)
        if isinstance(event, ServiceEvent):
            event = replace(event, at_utc_s=self._utc())
        self._on(event)
        if self._witness is not None:
            self._witness.keep(within_s=KEPT_WITHIN_S)
        return self._look(at_s)

    def _now_s(self) -> float:
        try:
            return now_s()
        except RuntimeError:  # no loop runs any more
            return self._t0_s if self._last is None else self._t0_s + self._last.t_s

    def _look_or_repeat(self) -> None:
        """Decide anew; without a car only where time alone can change anything."""
        if self._no_car and self._last and not self._session.step.plug_open:
            self._deliver(self._last)
            return
        self._look()

    def _on(self, event: Event) -> None:
        self._session = apply(self._session, event)
        if self._witness is not None:
            self._witness.took(event)
        if isinstance(event, LinkChange):
            self._look()
        if isinstance(event, Reading):
            self._note_dry_run(event)

    def _note_dry_run(self, reading: Reading) -> None:
        """Put it into the service's log where the engine turns with the fluid out."""
        if reading.role is not Role.ENGINE_SPEED or not self._session.told:
            return
        circuits = circuits_of(self._session.sheet, self._session.told)
        if any(runs_dry(c.log, c.sheet.service, reading.value) for c in circuits):
            seen = ServiceEvent(
                kind=ServiceKind.RAN_DRY, t_s=reading.t_s, at_utc_s=self._utc()
            )
            self._on(seen)

    def _look(self, at_s: float | None = None) -> Snapshot:
        """Decide anew, and show it; ``at_s`` is now unless it is given."""
        looked_s, self._session, snapshot = self._decided(at_s)
        if self._witness is not None:
            self._witness.looked(now_s=looked_s, snapshot=snapshot)
        self._last = snapshot
        self._deliver(snapshot)
        judged = snapshot.step is not None and snapshot.step.judgement is not None
        if judged and not self._judged:
            self.read_codes()  # what the car holds against itself after the job
        self._judged = judged
        return snapshot

    def _decided(self, at_s: float | None) -> tuple[float, Session, Snapshot]:
        """Return a decision and its time; one the machine slept over is made anew."""
        for left in reversed(range(DECISIONS)):
            looked_s = now_s() if at_s is None else at_s
            session, snapshot = advance(self._session, now_s=looked_s, t0_s=self._t0_s)
            if left == 0 or at_s is not None or not self._slept_since(looked_s):
                return looked_s, session, snapshot
        raise AssertionError("at least one decision is made")

    def _slept_since(self, looked_s: float) -> bool:
        """Tell whether the machine slept or stood still while it decided."""
        gap_s = self._suspend.gap_s()
        if gap_s:
            self._on(ClockJump(t_s=now_s(), gap_s=gap_s))
        return bool(gap_s) or now_s() - looked_s > TOO_OLD_S

    @property
    def ever_live(self) -> bool:
        """Whether the car was reached at all."""
        return Role.FLUID_TEMPERATURE in self._session.readings

    @property
    def why_not(self) -> tuple[Cause | None, str]:
        """Why nothing is read, and what was heard, as the link said last."""
        return self._session.link_cause, self._session.link_detail

    @property
    def taught(self) -> tuple[Prior | None, str | None]:
        """What this job taught so far, and the car's key if its number is known."""
        vin = self._session.vin
        return lesson(self._session.track), car_key(vin.text) if vin else None


def replay(
    samples: tuple[Sample, ...], sheet: Sheet, *, assumed: dict[Role, float]
) -> Iterator[Snapshot]:
    """Yield one snapshot for each sample of a recorded trace, at its own time.

    ``assumed``: values taken for granted where the trace has no column for them.
    """
    session = begin(sheet, interval_s=spacing_s(samples), assumed=assumed)
    session = apply(session, LinkChange(state=LinkState.LIVE, t_s=samples[0].time_s))
    for sample in samples:
        for event in events_of(sample):
            session = apply(session, event)
        session, snapshot = advance(session, now_s=sample.time_s)
        yield snapshot


def spacing_s(samples: tuple[Sample, ...]) -> float:
    """Return the usual seconds between two samples of a trace (the median)."""
    gaps = sorted(b.time_s - a.time_s for a, b in itertools.pairwise(samples))
    return gaps[len(gaps) // 2] if gaps else POLL_INTERVAL_S


def events_of(sample: Sample) -> list[Event]:
    """Return what a sample tells, as the events a live car would have brought."""
    values = {
        Role.ENGINE_SPEED: sample.engine_rpm,
        Role.VEHICLE_SPEED: sample.speed_kmh,
        Role.COOLANT_TEMPERATURE: sample.coolant_c,
        Role.AMBIENT_TEMPERATURE: sample.ambient_c,
        Role.FLUID_TEMPERATURE: sample.temp_c,
    }
    events: list[Event] = [
        Reading(role=role, value=value, t_s=sample.time_s)
        for role, value in values.items()
        if value is not None
    ]
    if sample.temp_c is None:
        events.append(Dropout(t_s=sample.time_s))
    return events

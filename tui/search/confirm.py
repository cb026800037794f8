"""`sumpgate find --confirm SHEET`: a thermometer against a signal that was found."""

from __future__ import annotations

import asyncio
import time
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.level.found_signal import spell, why_not, why_not_one
from bridge.level.thermometer import ADVICE
from bridge.link.ports.progress import telling
from bridge.search.confirming import checkpoint, place_of, since_doubt, value_at
from bridge.search.ledger import Ledger
from bridge.search.watched import Typed
from bridge.units import QuantityError, said_accuracy, said_temperature
from bridge.values.errors import UsageError
from bridge.values.found import Checkpoint, Found
from bridge.values.sheet import (
    Role,
    Signal,
)
from tui.cli.flags.reach import reach
from tui.cli.flags.wire_log_flag import wire_log
from tui.headless.typed_lines import TypedLines
from tui.search.search_show import Show
from tui.search.search_write import keep_checks, when
from tui.settings import load_settings
from tui.words import search_wording

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable

    from bridge.link.ports.port import Port

ROUND_S = 2.0
SAY_EVERY_S = 10.0


def confirm(args: Namespace, show: Show) -> int:
    """Read signal and coolant, take typed readings, write what they confirm."""
    try:
        accuracy = said_accuracy(args.accuracy)
    except QuantityError as problem:
        raise UsageError(f"--accuracy {problem}") from None
    path, signal, found = _found_in(args.confirm)
    adapter = reach(args, load_settings())
    task = _Confirm(args, show, path, signal, found, accuracy)
    with wire_log(args) as wrap:
        try:
            asyncio.run(task.run(wrap(adapter.open)))
        except KeyboardInterrupt:
            show.say(search_wording.STOPPED.format(path))
            return 130
    return 0


def _found_in(name: str) -> tuple[Path, Signal, Found]:
    from bridge.sheets import find_sheet, load

    sheet, path = load(name), find_sheet(name)
    signal = sheet.signal(Role.FLUID_TEMPERATURE)
    if signal is None or sheet.found is None:
        raise UsageError(
            f"{name} has no signal from a search, so there is nothing to confirm: let "
            "sumpgate find --write put one there"
        )
    if sheet.found.signal != spell(signal):
        raise UsageError(
            f"the fluid signal in {name} is another one than [found] names: search "
            "again, or take the change back"
        )
    return path, signal, sheet.found


class _Confirm:
    """One run of comparisons."""

    def __init__(
        self,
        args: Namespace,
        show: Show,
        path: Path,
        signal: Signal,
        found: Found,
        accuracy_c: float,
    ) -> None:
        self._args, self._show, self._path = args, show, path
        self._signal, self._found, self._accuracy_c = signal, found, accuracy_c
        self._checks = found.checkpoints
        self._ledger = Ledger()
        self._waiting: list[float] = []
        self._done = False

    async def run(self, opener: Callable[[], Awaitable[Port]]) -> None:
        """Compare until it is confirmed, or the person ends it."""
        from bridge.search.scan.listening import Listen
        from bridge.search.scan.search_link import FindLink

        for line in (
            *ADVICE.values(),
            search_wording.TYPE_READINGS,
        ):
            self._show.say(line)
        with telling(self._show.say):
            port = await opener()
        link = FindLink(
            port, per_s=self._args.pace, protocol=self._args.protocol,
            session=False,
        )  # fmt: skip
        address, _ = place_of(self._signal)
        self._ledger.answered[address] = bytes(self._signal.data_length)
        try:
            await link.connect()
            listen = Listen(
                link, self._ledger, lambda _: None, stamp=time.time, round_s=ROUND_S
            )
            typed, said_s = TypedLines(), 0.0
            while not self._done:
                await listen.round((address,))
                for line in typed.take():
                    self._line(line)
                if time.monotonic() - said_s > SAY_EVERY_S:
                    said_s = time.monotonic()
                    self._stand()
        finally:
            await link.aclose()

    def _stand(self) -> None:
        address, place = place_of(self._signal)
        series = self._ledger.watch.series.get(address)
        value = value_at(series, place, time.time()) if series else None
        shown = "no answer" if value is None else f"{value:.1f} °C"
        coolant = self._ledger.watch.coolant
        beside = f", coolant {coolant[-1][1]:.0f} °C" if coolant else ""
        why = why_not(self._checks) or "confirmed"
        self._show.say(f"signal {shown}{beside}; {why}")

    def _line(self, line: str) -> None:
        if line.lower() in ("done", "q", "quit", "end"):
            self._done = True
            return
        try:
            temp_c = said_temperature(line, bare="degC")
        except QuantityError as problem:
            self._show.say(str(problem))
            return
        check = self._check(temp_c)
        if check is None:
            self._show.say(search_wording.NO_ANSWER)
            return
        self._take(check)

    def _check(self, temp_c: float) -> Checkpoint | None:
        address, place = place_of(self._signal)
        typed = Typed(time.time(), temp_c, self._accuracy_c)
        return checkpoint(self._ledger.watch, address, place, typed, when)

    def _take(self, check: Checkpoint) -> None:
        """Keep an agreement; a contradiction takes back all that was before."""
        problem = why_not_one(check)
        self._checks = since_doubt((*self._checks, check))
        keep_checks(self._path, self._checks, self._found)
        if problem:
            self._show.say(search_wording.CONTRADICTION.format(problem))
        why = why_not(self._checks)
        self._show.put(
            {
                "stage": "confirm",
                "thermometer_c": check.thermometer_c,
                "signal_c": check.signal_c,
                "coolant_c": check.coolant_c,
                "agrees": not problem,
                "confirmed": not why,
                "why": why or None,
            }
        )
        if not why:
            self._show.say(search_wording.CONFIRMED_IN.format(self._path))
            self._done = True
        elif not problem:
            self._show.say(f"Agrees. Still needed: {why}.")

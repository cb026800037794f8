"""`sumpgate demo`: the same program on a simulated car, in one process."""

from __future__ import annotations

import asyncio
import math
from argparse import Namespace
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.core.errors import LinkLost, PortError, UsageError
from bridge.core.model import Role, Sheet
from tui.listeners import shared
from tui.monitor_feed import Deliver, Hands, MonitorFeed, Watch
from tui.phone.flag import Outlets, outlets
from tui.record_flag import Notes, heard, recording
from tui.settings import Settings, load_settings
from tui.wire_log_flag import wire_log

if TYPE_CHECKING:
    from bridge.job.record import Recorder
    from bridge.wire.wirelog import Wrap
    from simulators.bench import Bench

DEFAULT_SHEET = "scar-eight-speed"
TRACE_SHEET = "weir-trace-bench"
AFTER_TRACE_S = 1.0
"""The demo goes on for so long after a trace's last row."""
UNPLUGGED_RETRY_S = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Demo:
    """What to simulate, and through which sheet to watch it."""

    sheet: Sheet
    args: Namespace
    wrap: Wrap
    """Puts the wire log, if one is wanted, around the way to open the port."""
    witness: Recorder | None = None
    """Writes the job down; None: nobody does."""

    hands: Hands = field(default_factory=Hands)
    """Where the screen's marks go."""

    def loop(self) -> asyncio.AbstractEventLoop:
        """Return an event loop in simulated time."""
        from simulators.paced_loop import PacedLoop

        return PacedLoop(self.args.speed)

    async def watch(self, deliver: Deliver) -> None:
        """Run bench and monitor on the running loop until the demo ends."""
        from bridge.monitor import Monitor
        from bridge.wire.port import Port
        from simulators.pipe import BenchPipe

        bench, length_s = build_bench(self.args, self.sheet)

        async def opener() -> Port:
            try:
                return BenchPipe(bench)
            except LinkLost as lost:
                raise PortError(str(lost)) from None

        monitor = Monitor(
            sheet=self.sheet,
            open_port=heard(self.wrap(opener), self.witness),
            deliver=deliver,
            witness=self.witness,
        )
        self.hands.monitor = monitor
        self.hands.lever = lambda place: setattr(bench.car, "selector", place)
        self.hands.engine = lambda on: setattr(bench.car, "engine_on", on)
        ends = [s for s in (self.args.for_s, length_s) if s is not None]
        try:
            await monitor.run(for_s=min(ends, default=math.inf))
        finally:
            bench.close()


def build_bench(args: Namespace, sheet: Sheet) -> tuple[Bench, float | None]:
    """Return the bench the flags ask for, and how long its trace lasts or None."""
    from simulators.scenes import make_bench
    from simulators.trace import read_trace

    trace = read_trace(args.trace) if args.trace else None
    bench = make_bench(args.scene, sheet, seed=args.seed, trace=trace)
    if getattr(args, "service", False):
        bench.car.engine_on = False  # the person starts it when the fluid is in
    plan_faults(bench, args)
    return bench, trace.length_s + AFTER_TRACE_S if trace else None


def plan_faults(bench: Bench, args: Namespace) -> None:
    """Have the bench misbehave as the file of ``--faults`` says, if there is one.

    Raises:
        UsageError: the file cannot be read, or makes no sense.
    """
    from simulators.schedule import parse_scene_file

    if not args.faults:
        return
    try:
        text = Path(args.faults).read_text("utf-8")
    except (OSError, UnicodeDecodeError) as problem:
        raise UsageError(
            f"cannot read {args.faults} ({problem}): give a TOML file of [[fault]]s"
        ) from None
    bench.plan(parse_scene_file(text, args.faults))


def run(args: Namespace) -> int:
    """Run the demo on screen or as JSON lines."""
    sheet = load_demo_sheet(args)
    build_bench(args, sheet)  # whatever is wrong with the flags is said at once
    if not args.json:
        from tui.run_screen import need_terminal

        need_terminal()
    settings = load_settings()
    with (
        outlets(args, sheet, settings, _source(args)) as more,
        wire_log(args) as wrap,
        recording(args, sheet, sheet.origin, _source(args), live=False) as record,
    ):
        witness, notes = record
        demo = Demo(
            sheet=sheet, args=args, wrap=wrap, witness=witness, hands=more.hands
        )
        watch = shared(demo.watch, more.listeners)
        if args.json:
            from tui.headless import run_json

            return run_json(watch, loop_factory=demo.loop)
        return _screen(demo, watch, settings, notes, more)


def _source(args: Namespace) -> str:
    return f"bench, {args.trace or args.scene.replace('-', ' ')}"


def load_demo_sheet(args: Namespace) -> Sheet:
    """Return the sheet the flags name, or the one that suits the demonstration.

    Raises:
        UsageError: the sheet has no fluid temperature to simulate.
    """
    from bridge.profile import load

    sheet = load(args.profile or (TRACE_SHEET if args.trace else DEFAULT_SHEET))
    if sheet.signal(Role.FLUID_TEMPERATURE) is None:
        raise UsageError(
            f"sheet {sheet.name!r} has no fluid-temperature signal, so there is "
            "nothing to demonstrate: name another with --profile"
        )
    return sheet


def _screen(
    demo: Demo, watch: Watch, settings: Settings, notes: Notes, more: Outlets
) -> int:
    from tui.run_screen import run_on_screen
    from tui.service.opening import desk_for

    ended = "the trace has ended" if demo.args.trace else "the time asked for is over"
    feed = MonitorFeed(watch, loop_factory=demo.loop, ended=ended, hands=demo.hands)
    return run_on_screen(
        sheet=demo.sheet,
        feed=feed,
        settings=settings,
        source=_source(demo.args),
        notes=notes,
        recorder=demo.witness,
        phone=more.phone,
        desk=desk_for(demo.sheet, demo.witness, who=demo.args.who, remember=False),
        bench=feed,
        at_service=demo.args.service,
    )

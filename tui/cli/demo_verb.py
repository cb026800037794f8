"""`sumpgate demo`: the same program on a simulated car, in one process."""

from __future__ import annotations

import asyncio
import math
from argparse import Namespace
from dataclasses import field
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.plain_file import SMALL_BYTES, read_plain
from bridge.session.taken_up import NEW, TakenUp
from bridge.values.errors import UsageError
from bridge.values.frozen import frozen
from bridge.values.sheet import Role, Sheet
from tui.cli.flags.phone_flags import Outlets, outlets
from tui.cli.flags.record_flags import Notes, heard, recording
from tui.cli.flags.sheet_flags import with_level_step
from tui.cli.flags.wire_log_flag import wire_log
from tui.feeds.listeners import shared
from tui.feeds.monitor_feed import Deliver, MonitorCommands, MonitorFeed, Watch
from tui.headless.no_screen import lines_for, screenless
from tui.headless.typed_lines import listening
from tui.service.log_editor import editor_for
from tui.settings import Settings, load_settings
from tui.words.screen import screen_words

if TYPE_CHECKING:
    from bridge.jobfile.recorder import Recorder
    from bridge.link.ports.wire_log import Wrap
    from simulators.serve.bench import Bench
    from tui.headless.no_screen import Lines

DEFAULT_SHEET = "scar-eight-speed"
TRACE_SHEET = "weir-trace-bench"
USUAL_PLACES = ("P", "R", "N", "D")
AFTER_TRACE_S = 1.0
"""The demo goes on for so long after a trace's last row."""


@frozen
class Demo:
    """What to simulate, and through which sheet to watch it."""

    sheet: Sheet
    args: Namespace
    wrap: Wrap
    """Puts the wire log, if one is wanted, around the way to open the port."""
    witness: Recorder | None = None
    """Writes the job down; None: nobody does."""

    job: TakenUp = NEW
    """The job so far."""
    commands: MonitorCommands = field(default_factory=MonitorCommands)
    """Where the screen's marks go."""
    lines: Lines | None = None
    """What stands in the screen's place; None: there is one."""

    def loop(self) -> asyncio.AbstractEventLoop:
        """Return an event loop in simulated time."""
        from simulators.serve.paced_loop import PacedLoop

        return PacedLoop(self.args.speed)

    async def watch(self, deliver: Deliver) -> None:
        """Run bench and monitor on the running loop until the demo ends."""
        from bridge.link.ports.port import Port
        from bridge.monitor import Monitor
        from simulators.serve.pipe import BenchPipe

        bench, length_s = build_bench(self.args, self.sheet)

        async def opener() -> Port:
            return BenchPipe(bench)

        monitor = Monitor(
            sheet=self.sheet,
            open_port=heard(self.wrap(opener), self.witness),
            deliver=deliver,
            witness=self.witness,
            taken_up=self.job,
        )
        self.commands.monitor = monitor
        self.commands.places = _places(self.sheet)
        self.commands.lever = lambda place: setattr(bench.car, "selector", place)
        self.commands.engine = lambda on: setattr(bench.car, "engine_on", on)
        ends = [s for s in (self.args.for_s, length_s) if s is not None]
        typing = listening(self.lines.hear) if self.lines else None
        try:
            await monitor.run(for_s=min(ends, default=math.inf))
        finally:
            if typing is not None:
                typing.cancel()
            bench.close()


def build_bench(args: Namespace, sheet: Sheet) -> tuple[Bench, float | None]:
    """Return the bench the flags ask for, and how long its trace lasts or None."""
    from simulators.car.curve import read_trace
    from simulators.car.scenes import make_bench

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
    from simulators.faults.fault_schedule import parse_scene_file

    if not args.faults:
        return
    what = "a TOML file of [[fault]]s"
    text = read_plain(Path(args.faults), what, most_bytes=SMALL_BYTES)
    bench.plan(parse_scene_file(text, args.faults))


def run(args: Namespace) -> int:
    """Run the demo on screen or as JSON lines."""
    sheet = load_demo_sheet(args)
    build_bench(args, sheet)  # whatever is wrong with the flags is said at once
    if not screenless(args):
        from tui.live.run_screen import need_terminal

        need_terminal()
    settings = load_settings()
    with (
        outlets(args, sheet, settings, _source(args)) as more,
        wire_log(args) as wrap,
        recording(args, sheet, sheet.origin, _source(args), live=False) as record,
    ):
        demo = Demo(
            sheet=sheet,
            args=args,
            wrap=wrap,
            witness=record.recorder,
            job=record.job,
            commands=more.commands,
            lines=lines_for(args, sheet, settings, more.commands, record.recorder),
        )
        watch = shared(demo.watch, more.listeners)
        if demo.lines is not None:
            from tui.headless.run_lines import run_lines

            return run_lines(
                watch, demo.lines, more.commands, loop_factory=demo.loop, every_row=True
            )
        return _screen(demo, watch, settings, record.notes, more)


def _places(sheet: Sheet) -> tuple[str, ...]:
    """Return where the simulated car's lever can be put, as the sheet knows it."""
    signal, exercise = sheet.signal(Role.SELECTOR), sheet.service.exercise
    labels = [label for _, label in signal.labels] if signal else []
    named = [*labels, *(exercise.positions if exercise else ())]
    return tuple(dict.fromkeys(place.upper() for place in named)) or USUAL_PLACES


def _source(args: Namespace) -> str:
    return f"bench, {args.trace or args.scene.replace('-', ' ')}"


def load_demo_sheet(args: Namespace) -> Sheet:
    """Return the sheet the flags name, or the one that suits the demonstration.

    Raises:
        UsageError: the sheet has no fluid temperature to simulate.
    """
    from bridge.sheets import load

    name = args.profile or (TRACE_SHEET if args.trace else DEFAULT_SHEET)
    sheet = with_level_step(load(name), name)
    if sheet.signal(Role.FLUID_TEMPERATURE) is None:
        raise UsageError(
            f"sheet {sheet.name!r} has no fluid-temperature signal, so there is "
            "nothing to demonstrate: name another with --profile"
        )
    return sheet


def _screen(
    demo: Demo, watch: Watch, settings: Settings, notes: Notes, more: Outlets
) -> int:
    from tui.live.run_screen import run_on_screen

    ended = "the trace has ended" if demo.args.trace else screen_words.TIME_OVER
    feed = MonitorFeed(
        watch, loop_factory=demo.loop, ended=ended, commands=demo.commands
    )
    return run_on_screen(
        sheet=demo.sheet,
        feed=feed,
        settings=settings,
        source=_source(demo.args),
        notes=notes,
        recorder=demo.witness,
        phone=more.phone,
        editor=editor_for(demo.sheet, feed.ask, told=demo.job.told, who=demo.args.who),
        bench=feed,
        at_service=demo.args.service,
    )

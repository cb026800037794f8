"""`sumpgate bench`: the simulated adapter alone, for any OBD program."""

from __future__ import annotations

import asyncio
from argparse import Namespace

from bridge.values.sheet import Sheet
from simulators.serve.bench import Bench

INTERRUPTED = 130


def run(args: Namespace) -> int:
    """Serve the bench until interrupted; print where it can be reached."""
    from simulators.serve.served import run_bench

    bench = _bench(args)

    async def serve() -> None:
        await run_bench(
            bench, tcp=args.tcp, pty=args.pty, control=args.control, say=_say
        )

    try:
        asyncio.run(serve())
    except KeyboardInterrupt:
        return INTERRUPTED
    return 0


def _bench(args: Namespace) -> Bench:
    """Return the bench the flags describe."""
    from simulators.car.curve import read_trace
    from simulators.car.hidden import hidden_bench
    from simulators.car.scenes import make_bench
    from simulators.characters.all_characters import chosen, settle_in
    from tui.cli.demo_verb import load_demo_sheet, plan_faults

    if args.from_log:
        from simulators.serve.playback import read_playback

        return read_playback(args.from_log)
    if args.hidden is not None:
        bench, _ = hidden_bench(args.hidden, scale=args.speed, baud=args.baud)
        plan_faults(bench, args)
        return bench
    sheet: Sheet = load_demo_sheet(args)
    bench = make_bench(
        args.scene,
        sheet,
        seed=args.seed,
        trace=read_trace(args.trace) if args.trace else None,
        baud=args.baud,
        scale=args.speed,
    )
    plan_faults(bench, args)
    if args.adapter:
        settle_in(bench, chosen(args.adapter, bench.car.protocol))
    return bench


def _say(line: str) -> None:
    print(line, flush=True)

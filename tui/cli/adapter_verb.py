"""`sumpgate adapter`: is this adapter fit for a level check?"""

from __future__ import annotations

import asyncio
import json
import math
import sys
from argparse import Namespace
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from bridge.values.causes import Cause
from tui.cli.flags.reach import Reach, reach
from tui.cli.flags.wire_log_flag import wire_log
from tui.settings import load_settings
from tui.words import link_wording

if TYPE_CHECKING:
    from bridge.link.health import Health, Traffic, Trouble
    from bridge.link.ports.wire_log import Wrap
    from bridge.values.readings import TroubleCodes

FIT_CODE, NOT_FIT_CODE = 0, 3
_WIDTH = 15
PROTOCOLS = {
    "1": "SAE J1850 PWM, 41.6 kbit/s",
    "2": "SAE J1850 VPW, 10.4 kbit/s",
    "3": "ISO 9141-2, 10.4 kbit/s",
    "4": "KWP (ISO 14230-4), slow start",
    "5": "KWP (ISO 14230-4), fast start",
    "6": "CAN (ISO 15765-4), 11-bit ids, 500 kbit/s",
    "7": "CAN (ISO 15765-4), 29-bit ids, 500 kbit/s",
    "8": "CAN (ISO 15765-4), 11-bit ids, 250 kbit/s",
    "9": "CAN (ISO 15765-4), 29-bit ids, 250 kbit/s",
}
"""The adapter's protocol digits in words (its data sheet)."""
_LACKS = {
    "ATL0": "leave out line feeds",
    "ATS0": "leave out blanks, so every answer takes longer",
    "ATCAF1": "put CAN answers into order by itself",
    "ATAT1": "learn how quickly the units answer",
    "ATST32": "be told how long to wait for an answer",
    "ATCRA": "be told whose answers to let through (needed for unusual unit ids)",
}


def run(args: Namespace) -> int:
    """Check the adapter and print what was found and one verdict."""
    from bridge.link.health import Fitness, judge

    adapter = reach(args, load_settings())
    with wire_log(args) as wrap:
        health = asyncio.run(_examined(adapter, args, wrap))
    adapter.remember()
    if args.json:
        print(json.dumps(as_dict(health, adapter), ensure_ascii=False, allow_nan=False))
    else:
        for line in report(health, adapter):
            print(line)
    return FIT_CODE if judge(health)[0] is Fitness.FIT else NOT_FIT_CODE


async def _examined(adapter: Reach, args: Namespace, wrap: Wrap) -> Health:
    from bridge.link.examine import examine
    from bridge.link.ports.progress import telling
    from bridge.sheets import load

    sheet = load(args.profile) if args.profile else None
    _say(f"opening {adapter.port}")
    with telling(_say):
        port = await wrap(adapter.open)()
    return await examine(
        port,
        protocol=args.protocol,
        seconds=args.seconds,
        search=adapter.search,
        say=_say,
        sheet=sheet,
    )


def _say(what: str) -> None:
    print(f"sumpgate: {what}", file=sys.stderr, flush=True)


def sentence(health: Health) -> str:
    """Return the verdict as one plain sentence."""
    from bridge.link.health import Fitness, judge

    fitness, why = judge(health)
    match fitness:
        case Fitness.FIT if health.untold:
            untold = link_wording.sentence(Cause.ENGINE_UNTOLD)
            return f"Fit for a level check with your own eyes on the engine: {untold}."
        case Fitness.FIT:
            return "Fit for a level check."
        case Fitness.UNFIT:
            return f"Not fit for a level check: {_words(why)}."
        case Fitness.UNKNOWN:
            return f"Not known: {_words(why)}."


def _words(why: str | Trouble | None) -> str:
    """Return a complaint of the check in words; '' for none."""
    if why is None or isinstance(why, str):
        return why or ""
    return link_wording.sentence(why.cause, why.heard)


def report(health: Health, adapter: Reach) -> Iterator[str]:
    """Yield the lines for a person; the last one is the verdict."""
    rows = [
        ("Port", _port(health, adapter)),
        ("Chip says", ", ".join(t for t in (health.chip, health.device) if t)),
        ("", copy_note(health)),
        ("Voltage", _voltage(health)),
        *_car_rows(health),
    ]
    for name, text in rows:
        if name or text:
            yield f"{name:{_WIDTH}} {text or 'not told'}"
    yield sentence(health)


def _car_rows(health: Health) -> Iterator[tuple[str, str]]:
    """Yield what only a car with its ignition on can show."""
    cannot = "; ".join(_cannot(health))
    if not health.units:
        yield "Control units", _words(health.no_units) or "not asked"
        yield "Cannot", cannot or "nothing found missing"
        return
    yield "Protocol", PROTOCOLS.get(health.protocol, f"number {health.protocol}")
    name = "Control units"
    for unit, pids in sorted(health.units.items()):
        shown = " ".join(f"{pid:02X}" for pid in sorted(pids) if pid % 0x20)
        engine = " (engine)" if unit == health.engine else ""
        yield name, f"{unit:X}{engine}: PIDs {shown or 'none'}"
        name = ""
    if health.traffic is not None:
        yield "Round trip", _round_trip(health.traffic)
        yield "Readings", _readings(health.traffic)
        yield "Answers", _answers(health.traffic)
    yield "Cannot", cannot or "nothing found missing"
    yield "Trouble codes", _codes(health.codes)


def _port(health: Health, adapter: Reach) -> str:
    text = adapter.port
    if adapter.description:
        text += f" ({adapter.description})"
    return f"{text} at {health.speed} baud" if health.speed else text


def copy_note(health: Health) -> str:
    """Return what a version text gives away, or ''."""
    from bridge.link.health import COPY_VERSIONS

    found = COPY_VERSIONS.search(health.chip)
    if found is None:
        return ""
    return (
        f"note: the chip's maker never released a {found[0]}: this is a copy, "
        "which may still do"
    )


def _voltage(health: Health) -> str:
    places = ((health.adapter_v, "adapter"), (health.module_v, "engine unit"))
    return ", ".join(f"{v:.1f} V at the {at}" for v, at in places if v is not None)


def _cannot(health: Health) -> Iterator[str]:
    for command in health.lacking:
        yield _LACKS.get(command, f"take {command}")
    if health.count_digit is False:
        yield "be told how many answers to wait for, so it waits longer"


def _round_trip(traffic: Traffic) -> str:
    median, most = traffic.round_trip_s(0.5), traffic.round_trip_s(0.95)
    if median is None or most is None:
        return "not measured"
    return f"{median * 1000:.0f} ms median, {most * 1000:.0f} ms for 95 in 100"


def _readings(traffic: Traffic) -> str:
    return (
        f"{traffic.per_second:.1f} a second, longest wait {traffic.longest_gap_s:.2f} s"
    )


def _answers(traffic: Traffic) -> str:
    parts = [f"{traffic.answered} of {traffic.asked} questions answered"]
    if traffic.useless:
        heard = traffic.complaint.heard if traffic.complaint else ""
        parts.append(f"{traffic.useless} without use ({heard})")
    if traffic.changed:
        parts.append(f"{traffic.changed} false")
    if traffic.silent:
        parts.append(f"silent or restarted {traffic.silent} times")
    return ", ".join(parts)


def _codes(codes: TroubleCodes | None) -> str:
    if codes is None:
        return ""
    lists = (
        ("stored", codes.stored),
        ("pending", codes.pending),
        ("permanent", codes.permanent),
    )
    parts = [f"{name} {_listed(found)}" for name, found in lists]
    lamp = {True: "on", False: "off", None: "not told"}[codes.mil]
    return "; ".join([*parts, f"warning lamp {lamp}"])


def _listed(codes: tuple[str, ...] | None) -> str:
    if codes is None:
        return "not told"
    return " ".join(codes) or "none"


def as_dict(health: Health, adapter: Reach) -> dict[str, Any]:
    """Return everything found under documented keys; null means 'not told'."""
    from bridge.link.health import judge
    from tui.headless.json_lines import codes_as_dict

    fitness, why = judge(health)
    return {
        "port": adapter.port,
        "description": adapter.description or None,
        "baud": health.speed,
        "chip": health.chip or None,
        "device": health.device or None,
        "note": copy_note(health) or None,
        "adapter_v": health.adapter_v,
        "module_v": health.module_v,
        "protocol": health.protocol or None,
        "protocol_words": PROTOCOLS.get(health.protocol),
        "units": {f"{u:X}": sorted(p) for u, p in sorted(health.units.items())},
        "no_units": _words(health.no_units) or None,
        "untold": [role.value for role in health.untold],
        "count_digit": health.count_digit,
        "cannot": list(_cannot(health)),
        "traffic": None if health.traffic is None else _traffic(health.traffic),
        "codes": codes_as_dict(health.codes),
        "verdict": fitness.value,
        "why": _words(why) or None,
        "cause": _cause(health),
        "sentence": sentence(health),
    }


def _cause(health: Health) -> str | None:
    """Return the code of what keeps the adapter from being fit without more."""
    from bridge.link.health import Trouble, judge

    why = judge(health)[1]
    if isinstance(why, Trouble):
        return why.cause.value
    return Cause.ENGINE_UNTOLD.value if health.untold else None


def _traffic(traffic: Traffic) -> dict[str, Any]:
    return {
        "seconds": round(traffic.seconds, 3),
        "readings_per_s": round(traffic.per_second, 2),
        "longest_gap_s": round(traffic.longest_gap_s, 3),
        "round_trip_ms": {
            "median": _milliseconds(traffic.round_trip_s(0.5)),
            "p95": _milliseconds(traffic.round_trip_s(0.95)),
        },
        "asked": traffic.asked,
        "answered": traffic.answered,
        "useless": traffic.useless,
        "complaint": traffic.complaint and traffic.complaint.heard,
        "false": traffic.changed,
        "silent": traffic.silent,
    }


def _milliseconds(seconds: float | None) -> float | None:
    if seconds is None or not math.isfinite(seconds):
        return None
    return round(seconds * 1000.0, 1)

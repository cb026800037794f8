"""Turning the knobs of a bench that runs: one line in, one line out."""

from __future__ import annotations

import asyncio
import json
import shlex
from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING

from bridge.values.errors import PortError, SumpgateError, UsageError
from simulators.faults.all_faults import FAULTS, options_of

if TYPE_CHECKING:
    from simulators.serve.bench import Bench

Command = Callable[["Bench", Sequence[str]], str]
_LONGEST_LINE = 1000
HELP = (
    "fault NAME on|off [option=value ...] | engine on|off | ignition on|off | "
    "speed KMH | selector POSITION | unplug [SECONDS] | list | about NAME | state | "
    "help"
)


def obey(bench: Bench, line: str) -> str:
    """Carry out one line; return 'ok ...' or 'error: ...' with a remedy."""
    try:
        words = shlex.split(line)
        if not words:
            return "ok"
        if words[0] not in _WORDS:
            raise UsageError(f"There is no command {words[0]!r}: try 'help'.")
        answer = _WORDS[words[0]](bench, words[1:])
    except SumpgateError as error:
        return f"error: {error}"
    except ValueError as error:
        return f"error: {line[:60]!r} cannot be read ({error}): try 'help'."
    return f"ok {answer}".rstrip()


def _fault(bench: Bench, words: Sequence[str]) -> str:
    if len(words) < 2:
        raise UsageError("Say which fault and how: fault NAME on, or fault NAME off.")
    options: dict[str, object] = {}
    for word in words[2:]:
        key, sign, value = word.partition("=")
        if not sign:
            raise UsageError(f"{word!r} is no option: write name=value.")
        options[key] = value
    bench.fault(words[0], _on(words[1:2]), **options)
    return ""


def _on(words: Sequence[str]) -> bool:
    if len(words) != 1 or words[0] not in ("on", "off"):
        raise UsageError("Say on or off.")
    return words[0] == "on"


def _one(words: Sequence[str], what: str) -> str:
    if len(words) != 1:
        raise UsageError(f"Say {what}.")
    return words[0]


def _set(attribute: str, read: Callable[[Sequence[str]], object]) -> Command:
    """Return the command that sets an attribute of the car."""

    def command(bench: Bench, words: Sequence[str]) -> str:
        setattr(bench.car, attribute, read(words))
        return ""

    return command


def _ignition(bench: Bench, words: Sequence[str]) -> str:
    bench.fault("ignition-off", not _on(words))
    return ""


def _unplug(bench: Bench, words: Sequence[str]) -> str:
    bench.unplug(float(words[0]) if words else 0.0)
    return ""


def _list(bench: Bench, _words: Sequence[str]) -> str:
    return ", ".join(
        f"{name} (on)" if name in bench.active else name for name in FAULTS
    )


def _about(_bench: Bench, words: Sequence[str]) -> str:
    name = _one(words, "which fault: about NAME")
    if name not in FAULTS:
        raise UsageError(f"There is no fault {name!r}: 'list' names those there are.")
    options = ", ".join(f"{k}={v!r}" for k, v in options_of(FAULTS[name]).items())
    return f"{name}: {FAULTS[name].about} [{options}]"


def _state(bench: Bench, _words: Sequence[str]) -> str:
    truth = bench.truth()
    car = bench.car
    return json.dumps(
        {
            "t_s": round(bench.now_s(), 3),
            "car_s": round(car.now_s, 1),
            "fluid_c": truth.fluid_c if truth else car.fluid_c,
            "sensor_c": truth.sensor_c if truth else car.sensor_c,
            "engine_rpm": round(car.engine_rpm, 2),
            "speed_kmh": car.road_speed_kmh,
            "selector": car.selector,
            "faults": sorted(bench.active),
            "connected": bench.port is not None,
        }
    )


_WORDS: dict[str, Command] = {
    "fault": _fault,
    "engine": _set("engine_on", _on),
    "ignition": _ignition,
    "speed": _set("speed_kmh", lambda words: float(_one(words, "the speed in km/h"))),
    "selector": _set(
        "selector", lambda words: _one(words, "the position, such as P or D")
    ),
    "unplug": _unplug,
    "list": _list,
    "about": _about,
    "state": _state,
    "help": lambda *_: HELP,
}


async def serve_control(
    bench: Bench,
    host: str,
    port: int,
    *,
    on_ready: Callable[[str, int], None] | None = None,
) -> None:
    """Take control lines over TCP until cancelled; any number of programs.

    Port 0 picks a free one. Raises PortError if the port cannot be had.
    """
    bench.start()
    talk = partial(converse, bench)
    try:
        server = await asyncio.start_server(talk, host, port, limit=_LONGEST_LINE)
    except OSError as error:
        raise PortError(
            f"The control cannot listen on {host} port {port} "
            f"({error.strerror or error}): choose another port."
        ) from error
    async with server:
        if on_ready is not None:
            on_ready(*server.sockets[0].getsockname()[:2])
        await asyncio.get_running_loop().create_future()


async def converse(
    bench: Bench, reader: asyncio.StreamReader, writer: asyncio.StreamWriter
) -> None:
    """Answer the lines of one program until it hangs up."""
    try:
        while line := await reader.readline():
            answer = obey(bench, line.decode("utf-8", "replace").strip())
            writer.write(answer.encode() + b"\n")
            await writer.drain()
    except ValueError:
        writer.write(b"error: That line is too long.\n")
    except ConnectionError:
        pass
    except asyncio.CancelledError:
        writer.transport.abort()  # no time to wait for the last answer to go out
        raise
    finally:
        writer.close()

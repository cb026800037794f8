"""What is wrong with a port and what to do about it, from any exception."""

from __future__ import annotations

import errno
import os
import re
from pathlib import Path

from bridge.link.ports.holders import holders

_NOT_PERMITTED = (
    "not permitted; on Linux add yourself to the group that owns the port (often "
    "'dialout') and log in again"
)
_BUSY = "another program holds it; close that program"
_NO_ADAPTER = "the port is there but no adapter is behind it"
_REMEDIES: dict[int, str] = {
    errno.ENOENT: "no such port; plug the adapter in, or name another port",
    errno.ECONNREFUSED: "nothing listens there; start the adapter or check the number",
    errno.ETIMEDOUT: "no answer from there; check the address and the network",
    errno.EHOSTUNREACH: "no way to that address; join the adapter's network first",
    errno.EISDIR: "that is a folder, not a port",
    errno.ENOTTY: "that is not a serial port; name a device, COMn or "
    "socket://host:port",
    **dict.fromkeys((errno.ENXIO, errno.ENODEV, errno.EIO), _NO_ADAPTER),
    getattr(errno, "EHOSTDOWN", 112): "the adapter does not answer; is it plugged in, "
    "switched on and near enough?",
}
_NUMBER = re.compile(r"\[Errno (\d+)\]|(?:Error|port: )\((\d+),")
RFCOMM = "/dev/rfcomm"
"""How Linux names a Bluetooth adapter's port, once it is bound."""
UNBOUND = (
    "pair the adapter with this computer first; on Linux then name it with "
    "rfcomm://ADDRESS, or bind it ('sudo rfcomm bind 0 ADDRESS' makes /dev/rfcomm0)"
)


def not_permitted(name: str) -> str:
    """Return the remedy for a device we may not use, naming its group if known."""
    try:
        group = Path(name).group()
    except (OSError, KeyError, NotImplementedError):
        return _NOT_PERMITTED
    if group == "root":
        return "not permitted; the port belongs to the administrator alone"
    return (
        f"not permitted; add yourself to the group {group!r} "
        f"('sudo usermod -a -G {group} NAME') and log in again"
    )


def held(device: str) -> str:
    """Return the remedy for a device another program holds, naming it if known."""
    by = holders(device)
    if not by:
        return _BUSY
    named = " and ".join(map(str, by))
    if len(by) == 1:
        return f"{named} holds it; close that program"
    return f"{named} hold it; close those programs"


def remedy(problem: BaseException, name: str = "") -> str:
    """Return what is wrong with a port and what to do, from any exception."""
    number = _errno(problem)
    if number in (errno.EACCES, errno.EPERM):
        # Windows says so of a port that another program holds.
        return _BUSY if os.name == "nt" else not_permitted(name)
    if number in (errno.EBUSY, errno.EAGAIN):
        return held(name)
    if number == errno.ENOENT and name.startswith(RFCOMM):
        return f"there is no such Bluetooth port; {UNBOUND}"
    return _REMEDIES[number] if number in _REMEDIES else first_line(problem)


def _errno(problem: BaseException) -> int | None:
    """Return the system's error number, wherever pyserial has put it."""
    number = getattr(problem, "errno", None)
    cause = problem.__cause__ or problem.__context__
    if number is None and cause is not None:
        number = getattr(cause, "errno", None)
    if isinstance(number, int):
        return number
    found = _NUMBER.search(first_line(problem))
    return int(found[1] or found[2]) if found else None


def first_line(problem: BaseException) -> str:
    """Return the first line of what an exception says, or its name."""
    lines = str(problem).splitlines()
    return lines[0].strip() if lines else type(problem).__name__

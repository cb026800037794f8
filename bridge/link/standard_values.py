"""What a unit tells by standard PIDs: which it supports, and the value of one."""

from __future__ import annotations

from bridge.link.link import ElmLink
from bridge.link.schedule import request_id_of
from bridge.protocol.reply import Answer
from bridge.protocol.request import Request
from bridge.protocol.standard_pids import (
    STANDARD_PIDS,
    read_standard,
    standard_signal,
    supported_pids,
)
from bridge.values.readings import Reading
from bridge.values.sheet import Role

Ids = tuple[int | None, int]
"""Request id (None: everybody is asked) and reply id of a unit."""


def ids_of(reply_id: int, *, physical: bool) -> Ids:
    """Return a unit's ids; not ``physical``: it is asked by asking everybody."""
    return (request_id_of(reply_id) if physical else None), reply_id


def pid_request(pid: int, ids: Ids) -> Request:
    """Return the question for a PID; of 00, 20, 40...: which ones follow."""
    return Request(service=0x01, identifier=pid, request_id=ids[0], reply_id=ids[1])


async def all_supported(
    link: ElmLink, ids: Ids, bitmap: bytes, *, last: int = 0xE0
) -> frozenset[int]:
    """Return the supported PIDs; a bitmap, up to ``last``, is marked in the one before.

    ``bitmap``: the unit's answer to 0100.
    """
    pids = supported_pids(bitmap)
    for base in range(0x20, last + 1, 0x20):
        if base not in pids:
            break
        result = (await link.request(pid_request(base, ids), 4)).result
        if isinstance(result, Answer):
            pids |= supported_pids(result.payload)
    return pids


async def standard_value(
    link: ElmLink, role: Role, ids: Ids, pid: int | None = None
) -> float | None:
    """Return a standard value; None: the unit does not tell.

    ``pid``: another one, told in the same way as the role's own.
    """
    signal, usual = standard_signal(role), STANDARD_PIDS[role]
    request = pid_request(usual if pid is None else pid, ids)
    outcome = await link.request(request, signal.data_length)
    if not isinstance(outcome.result, Answer):
        return None
    payload = bytes((0x41, usual)) + outcome.result.data
    read = read_standard(signal, payload, t_s=outcome.t_s)
    return read.value if isinstance(read, Reading) else None

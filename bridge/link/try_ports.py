"""Trying ports in turn until an adapter answers; the car is asked nothing."""

from __future__ import annotations

from bridge.link.adapter_setup import NotAnAdapter, identify
from bridge.link.exchange import AdapterReset, AdapterSilent, Exchange
from bridge.link.link import ElmLink
from bridge.link.ports.baud import BaudSearch
from bridge.link.ports.port import GuardedPort
from bridge.link.ports.progress import progress
from bridge.link.ports.wire_log import Opener
from bridge.values.causes import Cause
from bridge.values.errors import LinkLost, PortError

TRIES = 2
"""An adapter that was just plugged in may restart while it is asked."""


async def answers(opener: Opener, search: BaudSearch | None) -> Cause | str | None:
    """Open a port, set the adapter up as for a job, close; None: it is one.

    Otherwise the cause, or a sentence about the port. ``search`` finds the speed.
    """
    try:
        port = await opener()
    except PortError as problem:
        return str(problem)
    link = ElmLink(Exchange(GuardedPort(port)))
    try:
        if search is not None:
            await search.settle(link.exchange, port, progress)
        await _set_up(link)
    except NotAnAdapter as problem:
        return problem.cause
    except AdapterSilent:
        return identify(link.exchange)
    except AdapterReset:
        return Cause.ADAPTER_RESTARTED
    except LinkLost as lost:
        return str(lost)
    finally:
        await link.aclose()
    return None


async def _set_up(link: ElmLink) -> None:
    for attempt in range(TRIES):
        try:
            await link.connect()
        except AdapterReset:
            if attempt == TRIES - 1:
                raise
        else:
            return

"""What opening a port is busy with, told to whoever waits for it.

Opening may take seconds (a scan, a search), and openers are wrapped by the wire log
and the record; so the listener belongs to the task that opens, not to each call.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from contextvars import ContextVar

Say = Callable[[str], None]


def _nobody(_: str) -> None:
    """Do nothing: the default listener."""


_LISTENER: ContextVar[Say] = ContextVar("port_progress", default=_nobody)


def progress(what: str) -> None:
    """Tell what is being done, in a few words without a full stop."""
    _LISTENER.get()(what)


@contextlib.contextmanager
def telling(say: Say) -> Iterator[None]:
    """Have ``say`` told what is being done inside."""
    token = _LISTENER.set(say)
    try:
        yield
    finally:
        _LISTENER.reset(token)

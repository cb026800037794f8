"""What the verbs do about ``--wire-log FILE``."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

from tui.headless.no_screen import screenless

if TYPE_CHECKING:
    from argparse import Namespace

    from bridge.link.ports.wire_log import Opener, Wrap


@contextlib.contextmanager
def wire_log(args: Namespace) -> Iterator[Wrap]:
    """Give what wraps an opener of ports so that every byte is written down.

    Without the flag nothing is. What is wrong with the file later on is said on
    standard error, but not before the screen has gone.

    Raises:
        UsageError: the file cannot be created.
    """
    if not args.wire_log:
        yield _as_it_is
        return
    from bridge.link.ports.wire_log import create_wire_log

    notes: list[str] = []
    log = create_wire_log(args.wire_log, _say if screenless(args) else notes.append)
    try:
        yield log.wrap
    finally:
        log.close()
        for sentence in notes:
            _say(sentence)


def _as_it_is(opener: Opener) -> Opener:
    return opener


def _say(sentence: str) -> None:
    with contextlib.suppress(OSError, ValueError):  # the terminal is gone
        sys.stderr.write(f"sumpgate: note: {sentence}\n")

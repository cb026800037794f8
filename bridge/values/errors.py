"""The errors a person may meet, each one a whole sentence with a remedy."""

from __future__ import annotations

from bridge.values.causes import Cause


class SumpgateError(Exception):
    """Base of all: its text is one sentence that can be shown as it stands."""

    exit_code = 2
    cause: Cause | None = None
    """Set, it says why nothing is read, and the text is only what was heard."""


class SheetError(SumpgateError):
    """A sheet that cannot be used; names the file, the key and the remedy."""


class TraceError(SumpgateError):
    """A recorded trace that cannot be read; names the file, the line, the remedy."""


class UsageError(SumpgateError):
    """A flag or argument that makes no sense; says which and what to do."""


class PortError(SumpgateError):
    """A port that cannot be opened; names the port and the remedy."""

    exit_code = 3


class LinkLost(SumpgateError):  # noqa: N818 - a state of affairs, not a mistake
    """The port vanished while in use: unplugged, closed or out of range."""

    exit_code = 3


class ForbiddenRequest(SumpgateError):  # noqa: N818 - named for what it is
    """A request that is not a reading one; it cannot be built, let alone sent."""

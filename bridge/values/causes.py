"""Why nothing is read: one code for each way an adapter, a bus or a unit can fail.

The program decides by these codes; what a person reads about each stands in one table
of the tool's words, and the two are held together by a test.
"""

from __future__ import annotations

from enum import StrEnum


class Cause(StrEnum):
    """One way of not reading."""

    # the port and the adapter
    PORT_GONE = "port-gone"
    """It was there and broke away, or cannot be opened again."""
    ADAPTER_SILENT = "adapter-silent"
    """Not one byte comes back."""
    NO_PROMPT = "no-prompt"
    """Text comes, but never the prompt that ends an answer."""
    WRONG_SPEED = "wrong-speed"
    """Only bytes that are no text come back."""
    ONLY_ECHO = "only-echo"
    """Every line comes back and nothing else."""
    MODEM = "modem"
    NOT_AN_ADAPTER = "not-an-adapter"
    COMMAND_REFUSED = "command-refused"
    """A command the link cannot do without."""
    ADAPTER_RESTARTED = "adapter-restarted"
    ALWAYS_STOPPED = "always-stopped"
    """Each request is broken off (STOPPED), though nothing was sent meanwhile."""
    REQUESTS_REFUSED = "requests-refused"
    """'?' instead of an answer to a request."""
    HEADER_REFUSED = "header-refused"
    FILTER_REFUSED = "filter-refused"
    ADAPTER_ERROR = "adapter-error"
    """An internal error or a text this tool does not know."""
    BUFFER_FULL = "buffer-full"
    CHARACTERS_LOST = "characters-lost"
    """Lines that are no whole frames: half a byte, digits or letters are missing."""
    CUT_SHORT = "cut-short"
    """A frame, or an answer of several, without its end."""
    DAMAGED = "damaged"
    """The adapter marks the answer as damaged, or a check byte is wrong."""

    # the bus
    NO_BUS = "no-bus"
    """UNABLE TO CONNECT: no protocol brought an answer."""
    BUS_INIT_FAILED = "bus-init-failed"
    """The wake-up of an ISO 9141-2 or KWP bus got no answer."""
    BUS_ERROR = "bus-error"
    BUS_BUSY = "bus-busy"
    NO_UNITS = "no-units"
    """The question to everybody brought no answer."""
    WRONG_BUS = "wrong-bus"
    """The sheet's ids cannot exist on this car's bus."""
    NOT_BROADCAST = "not-broadcast"
    """A J1939 group that no unit sends."""

    # one control unit
    UNIT_SILENT = "unit-silent"
    """Nobody answers at the address (NO DATA)."""
    OTHER_UNIT = "other-unit"
    OTHER_QUESTION = "other-question"
    """An answer that does not echo the question."""
    CONTRADICTION = "contradiction"
    """Two answers to one question that differ."""
    WRONG_LENGTH = "wrong-length"
    UNIT_BUSY = "unit-busy"
    UNIT_PENDING = "unit-pending"
    IDENTIFIER_UNKNOWN = "identifier-unknown"
    CONDITIONS = "conditions-not-correct"
    SESSION_NEEDED = "session-needed"
    SERVICE_UNKNOWN = "service-unknown"
    LOCKED = "locked"
    UNIT_REFUSED = "unit-refused"
    """Any other negative response."""
    ENGINE_UNTOLD = "engine-untold"
    """The fluid is read, but no unit tells engine speed or road speed."""


OF_NEGATIVE_RESPONSE: dict[int, Cause] = {
    0x11: Cause.SERVICE_UNKNOWN,
    0x12: Cause.IDENTIFIER_UNKNOWN,
    0x21: Cause.UNIT_BUSY,
    0x22: Cause.CONDITIONS,
    0x31: Cause.IDENTIFIER_UNKNOWN,
    0x33: Cause.LOCKED,
    0x78: Cause.UNIT_PENDING,
    0x7E: Cause.SESSION_NEEDED,
    0x7F: Cause.SESSION_NEEDED,
}
"""Negative response codes (ISO 14229-1, table A.1) with a remedy of their own."""

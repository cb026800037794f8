"""Every way of not reading in words: what was heard, and what to do about it. Pure."""

from __future__ import annotations

from typing import NamedTuple

from bridge.values.causes import Cause


class LinkWords(NamedTuple):
    """What a person reads about one cause."""

    what: str
    """What was heard, without a full stop."""
    remedy: str
    """What to do, as an order."""


CAUSES: dict[Cause, LinkWords] = {
    Cause.PORT_GONE: LinkWords(
        "the connection to the adapter is lost",
        "plug it in again or bring it back into range; it reconnects by itself",
    ),
    Cause.ADAPTER_SILENT: LinkWords(
        "the adapter does not answer: not one byte comes back",
        "push it all the way into the car's socket and see that its light is on, or "
        "name another port",
    ),
    Cause.NO_PROMPT: LinkWords(
        "the adapter starts to answer and never finishes",
        "pull it out, count to five and push it in again",
    ),
    Cause.WRONG_SPEED: LinkWords(
        "what comes back is unreadable, as at a wrong speed",
        "leave out --baud so that the speed is searched for, or give the right one",
    ),
    Cause.ONLY_ECHO: LinkWords(
        "the port only echoes: every line comes back and nothing else",
        "name the adapter's own port; this one is looped back or has nothing behind it",
    ),
    Cause.MODEM: LinkWords(
        "this is a modem: it says OK and ERROR and knows nothing else",
        "name the adapter's own port",
    ),
    Cause.NOT_AN_ADAPTER: LinkWords(
        "what answers at the port is not an ELM327-class adapter",
        "name another port",
    ),
    Cause.COMMAND_REFUSED: LinkWords(
        "the adapter does not take a command that cannot be done without",
        "use another adapter",
    ),
    Cause.ADAPTER_RESTARTED: LinkWords(
        "the adapter restarted by itself",
        "it is set up again; if that keeps happening, its supply or its contacts are "
        "bad: push it all the way in, charge the battery",
    ),
    Cause.ALWAYS_STOPPED: LinkWords(
        "the adapter breaks off every request (STOPPED)",
        "close every other program that uses it; else pull it out and push it in again",
    ),
    Cause.REQUESTS_REFUSED: LinkWords(
        "the adapter answers every request with ?",
        "it may be a copy without a bus chip: use another adapter",
    ),
    Cause.HEADER_REFUSED: LinkWords(
        "the adapter cannot be pointed at the control unit the sheet names",
        "use an adapter that takes ATSH; the unit cannot be asked without it",
    ),
    Cause.FILTER_REFUSED: LinkWords(
        "the adapter cannot be told to let this unit's answers through",
        "use an adapter that takes ATCRA",
    ),
    Cause.ADAPTER_ERROR: LinkWords(
        "the adapter reports a fault of its own",
        "pull it out and push it in again; if it comes back, use another adapter",
    ),
    Cause.BUFFER_FULL: LinkWords(
        "the adapter runs out of memory in the middle of an answer",
        "use a faster connection to it (a higher --baud), or another adapter",
    ),
    Cause.CHARACTERS_LOST: LinkWords(
        "the adapter drops characters: its lines are no whole frames",
        "try a lower --baud or another cable; if that does not help, another adapter",
    ),
    Cause.CUT_SHORT: LinkWords(
        "answers come without their end",
        "push the plug all the way in; if it goes on, use another adapter",
    ),
    Cause.DAMAGED: LinkWords(
        "answers arrive damaged",
        "push the plug all the way in, unplug what else hangs on the socket, and "
        "switch off what may disturb the line",
    ),
    Cause.NO_BUS: LinkWords(
        "the adapter finds no bus it can talk on",
        "switch the ignition on and push the plug all the way in",
    ),
    Cause.BUS_INIT_FAILED: LinkWords(
        "the car's K-line does not wake up",
        "switch the ignition on, wait ten seconds and let it try again",
    ),
    Cause.BUS_ERROR: LinkWords(
        "the bus is disturbed, or nobody acknowledges on it",
        "switch the ignition on, push the plug all the way in, and unplug every "
        "other tester",
    ),
    Cause.BUS_BUSY: LinkWords(
        "the bus is never free to ask on",
        "unplug every other tester from the car",
    ),
    Cause.NO_UNITS: LinkWords(
        "the bus is there and no control unit answers on it",
        "switch the ignition on; if it is, the car may want another protocol: set it "
        "under [link] in the sheet",
    ),
    Cause.WRONG_BUS: LinkWords(
        "the ids of the sheet are for another kind of bus than this car's",
        "this sheet is not for this car: name the right one, or correct its ids",
    ),
    Cause.NOT_BROADCAST: LinkWords(
        "no unit broadcasts the group the sheet names",
        "switch the ignition on; if it is, the sheet is not for this car",
    ),
    Cause.UNIT_SILENT: LinkWords(
        "no control unit answers at the address the sheet names",
        "switch the ignition on; if it is, the sheet is not for this gearbox",
    ),
    Cause.OTHER_UNIT: LinkWords(
        "another control unit answers instead of the one that was asked",
        "look at request_id and reply_id in the sheet; a poor copy of an adapter does "
        "this too",
    ),
    Cause.OTHER_QUESTION: LinkWords(
        "what comes back answers another question",
        "close every other program that uses the adapter",
    ),
    Cause.CONTRADICTION: LinkWords(
        "two answers to one question contradict each other",
        "unplug every other tester from the car",
    ),
    Cause.WRONG_LENGTH: LinkWords(
        "the answer is longer or shorter than the sheet says",
        "look at data_length in the sheet: it may be for another gearbox",
    ),
    Cause.UNIT_BUSY: LinkWords(
        "the control unit is busy with something else",
        "unplug every other tester from the car and wait",
    ),
    Cause.UNIT_PENDING: LinkWords(
        "the control unit asks for patience and then says nothing",
        "switch the ignition off and on again",
    ),
    Cause.IDENTIFIER_UNKNOWN: LinkWords(
        "the control unit does not know the identifier the sheet asks for",
        "the sheet is not for this gearbox or its software: 'sumpgate find' looks for "
        "the right one",
    ),
    Cause.CONDITIONS: LinkWords(
        "the control unit answers only under other conditions (0x22)",
        "start the engine; if it runs, put the selector in P",
    ),
    Cause.SESSION_NEEDED: LinkWords(
        "the control unit answers this only in an extended session",
        'if the maker\'s documents say so too, set session = "extended" under [link] '
        "in the sheet",
    ),
    Cause.SERVICE_UNKNOWN: LinkWords(
        "the control unit does not know the service the sheet asks with",
        "look at service in the sheet: 0x21 and 0x22 are not the same",
    ),
    Cause.LOCKED: LinkWords(
        "the control unit keeps this value locked",
        "sumpgate unlocks nothing: use a thermometer (--thermometer)",
    ),
    Cause.UNIT_REFUSED: LinkWords(
        "the control unit refuses",
        "look up the code it gave in the maker's manual",
    ),
    Cause.ENGINE_UNTOLD: LinkWords(
        "no control unit tells engine speed or road speed",
        "look for yourself and confirm engine (5) and standing (6)",
    ),
}
"""One line for every cause; tests/tui/words/test_link_wording holds both together."""


def sentence(cause: Cause | None, heard: str = "") -> str:
    """Return what stands below the car's values: what was heard and what to do.

    ``heard``: what the link adds, such as the adapter's own text; the whole of it
    where there is no cause, for then something is being done and nothing is wrong.
    """
    if cause is None:
        return heard
    found = CAUSES[cause]
    more = f" ({heard})" if heard else ""
    return f"{found.what}{more}: {found.remedy}"

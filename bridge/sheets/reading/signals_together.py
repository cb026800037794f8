"""What the signals of a sheet must be among one another."""

from __future__ import annotations

from itertools import pairwise

from bridge.sheets.reading.can_ids import is_address, is_long
from bridge.sheets.reading.findings import SectionRead
from bridge.sheets.reading.signals import SignalDraft, reach, with_data_length
from bridge.values.sheet import Role, Signal, Window

Question = tuple[int | None, int, int, int | None]
_KINDS: dict[str, tuple[str, ...]] = {
    "an 11-bit id": ("6", "8"),
    "a 29-bit id": ("7", "9"),
    "a one-byte address": ("1", "2", "3", "4", "5"),
    "a J1939 group": ("A",),
}
"""How a signal is found, and the protocols it can be found by."""


def finish(drafts: tuple[SignalDraft, ...]) -> tuple[Signal, ...]:
    """Return the signals with their data_length, checked against one another."""
    _check_roles(drafts)
    lengths = {ask: _data_length(group) for ask, group in _by_question(drafts).items()}
    return tuple(with_data_length(draft, lengths[_question(draft)]) for draft in drafts)


def check_window(drafts: tuple[SignalDraft, ...], window: Window) -> None:
    """Refuse a fluid signal that cannot show every temperature of the window."""
    for draft in drafts:
        low, high = reach(draft.signal)
        from_c = window.high_c if window.below_open else window.low_c
        to_c = window.low_c if window.above_open else window.high_c
        inside = window.any or (low <= from_c and to_c <= high)
        if draft.signal.role is Role.FLUID_TEMPERATURE and not inside:
            raise draft.table.mistake(
                "factor",
                f"lets the signal give {low:.6g} to {high:.6g} degC only, which leaves "
                f"out part of the window; correct factor, offset, unit or limits",
            )


def check_protocol(drafts: tuple[SignalDraft, ...], link: SectionRead) -> None:
    """Refuse ids of two kinds, or of a kind that the protocol does not have."""
    kinds = [(draft, kind) for draft in drafts if (kind := _kind(draft.signal))]
    for draft, kind in kinds[1:]:
        if kind != kinds[0][1]:
            raise draft.table.mistake(
                "pgn" if draft.signal.pgn is not None else "request_id",
                f"is {kind}, of another width than the signals before it "
                f"({kinds[0][1]}), and one connection speaks one of them; keep to one",
            )
    if not kinds:
        return
    digits, protocol = _KINDS[kinds[0][1]], link.held("protocol")
    passive = kinds[0][1] == "a J1939 group"
    if protocol not in digits and (passive or protocol != "auto"):
        listed = " or ".join(f'"{d}"' for d in digits)
        raise link.table.mistake(
            "protocol",
            f'is "{protocol}", but the sheet\'s signals have {kinds[0][1]}; '
            f"write {listed}" + ("" if passive else ', or "auto"'),
        )


def _kind(signal: Signal) -> str:
    """Return how a signal is found; '' for a standard PID, which fits any."""
    if signal.pgn is not None:
        return "a J1939 group"
    if signal.request_id is None:
        return ""
    if is_address(signal.request_id):
        return "a one-byte address"
    return "a 29-bit id" if is_long(signal.request_id) else "an 11-bit id"


def _check_roles(drafts: tuple[SignalDraft, ...]) -> None:
    seen: dict[Role, SignalDraft] = {}
    for draft in drafts:
        first = seen.setdefault(draft.signal.role, draft)
        if first is not draft:
            raise draft.table.mistake(
                "role",
                f'is "{draft.signal.role}", which {first.table.title} has already; '
                f"keep one of the two",
            )


def _question(draft: SignalDraft) -> Question:
    signal = draft.signal
    return signal.request_id, signal.service, signal.identifier, signal.pgn


def _by_question(drafts: tuple[SignalDraft, ...]) -> dict[Question, list[SignalDraft]]:
    groups: dict[Question, list[SignalDraft]] = {}
    for draft in drafts:
        groups.setdefault(_question(draft), []).append(draft)
    return groups


def _data_length(group: list[SignalDraft]) -> int:
    """Return how many bytes the shared answer has after its echo."""
    _check_same_reply(group)
    _check_overlap(group)
    stated = [draft for draft in group if draft.stated_length is not None]
    for draft in stated[1:]:
        if draft.stated_length != stated[0].stated_length:
            raise draft.table.mistake(
                "data_length",
                f"is {draft.stated_length}, but {stated[0].table.title} reads the same "
                f"answer and says {stated[0].stated_length}; make them equal",
            )
    length = stated[0].stated_length if stated else None
    if length is None:
        return max(draft.end for draft in group)
    for draft in group:
        _check_end(draft, length)
    return length


def _check_end(draft: SignalDraft, length: int) -> None:
    if draft.end > length:
        signal = draft.signal
        key = "data_length" if draft.stated_length is not None else "first_byte"
        raise draft.table.mistake(
            key,
            f"does not fit: first_byte {signal.first_byte} and length {signal.length} "
            f"reach {draft.end} bytes, data_length is {length}; correct one of them",
        )


def _check_same_reply(group: list[SignalDraft]) -> None:
    for draft in group[1:]:
        if draft.signal.reply_id != group[0].signal.reply_id:
            raise draft.table.mistake(
                "reply_id",
                f"differs from that of {group[0].table.title}, which asks the same; "
                f"make them equal",
            )


def _check_overlap(group: list[SignalDraft]) -> None:
    ordered = sorted(group, key=lambda draft: draft.signal.first_byte)
    for lower, upper in pairwise(ordered):
        if upper.signal.first_byte < lower.end:
            raise upper.table.mistake(
                "first_byte",
                f"is {upper.signal.first_byte}, a byte that {lower.table.title} "
                f"({lower.signal.role}) reads as well; correct one of them",
            )

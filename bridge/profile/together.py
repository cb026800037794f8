"""What the signals of a sheet must be among one another."""

from __future__ import annotations

from itertools import pairwise

from bridge.core.model import Role, Signal, Window
from bridge.profile.can_ids import is_long, spell
from bridge.profile.signals import Draft, reach, with_data_length
from bridge.profile.table import Table

Question = tuple[int | None, int, int]
_LONG_PROTOCOLS = ("7", "9")


def finish(drafts: tuple[Draft, ...]) -> tuple[Signal, ...]:
    """Return the signals with their data_length, checked against one another."""
    _check_roles(drafts)
    lengths = {ask: _data_length(group) for ask, group in _by_question(drafts).items()}
    return tuple(with_data_length(draft, lengths[_question(draft)]) for draft in drafts)


def check_window(drafts: tuple[Draft, ...], window: Window) -> None:
    """Refuse a fluid signal that cannot show every temperature of the window."""
    for draft in drafts:
        low, high = reach(draft.signal)
        inside = low <= window.low_c and window.high_c <= high
        if draft.signal.role is Role.FLUID_TEMPERATURE and not inside:
            raise draft.table.mistake(
                "factor",
                f"lets the signal give {low:.6g} to {high:.6g} degC only, which leaves "
                f"out part of the window; correct factor, offset, unit or limits",
            )


def check_protocol(drafts: tuple[Draft, ...], link: Table, protocol: str) -> None:
    """Refuse ids of two widths, or of a width that the protocol does not have."""
    addressed = [d for d in drafts if d.signal.request_id is not None]
    widths = {_is_long(d) for d in addressed}
    if len(widths) > 1:
        odd = next(d for d in addressed if _is_long(d) != _is_long(addressed[0]))
        raise odd.table.mistake(
            "request_id",
            "has another width than the signals before it, and one connection speaks "
            "11-bit or 29-bit ids; keep to one of them",
        )
    if protocol != "auto" and widths and (protocol in _LONG_PROTOCOLS) not in widths:
        request = addressed[0].signal.request_id or 0
        raise link.mistake(
            "protocol",
            f'is "{protocol}", whose ids are not as wide as {spell(request)}; '
            f"write {_protocols(long=is_long(request))}",
        )


def _protocols(*, long: bool) -> str:
    digits = _LONG_PROTOCOLS if long else ("6", "8")
    return f'"{digits[0]}" or "{digits[1]}", or "auto"'


def _is_long(draft: Draft) -> bool:
    return is_long(draft.signal.request_id or 0)


def _check_roles(drafts: tuple[Draft, ...]) -> None:
    seen: dict[Role, Draft] = {}
    for draft in drafts:
        first = seen.setdefault(draft.signal.role, draft)
        if first is not draft:
            raise draft.table.mistake(
                "role",
                f'is "{draft.signal.role}", which {first.table.title} has already; '
                f"keep one of the two",
            )


def _question(draft: Draft) -> Question:
    signal = draft.signal
    return signal.request_id, signal.service, signal.identifier


def _by_question(drafts: tuple[Draft, ...]) -> dict[Question, list[Draft]]:
    groups: dict[Question, list[Draft]] = {}
    for draft in drafts:
        groups.setdefault(_question(draft), []).append(draft)
    return groups


def _data_length(group: list[Draft]) -> int:
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


def _check_end(draft: Draft, length: int) -> None:
    if draft.end > length:
        signal = draft.signal
        key = "data_length" if draft.stated_length is not None else "first_byte"
        raise draft.table.mistake(
            key,
            f"does not fit: first_byte {signal.first_byte} and length {signal.length} "
            f"reach {draft.end} bytes, data_length is {length}; correct one of them",
        )


def _check_same_reply(group: list[Draft]) -> None:
    for draft in group[1:]:
        if draft.signal.reply_id != group[0].signal.reply_id:
            raise draft.table.mistake(
                "reply_id",
                f"differs from that of {group[0].table.title}, which asks the same; "
                f"make them equal",
            )


def _check_overlap(group: list[Draft]) -> None:
    ordered = sorted(group, key=lambda draft: draft.signal.first_byte)
    for lower, upper in pairwise(ordered):
        if upper.signal.first_byte < lower.end:
            raise upper.table.mistake(
                "first_byte",
                f"is {upper.signal.first_byte}, a byte that {lower.table.title} "
                f"({lower.signal.role}) reads as well; correct one of them",
            )

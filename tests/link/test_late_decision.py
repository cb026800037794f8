"""What was decided before the machine stood still is never delivered after it."""

from __future__ import annotations

import pytest

from bridge import monitor as module
from bridge.monitor import TOO_OLD_S, Monitor
from bridge.snapshot import Snapshot
from bridge.values.errors import PortError
from bridge.values.events import ClockJump, Event
from tests.session.test_session import SHEET


class Stopped:
    """A machine that stands still, or sleeps, while the first decision is made."""

    def __init__(
        self, monkeypatch, *, still_s: float = 0.0, gap_s: float = 0.0
    ) -> None:
        self.now_s, self.decided = 100.0, 0
        self._still_s, self._gap_s = still_s, gap_s
        plain = module.advance

        def advance(session, *, now_s, t0_s):
            self.decided += 1
            if self.decided == 1:
                self.now_s += self._still_s
            return plain(session, now_s=now_s, t0_s=t0_s)

        monkeypatch.setattr(module, "advance", advance)
        monkeypatch.setattr(module, "now_s", lambda: self.now_s)

    def gap_s(self) -> float:
        gap_s, self._gap_s = (self._gap_s, 0.0) if self.decided else (0.0, self._gap_s)
        return gap_s


def look(stopped: Stopped) -> tuple[list[Snapshot], list[Event]]:
    shown: list[Snapshot] = []
    events: list[Event] = []

    async def never() -> object:
        raise PortError("none")

    monitor = Monitor(sheet=SHEET, open_port=never, deliver=shown.append)
    monitor._suspend = stopped  # type: ignore[assignment]
    plain = monitor._on
    monitor._on = lambda e: (events.append(e), plain(e))  # type: ignore[method-assign]
    monitor._look()
    return shown, events


@pytest.mark.parametrize(("still_s", "decisions"), [(0.4, 1), (TOO_OLD_S + 0.1, 2)])
def test_a_decision_half_a_second_old_is_made_again(
    monkeypatch, still_s: float, decisions: int
) -> None:
    stopped = Stopped(monkeypatch, still_s=still_s)
    shown, _ = look(stopped)
    assert stopped.decided == decisions
    assert len(shown) == 1
    assert stopped.now_s - shown[0].t_s <= TOO_OLD_S


def test_a_suspend_while_deciding_makes_everything_known_old(monkeypatch) -> None:
    stopped = Stopped(monkeypatch, gap_s=3600.0)
    shown, events = look(stopped)
    assert stopped.decided == 2
    assert len(shown) == 1
    assert [type(e) for e in events] == [ClockJump]

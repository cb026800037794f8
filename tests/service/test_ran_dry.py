"""The engine turned with the fluid out: the monitor puts it into the service's log."""

from __future__ import annotations

import asyncio

from bridge.monitor import Monitor
from bridge.service.against import against
from bridge.values.readings import Reading
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.sheet import Role
from tests.service.service_help import SHEET


def turned(monitor: Monitor, rpm: float, t_s: float) -> None:
    monitor._on(Reading(role=Role.ENGINE_SPEED, value=rpm, t_s=t_s))


def test_it_is_told_once_and_stands_until_it_is_answered() -> None:
    seen = []
    monitor = Monitor(sheet=SHEET, open_port=None, deliver=seen.append)

    async def work() -> None:
        turned(monitor, 700.0, 0.5)
        monitor.tell(ServiceEvent(kind=ServiceKind.OUT, name="sump", ml=4800.0))
        turned(monitor, 150.0, 1.0)  # a starter that does not catch
        assert not _dry(seen[-1].told)
        turned(monitor, 700.0, 2.0)
        turned(monitor, 710.0, 3.0)
        last = monitor.tell(ServiceEvent(kind=ServiceKind.IN, ml=4900.0))
        turned(monitor, 700.0, 4.0)
        assert len(_dry(last.told)) == 1
        assert "ran-dry" in [a.id for a in against(SHEET, last.log or ())]
        told = ServiceEvent(
            kind=ServiceKind.ANSWERED, name="ran-dry", text="two seconds, no noise"
        )
        last = monitor.tell(told)
        assert "ran-dry" not in [a.id for a in against(SHEET, last.log or ())]

    asyncio.run(work())


def _dry(told: tuple[ServiceEvent, ...] | None) -> list[ServiceEvent]:
    return [e for e in told or () if e.kind is ServiceKind.RAN_DRY]

"""Addresses Wi-Fi adapters usually have; tried only when somebody asks for it."""

from __future__ import annotations

import asyncio
from collections.abc import Iterable

from bridge.link.ports.port_search import FoundPort, PortKind
from bridge.link.ports.progress import progress

USUAL = (
    "socket://192.168.0.10:35000",
    "socket://192.168.1.10:35000",
    "socket://192.168.4.1:35000",
)
"""Where adapters with a network of their own listen (common practice, no source)."""
CONNECT_S = 2.0


async def listening(addresses: Iterable[str]) -> tuple[FoundPort, ...]:
    """Return the addresses where something listens; not a byte is sent."""
    every = tuple(dict.fromkeys(addresses))
    progress(f"trying {len(every)} Wi-Fi addresses")
    open_ = await asyncio.gather(*map(_listens, every))
    return tuple(
        FoundPort(
            device=address, description="Wi-Fi, something listens", kind=PortKind.WIFI
        )
        for address, there in zip(every, open_, strict=True)
        if there
    )


async def _listens(address: str) -> bool:
    host, _, port = address.removeprefix("socket://").rstrip("/").rpartition(":")
    try:
        async with asyncio.timeout(CONNECT_S):
            _, writer = await asyncio.open_connection(host.strip("[]"), int(port))
    except (OSError, TimeoutError, ValueError):
        return False
    writer.close()
    return True

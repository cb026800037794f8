"""A program that never ends its line: the bench stays small and hears the next one."""

from __future__ import annotations

import tracemalloc

import pytest

from simulators.adapter.adapter import Adapter
from simulators.car.car import Car
from simulators.car.plant import Heat, Plant
from simulators.serve.playback import playback_bench


def adapter() -> Adapter:
    return Adapter(Car(plant=Plant(Heat.soaked(20.0), ambient_c=20.0)), ())


@pytest.mark.parametrize("flood", [b"0" * 65_536, b"0\r" * 32_768, bytes(65_536)])
def test_a_line_without_an_end_and_bursts(flood: bytes) -> None:
    device = adapter()
    device.power_up(0.0)
    tracemalloc.start()
    for _ in range(200):  # 13 MB at one moment
        device.receive(flood, 0.0)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 4_000_000
    device.take(30.0)
    device.receive(b"\rATI\r", 31.0)
    device.take(32.0)
    device.receive(b"ATI\r", 33.0)
    assert b"ELM327" in device.take(34.0)


def test_a_played_back_log_hears_again_after_a_flood() -> None:
    bench = playback_bench("1.0 > ATI\\r\n1.1 < ELM327 v1.5\\r\\r>", "log")
    bench.device.power_up(0.0)
    for _ in range(50):
        bench.device.receive(b"0" * 65_536, 0.0)
    bench.device.receive(b"\rATI\r", 1.0)
    assert b"ELM327" in bench.device.take(2.0)

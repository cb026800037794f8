"""The examiner behind `make show-link` must be able to find something."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.sheets import load
from bridge.values.conditions import Verdict
from bridge.values.sheet import Window
from simulators.car.scenes import make_bench
from tests.link.rig import Log, watch
from tests.show.parts.link.faults import examine

SHEET = load("scar-eight-speed")


@pytest.mark.slow
def test_it_finds_a_false_temperature_a_false_go_and_a_stale_go() -> None:
    bench = make_bench("warm-day", SHEET)
    log = Log()
    snapshots, _ = watch(bench, SHEET, 90.0, log=log)
    honest = examine(bench, SHEET, snapshots, log)
    assert honest.gos > 0
    assert (honest.false_temps, honest.false_gos, honest.stale_gos) == (0, 0, 0)

    log.believed[5] = replace(log.believed[5], value=log.believed[5].value + 3.0)
    assert examine(bench, SHEET, snapshots, log).false_temps == 1

    elsewhere = replace(SHEET, window=Window(low_c=60.0, high_c=70.0))
    assert examine(bench, elsewhere, snapshots, log).false_gos == honest.gos

    stale = [replace(s, age_s=9.0) if s.verdict is Verdict.GO else s for s in snapshots]
    assert examine(bench, SHEET, stale, log).stale_gos == honest.gos

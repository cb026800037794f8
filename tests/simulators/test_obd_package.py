"""python-OBD itself, an independent program, reads the bench's values.

Everything between its socket and its decoders is python-OBD's own code: if the
adapter or the control units spoke wrongly, it would not connect or not agree.
"""

from __future__ import annotations

import logging
import sys

import pytest

from tests.simulators.served import Served


@pytest.fixture
def obd():
    import obd  # noqa: TID251 - the outside check of the bench is this very package

    yield obd
    logger = logging.getLogger("obd")
    for handler in list(logger.handlers):
        logger.removeHandler(handler)


def reads(obd, url: str, bench) -> None:
    connection = obd.OBD(portstr=url, baudrate=115200, fast=False, timeout=2)
    try:
        assert connection.status() == obd.OBDStatus.CAR_CONNECTED
        assert connection.protocol_id() == "6"
        commands = obd.commands
        for name in ("RPM", "COOLANT_TEMP", "RUN_TIME", "AMBIANT_AIR_TEMP"):
            assert connection.supports(commands[name]), name
        assert not connection.supports(commands.OIL_TEMP)
        car = bench.car
        value = connection.query(commands.COOLANT_TEMP).value.magnitude
        assert value == pytest.approx(car.coolant_c, abs=1.0)
        assert connection.query(commands.RPM).value.magnitude == pytest.approx(
            car.idle_rpm, abs=7
        )
        assert connection.query(commands.SPEED).value.magnitude == 0
        assert connection.query(commands.ELM_VOLTAGE).value.magnitude == 14.1
        assert connection.query(commands.CONTROL_MODULE_VOLTAGE).value.magnitude == 14.1
        assert connection.query(commands.GET_DTC).value[0][0] == "P0711"
        status = connection.query(commands.STATUS).value
        assert (status.MIL, status.DTC_count) == (True, 1)
        fluid = obd.OBDCommand(
            "FLUID", "", b"221160", 0, fluid_c, obd.ECU.ALL, fast=False
        )
        read_c = connection.query(fluid, force=True).value
        assert read_c == pytest.approx(car.sensor_c, abs=0.1)
        block = obd.OBDCommand(
            "BLOCK", "", b"221170", 0, whole, obd.ECU.ALL, fast=False
        )
        data = connection.query(block, force=True).value
        assert len(data) == 17
        assert data[7] - 40 == pytest.approx(car.sensor_c, abs=0.6)
    finally:
        connection.close()


def fluid_c(messages):
    return int.from_bytes(messages[0].data[3:5], "big") / 16


def whole(messages):
    return bytes(messages[0].data)


def test_over_tcp(obd):
    with Served(tcp="127.0.0.1:0") as served:
        served.bench.car.stored = ("P0711",)
        reads(obd, served.where("tcp"), served.bench)


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals there")
def test_over_a_pseudo_terminal(obd):
    with Served(pty=True) as served:
        served.bench.car.stored = ("P0711",)
        reads(obd, served.where("pty"), served.bench)

"""`sumpgate ports`, and `adapter` over the air: the verbs themselves, real time."""

from __future__ import annotations

import json
import os
import socket
from dataclasses import dataclass
from pathlib import Path

import pytest

from bridge.link.ports import paired, port_search
from bridge.link.ports.ble import scan
from bridge.link.ports.paired import paired_ports, read_paired
from simulators.car.scenes import make_bench
from tests.link.ports.gatt import Device, Radio
from tui.cli import ports_verb
from tui.cli.main import main
from tui.settings import Settings, save_settings


@dataclass
class Entry:
    """As pyserial's list has them."""

    device: str
    serial_number: str | None = "A1"
    description: str = "n/a"
    hwid: str = "USB VID"
    manufacturer: str | None = "A Maker"
    product: str | None = "USB UART"
    vid: int | None = 0x1234
    pid: int | None = 0x5678


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch) -> list[Entry]:
    """Give the list of ports; settings of our own, no paired devices."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    monkeypatch.setattr(paired, "RADIOS", tmp_path / "none")
    monkeypatch.setattr(scan, "NAMESAKE_S", 0.3)
    monkeypatch.setattr(ports_verb, "BLE_S", 1.2)
    entries: list[Entry] = []
    monkeypatch.setattr(port_search.list_ports, "comports", lambda: entries)
    return entries


def listed(capsys, *flags: str) -> tuple[int, dict, str]:
    code = main(["ports", "--json", *flags])
    told = capsys.readouterr()
    return code, json.loads(told.out), told.err


def test_nothing_there_says_where_else_to_look(capsys) -> None:
    assert main(["ports"]) == 3
    told = capsys.readouterr()
    assert told.out == ""
    assert "nothing here could be an adapter" in told.err
    assert "--ble or --wifi" in told.err


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="no pseudo-terminals here")
def test_each_port_with_what_it_is_and_whether_it_can_be_opened(
    here, capsys, monkeypatch
) -> None:
    master, slave = os.openpty()
    good = os.ttyname(slave)
    here += [Entry("/dev/ttyGONE", "B2"), Entry(good)]
    monkeypatch.setattr(
        port_search,
        "trouble",
        lambda d: "logger (process 42) holds it" if "GONE" in d else "",
    )
    save_settings(Settings(port="/dev/ttyOLD", port_id="usb:1234:5678:A1"))
    code, told, _ = listed(capsys)
    assert code == 0
    first, second = told["ports"]
    assert first["port"] == good
    assert first["kind"] == "serial"
    assert first["description"] == "USB UART, A Maker"
    assert first["identity"] == "usb:1234:5678:A1"
    assert first["problem"] is None
    assert first["used_last_time"] is True
    assert second["can_be_opened"] is False
    assert "process 42" in second["problem"]
    assert main(["ports"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith(good)
    assert "(used last time)" in lines[0]
    assert "cannot be used: logger (process 42) holds it" in lines[1]
    os.close(master)
    os.close(slave)


def test_only_ports_of_no_use_is_exit_3(here, capsys, monkeypatch) -> None:
    here.append(Entry("/dev/ttyUSB0"))
    monkeypatch.setattr(port_search, "trouble", lambda _: "busy")
    assert listed(capsys)[0] == 3


def test_ble_devices_are_heard_only_when_asked(capsys) -> None:
    radio = Radio(
        Device(bench=make_bench("warm-day", None)),
        Device(
            bench=make_bench("warm-day", None), address="02:00:00:00:00:02", name=None
        ),
    )
    with radio.on():
        listed(capsys)
        assert radio.scans == 0
        code, told, said = listed(capsys, "--ble")
    assert code == 0
    assert [p["port"] for p in told["ports"]] == ["ble://02:00:00:00:00:01"]
    assert told["ports"][0]["kind"] == "ble"
    assert "OBDBLE" in told["ports"][0]["description"]
    assert "listening for BLE devices" in said
    assert "1 BLE devices without a name" in said


def test_wifi_addresses_are_tried_only_when_asked(capsys, monkeypatch) -> None:
    server = socket.create_server(("127.0.0.1", 0))
    number = server.getsockname()[1]
    free = socket.create_server(("127.0.0.1", 0))
    dead = free.getsockname()[1]
    free.close()
    monkeypatch.setattr(port_search, "USUAL_WIFI", (f"socket://127.0.0.1:{dead}",))
    save_settings(Settings(port=f"socket://127.0.0.1:{number}"))
    assert listed(capsys)[1]["ports"] == []
    server.settimeout(0.0)
    with pytest.raises(BlockingIOError):
        server.accept()
    code, told, _ = listed(capsys, "--wifi")
    assert code == 0
    assert [p["port"] for p in told["ports"]] == [f"socket://127.0.0.1:{number}"]
    assert told["ports"][0]["used_last_time"] is True
    server.settimeout(5.0)
    connection, _ = server.accept()
    connection.settimeout(5.0)
    assert connection.recv(10) == b"", "nothing may be sent"
    connection.close()
    server.close()


PAIRED = {
    ("devices", "Paired"): "Device 00:1D:A5:00:00:01 OBD\x1bII\n"
    "Device 00:1D:A5:00:00:02 Headphones\n",
    ("info", "00:1D:A5:00:00:01"): "\tUUID: Serial Port               "
    "(00001101-0000-1000-8000-00805f9b34fb)\n",
    ("info", "00:1D:A5:00:00:02"): "\tUUID: Audio Sink                "
    "(0000110b-0000-1000-8000-00805f9b34fb)\n",
}


@pytest.mark.parametrize("command", [("devices", "Paired"), ("paired-devices",)])
def test_paired_devices_with_a_serial_line_are_found(command, monkeypatch) -> None:
    """bluetoothctl's words, from memory: newer and older ones list differently."""
    monkeypatch.setattr(socket, "AF_BLUETOOTH", 31, raising=False)
    told = dict(PAIRED)
    told[command] = told.pop(("devices", "Paired"))
    (found,) = read_paired(lambda *words: told.get(words, "Invalid command\n"))
    assert found.device == "rfcomm://00:1D:A5:00:00:01"
    assert found.description == "Bluetooth, OBDII"
    assert found.problem == ""
    monkeypatch.delattr(socket, "AF_BLUETOOTH")
    (found,) = read_paired(lambda *words: told.get(words, ""))
    assert "without Bluetooth sockets" in found.problem


def test_without_a_radio_nobody_is_asked(tmp_path: Path) -> None:
    assert paired_ports(tmp_path / "none") == ()


@pytest.mark.slow  # the air's own pace: six seconds
def test_adapter_examines_one_over_the_air(capsys) -> None:
    with Radio(Device(bench=make_bench("warm-day", None))).on():
        code = main(["adapter", "--port", "ble://OBDBLE", "--seconds", "1", "--json"])
    told = capsys.readouterr()
    health = json.loads(told.out)
    assert code == 0
    assert health["verdict"] == "fit"
    assert health["baud"] is None
    # two connection events of 30 ms is the least a question can take
    assert health["traffic"]["round_trip_ms"]["median"] >= 30
    assert "listening for BLE devices" in told.err
    assert "connecting to OBDBLE" in told.err

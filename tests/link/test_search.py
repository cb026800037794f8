"""Port search and port troubles: what is found, named, chosen, and how to help it."""

from __future__ import annotations

import errno
import os
from dataclasses import dataclass

import pytest

from bridge.link.ports import port as port_module
from bridge.link.ports.port import not_permitted, open_port, remedy
from bridge.link.ports.port_search import FoundPort, choose, describe, sort_out
from bridge.values.errors import PortError, UsageError
from tui.cli.flags.speeds import remember_speed, remembered_speed


@dataclass
class Entry:
    """As pyserial's list has them."""

    device: str
    description: str = "n/a"
    hwid: str = "n/a"
    manufacturer: str | None = None
    product: str | None = None


USB = Entry("/dev/ttyUSB0", "USB UART", "USB VID:PID=0001:0002", "A Maker", "USB UART")
BOARD = Entry("/dev/ttyS0")
RFCOMM = Entry("/dev/rfcomm0")
WINDOWS_BT = Entry("COM7", "Standard Serial over Bluetooth link", r"BTHENUM\{00001101}")


def everything(_: str) -> bool:
    return True


def found_in(*entries: Entry, allowed=everything) -> tuple[FoundPort, ...]:
    return sort_out(entries, allowed=allowed)


def test_hardware_is_found_and_the_boards_own_sockets_are_not() -> None:
    found = found_in(USB, BOARD, WINDOWS_BT, RFCOMM)
    assert [p.device for p in found] == ["/dev/rfcomm0", "/dev/ttyUSB0", "COM7"]


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        (USB, "USB UART, A Maker"),
        (RFCOMM, "Bluetooth"),
        (WINDOWS_BT, "Bluetooth, Standard Serial over Bluetooth link"),
        (Entry("/dev/ttyUSB1", hwid="USB"), "no description"),
        (Entry("COM3", "COM3", "USB"), "no description"),
        (Entry("/dev/ttyUSB1", "a\x1b[31mb\n", "USB"), "a[31mb"),
        (Entry("/dev/ttyUSB1", "Same", "USB", "Same", "Same"), "Same"),
    ],
)
def test_what_the_system_calls_it(entry: Entry, words: str) -> None:
    assert describe(entry) == words


def test_the_only_one_is_chosen_and_the_remembered_one_before_it() -> None:
    other = Entry("/dev/ttyACM0", "Modem", "USB VID")
    assert choose(found_in(USB), "").device == "/dev/ttyUSB0"
    assert choose(found_in(USB), "/dev/gone").device == "/dev/ttyUSB0"
    assert choose(found_in(USB, other), "/dev/ttyACM0").device == "/dev/ttyACM0"
    assert choose((), "socket://127.0.0.1:35000").device.startswith("socket://")


def test_several_are_listed_by_name() -> None:
    both = found_in(USB, RFCOMM)
    with pytest.raises(UsageError) as caught:
        choose(both, "")
    sentence = str(caught.value)
    assert "/dev/ttyUSB0 (USB UART, A Maker)" in sentence
    assert "/dev/rfcomm0 (Bluetooth)" in sentence
    assert "--port" in sentence


def test_one_that_may_not_be_used_does_not_stand_in_the_way() -> None:
    found = found_in(USB, RFCOMM, allowed=lambda device: device != "/dev/ttyUSB0")
    assert choose(found, "").device == "/dev/rfcomm0"


def test_only_forbidden_ones_are_named_with_the_remedy() -> None:
    with pytest.raises(PortError) as caught:
        choose(found_in(USB, allowed=lambda _: False), "")
    assert "/dev/ttyUSB0" in str(caught.value)
    assert "not permitted" in str(caught.value)


def test_none_at_all_says_what_to_do_also_for_bluetooth() -> None:
    with pytest.raises(PortError) as caught:
        choose((), "/dev/ttyUSB0")
    sentence = str(caught.value)
    for word in ("plug it in", "--port", "pair", "bind"):
        assert word in sentence
    assert "\n" not in sentence


def failure(number: int) -> OSError:
    return OSError(number, os.strerror(number))


@pytest.mark.parametrize(
    ("number", "name", "word"),
    [
        (errno.ENOENT, "/dev/ttyUSB9", "no such port"),
        (errno.ENOENT, "/dev/rfcomm0", "bind"),
        (errno.EACCES, "/dev/ttyUSB9", "group"),
        (errno.EPERM, "/dev/ttyUSB9", "group"),
        (errno.EBUSY, "/dev/ttyUSB9", "another program"),
        (errno.EIO, "/dev/ttyUSB9", "no adapter is behind it"),
        (errno.EHOSTDOWN, "/dev/rfcomm0", "switched on"),
        (errno.ECONNREFUSED, "socket://x:1", "nothing listens"),
        (errno.ETIMEDOUT, "socket://x:1", "network"),
    ],
)
def test_every_trouble_has_its_remedy(number: int, name: str, word: str) -> None:
    assert word in remedy(failure(number), name)
    # pyserial keeps the number in the text alone, or in the cause
    text = RuntimeError(f"could not open port: [Errno {number}] whatever")
    assert word in remedy(text, name)
    wrapped = RuntimeError("could not open")
    wrapped.__cause__ = failure(number)
    assert word in remedy(wrapped, name)


def test_windows_calls_a_busy_port_forbidden(monkeypatch) -> None:
    text = "could not open port 'COM3': PermissionError(13, 'Access is denied.', None)"
    monkeypatch.setattr(port_module.os, "name", "nt")
    assert "another program" in remedy(RuntimeError(text), "COM3")


def test_the_group_that_owns_the_port_is_named(tmp_path, monkeypatch) -> None:
    device = tmp_path / "ttyX"
    device.touch()
    monkeypatch.setattr(port_module.Path, "group", lambda _self: "dialout")
    assert "'dialout'" in not_permitted(str(device))
    assert "usermod -a -G dialout" in not_permitted(str(device))
    monkeypatch.setattr(port_module.Path, "group", lambda _self: "root")
    assert "administrator" in not_permitted(str(device))


@pytest.mark.parametrize("name", ["/dev/rfcomm77", "/dev/no-such-port", "socket://"])
async def test_a_port_that_cannot_be_opened_is_one_sentence(name: str) -> None:
    with pytest.raises(PortError) as caught:
        await open_port(name, 38400)
    assert name in str(caught.value)
    assert "\n" not in str(caught.value)


def test_speeds_are_remembered_by_port(tmp_path) -> None:
    path = tmp_path / "a" / "speeds.json"
    assert remembered_speed("COM3", path) is None
    remember_speed("COM3", 230400, path)
    remember_speed("/dev/ttyUSB0", 9600, path)
    assert remembered_speed("COM3", path) == 230400
    assert remembered_speed("/dev/ttyUSB0", path) == 9600
    remember_speed("COM3", 38400, path)
    assert remembered_speed("COM3", path) == 38400


@pytest.mark.parametrize("text", ["", "{", "[]", '{"COM3": "x"}', '{"COM3": -1}'])
def test_a_spoilt_memory_of_speeds_does_no_harm(tmp_path, text: str) -> None:
    path = tmp_path / "speeds.json"
    path.write_text(text)
    assert remembered_speed("COM3", path) is None
    remember_speed("COM3", 9600, path)
    assert remembered_speed("COM3", path) == 9600


def test_a_memory_that_cannot_be_written_does_no_harm(tmp_path) -> None:
    (tmp_path / "file").touch()
    remember_speed("COM3", 9600, tmp_path / "file" / "speeds.json")


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("socket://nohost:abc", "is no address of an adapter"),
        ("socket://nohost", "is no address of an adapter"),
        ("socket://h:70000", "is no address of an adapter"),
        ("other://h:1", "is no address of an adapter"),
        ("/etc/passwd", "is not a serial port"),
        ("/", "not a port"),
    ],
)
async def test_what_is_no_port_is_said_with_the_remedy(name, says):
    with pytest.raises(PortError) as told:
        await open_port(name, 38_400)
    assert says in str(told.value)

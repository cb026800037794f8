"""Port search and port troubles: what is found, named, chosen, and how to help it."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from bridge.link.ports import port_search, remedies
from bridge.link.ports.holders import Holder, holders
from bridge.link.ports.opening import open_port
from bridge.link.ports.port_search import (
    FoundPort,
    candidates,
    describe,
    find_again,
    identify,
    sort_out,
)
from bridge.link.ports.remedies import not_permitted, remedy
from bridge.values.errors import PortError
from tui.cli.flags.speeds import remember_speed, remembered_speed


@dataclass
class Entry:
    """As pyserial's list has them."""

    device: str
    description: str = "n/a"
    hwid: str = "n/a"
    manufacturer: str | None = None
    product: str | None = None
    vid: int | None = None
    pid: int | None = None
    serial_number: str | None = None


USB = Entry("/dev/ttyUSB0", "USB UART", "USB VID:PID=0001:0002", "A Maker", "USB UART")
BOARD = Entry("/dev/ttyS0")
RFCOMM = Entry("/dev/rfcomm0")
WINDOWS_BT = Entry("COM7", "Standard Serial over Bluetooth link", r"BTHENUM\{00001101}")


def nothing_wrong(_: str) -> str:
    return ""


def found_in(*entries: Entry, trouble=nothing_wrong) -> tuple[FoundPort, ...]:
    return sort_out(entries, trouble=trouble)


def names(found: tuple[FoundPort, ...]) -> list[str]:
    return [port.device for port in found]


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


def test_all_that_will_do_are_tried_and_the_one_of_last_time_alone() -> None:
    other = Entry("/dev/ttyACM0", "Modem", "USB VID")
    assert names(candidates(found_in(USB))) == ["/dev/ttyUSB0"]
    assert names(candidates(found_in(USB), "/dev/gone")) == ["/dev/ttyUSB0"]
    assert names(candidates(found_in(USB, other), "/dev/ttyACM0")) == ["/dev/ttyACM0"]
    assert names(candidates(found_in(USB, other))) == ["/dev/ttyACM0", "/dev/ttyUSB0"]
    wifi = "socket://127.0.0.1:35000"
    assert names(candidates((), wifi)) == [wifi]
    assert names(candidates(found_in(USB), wifi)) == [wifi, "/dev/ttyUSB0"]


def test_a_port_the_system_does_not_list_is_tried_if_it_was_used(tmp_path) -> None:
    odd = tmp_path / "ttyX"
    odd.touch()
    assert names(candidates(found_in(USB), str(odd))) == [str(odd), "/dev/ttyUSB0"]


def adapter(device: str, number: str | None, vid: int = 0x1234) -> Entry:
    return Entry(
        device, "Adapter", "USB VID", vid=vid, pid=0x5678, serial_number=number
    )


def test_the_one_of_last_time_is_known_by_its_number_not_by_its_name() -> None:
    mine = identify(adapter("/dev/ttyUSB0", "A1"))
    assert mine == "usb:1234:5678:A1"
    found = found_in(adapter("/dev/ttyUSB0", "B2"), adapter("/dev/ttyUSB1", "A1"))
    assert names(candidates(found, "/dev/ttyUSB0", mine)) == ["/dev/ttyUSB1"]
    # another one alone under the old name is no more likely than any other
    found = found_in(adapter("/dev/ttyUSB0", "B2"), adapter("/dev/ttyUSB1", "C3"))
    assert len(candidates(found, "/dev/ttyUSB0", mine)) == 2
    # two without a number are alike: the one under the old name
    mine = identify(adapter("/dev/ttyUSB1", None))
    found = found_in(adapter("/dev/ttyUSB0", None), adapter("/dev/ttyUSB1", None))
    assert names(candidates(found, "/dev/ttyUSB1", mine)) == ["/dev/ttyUSB1"]
    assert len(candidates(found, "/dev/ttyUSB7", mine)) == 2


@pytest.mark.parametrize(
    ("now", "where"),
    [
        ([("/dev/ttyUSB0", "A1")], "/dev/ttyUSB0"),
        ([("/dev/ttyUSB3", "A1")], "/dev/ttyUSB3"),
        ([("/dev/ttyUSB0", "B2"), ("/dev/ttyUSB1", "A1")], "/dev/ttyUSB1"),
        ([], "/dev/ttyUSB0"),
        ([("/dev/ttyUSB5", "B2")], "/dev/ttyUSB0"),
        ([("/dev/ttyUSB0", "B2")], "another device than before"),
        ([("/dev/ttyUSB1", "A1"), ("/dev/ttyUSB2", "A1")], "are alike"),
    ],
)
def test_plugged_in_elsewhere_it_is_found_again(monkeypatch, now, where) -> None:
    entries = [adapter(*each) for each in now]
    monkeypatch.setattr(port_search.list_ports, "comports", lambda: entries)
    if where.startswith("/dev"):
        assert find_again("/dev/ttyUSB0", "usb:1234:5678:A1") == where
    else:
        with pytest.raises(PortError, match=where):
            find_again("/dev/ttyUSB0", "usb:1234:5678:A1")


def test_one_that_may_not_be_used_does_not_stand_in_the_way() -> None:
    found = found_in(USB, RFCOMM, trouble=lambda d: "busy" if "USB" in d else "")
    assert names(candidates(found)) == ["/dev/rfcomm0"]
    assert names(candidates(found, "/dev/ttyUSB0")) == ["/dev/rfcomm0"]


def test_only_forbidden_ones_are_named_with_the_remedy() -> None:
    with pytest.raises(PortError) as caught:
        candidates(found_in(USB, trouble=not_permitted))
    assert "/dev/ttyUSB0" in str(caught.value)
    assert "not permitted" in str(caught.value)


def test_none_at_all_says_what_to_do_also_for_bluetooth() -> None:
    with pytest.raises(PortError) as caught:
        candidates((), "/dev/ttyUSB0")
    sentence = str(caught.value)
    for word in ("plug it in", "--port", "pair", "bind", "rfcomm://", "ble://"):
        assert word in sentence
    assert "\n" not in sentence


def test_the_program_that_holds_a_port_is_named(tmp_path, monkeypatch) -> None:
    """As proc(5) has it: /proc/PID/fd/N links to the file, /proc/PID/comm names it."""
    device = tmp_path / "ttyX"
    device.touch()
    for pid, name, target in ((41, "other", "/dev/null"), (42, "logger", device)):
        folder = tmp_path / "proc" / str(pid) / "fd"
        folder.mkdir(parents=True)
        (folder / "3").symlink_to(target)
        (folder.parent / "comm").write_text(name + "\n")
    (tmp_path / "proc" / "self").mkdir()
    assert holders(str(device), tmp_path / "proc") == (Holder(pid=42, name="logger"),)
    assert holders(str(device), tmp_path / "none") == ()
    monkeypatch.setattr(remedies, "holders", lambda _: (Holder(pid=42, name="logger"),))
    sentence = remedy(failure(errno.EBUSY), str(device))
    assert sentence == "logger (process 42) holds it; close that program"


@pytest.mark.skipif(not Path("/proc/self/fd").is_dir(), reason="no /proc here")
def test_a_real_program_that_holds_a_real_pty_is_named() -> None:
    master, slave = os.openpty()
    path = os.ttyname(slave)
    code = "import sys; f = open(sys.argv[1]); print('open', flush=True); input()"
    with subprocess.Popen(
        [sys.executable, "-c", code, path],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as other:
        assert other.stdout.readline() == "open\n"
        assert [h.pid for h in holders(path)] == [other.pid]
        assert str(other.pid) in port_search.trouble(path)
        other.communicate("\n")
    assert holders(path) == ()
    os.close(master)
    os.close(slave)


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
    monkeypatch.setattr(remedies.os, "name", "nt")
    assert "another program" in remedy(RuntimeError(text), "COM3")


def test_the_group_that_owns_the_port_is_named(tmp_path, monkeypatch) -> None:
    device = tmp_path / "ttyX"
    device.touch()
    monkeypatch.setattr(remedies.Path, "group", lambda _self: "dialout")
    assert "'dialout'" in not_permitted(str(device))
    assert "usermod -a -G dialout" in not_permitted(str(device))
    monkeypatch.setattr(remedies.Path, "group", lambda _self: "root")
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

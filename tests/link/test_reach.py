"""No port named: what is there is tried in turn, on real pseudo-terminals."""

from __future__ import annotations

import itertools
import json
import os
import subprocess
import sys
import threading
from argparse import Namespace
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from bridge.link.ports import port_search
from bridge.values.errors import PortError
from tui.cli.flags import reach as reach_module
from tui.cli.flags.reach import reach
from tui.cli.main import main
from tui.settings import Settings, load_settings

pytestmark = pytest.mark.skipif(
    not hasattr(os, "openpty"), reason="no pseudo-terminals here"
)


@dataclass
class Entry:
    """As pyserial's list has them."""

    device: str
    serial_number: str
    description: str = "Adapter"
    hwid: str = "USB VID"
    manufacturer: str | None = None
    product: str | None = None
    vid: int = 0x1234
    pid: int = 0x5678


def serve() -> tuple[str, subprocess.Popen[str]]:
    """Serve a bench on a pty; return its path and the program."""
    command = [sys.executable, "-m", "tui", "bench", "--pty", "--scene", "warm-day"]
    served = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    return served.stdout.readline().split()[-1], served


@pytest.fixture
def bench() -> Iterator[str]:
    """Give the path of a bench."""
    path, served = serve()
    with served:
        yield path
        served.kill()


@pytest.fixture
def dead() -> Iterator[str]:
    """Give a pty that answers nothing."""
    master, slave = os.openpty()
    yield os.ttyname(slave)
    os.close(master)
    os.close(slave)


@pytest.fixture
def busy() -> Iterator[str]:
    """Give a pty that another program holds."""
    master, slave = os.openpty()
    code = "import sys; f = open(sys.argv[1]); print('open', flush=True); input()"
    with subprocess.Popen(
        [sys.executable, "-c", code, os.ttyname(slave)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as other:
        other.stdout.readline()
        yield os.ttyname(slave)
        other.communicate("\n")
    os.close(master)
    os.close(slave)


@pytest.fixture(autouse=True)
def own_settings(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))


def there(monkeypatch, *ports: tuple[str, str]) -> None:
    entries = [Entry(*each) for each in ports]
    monkeypatch.setattr(port_search.list_ports, "comports", lambda: entries)


ARGS = Namespace(port=None, baud=None)


def test_the_one_that_answers_is_taken_and_remembered_by_its_number(
    bench, dead, busy, monkeypatch, capsys
) -> None:
    there(monkeypatch, (dead, "D1"), (busy, "C1"), (bench, "B1"))
    assert reach(ARGS, load_settings()).port == bench
    told = capsys.readouterr().err
    assert f"trying port 1 of 2: {min(dead, bench)} (Adapter)" in told
    assert f"an adapter answers at {bench}" in told
    kept = load_settings()
    assert (kept.port, kept.port_id) == (bench, "usb:1234:5678:B1")
    # another name, and nothing is tried this time
    there(monkeypatch, (dead, "D1"), ("/dev/ttyNEW", "B1"))
    monkeypatch.setattr(reach_module, "_first_that_answers", None)
    assert reach(ARGS, kept).port == "/dev/ttyNEW"


@pytest.mark.slow
def test_none_that_answers_is_said_with_each_ones_reason(
    dead, monkeypatch, capsys
) -> None:
    there(monkeypatch, (dead, "D1"), ("/dev/ttyGONE", "G1"))
    with pytest.raises(PortError) as told:
        reach(ARGS, Settings())
    sentence = str(told.value)
    assert "no adapter answers on any port" in sentence
    assert dead in sentence
    assert "/dev/ttyGONE" in sentence
    assert "no such port" in sentence
    assert load_settings().port == ""


def test_a_busy_one_is_passed_over_and_named(busy, monkeypatch) -> None:
    there(monkeypatch, (busy, "C1"))
    with pytest.raises(PortError, match=r"process \d+\) holds it; close that program"):
        reach(ARGS, Settings())


def test_a_named_port_is_known_again_by_its_number(monkeypatch) -> None:
    there(monkeypatch, ("/dev/ttyUSB0", "B1"))
    named = reach(Namespace(port="/dev/ttyUSB0", baud=None), Settings())
    assert named.identity == "usb:1234:5678:B1"
    assert reach(Namespace(port="socket://h:1", baud=None), Settings()).identity == ""


@pytest.mark.slow
def test_unplugged_in_the_middle_and_plugged_in_elsewhere_it_goes_on(
    dead, monkeypatch, capsys
) -> None:
    first, served = serve()
    mine = Entry(first, "B1")
    entries = [Entry(dead, "D1"), mine]
    monkeypatch.setattr(port_search.list_ports, "comports", lambda: entries)

    def move() -> None:
        served.kill()
        served.wait()
        served.stdout.close()
        entries.remove(mine)
        path, other = serve()
        others.append(other)
        entries.append(Entry(path, "B1"))

    others: list[subprocess.Popen[str]] = []
    mover = threading.Timer(7.0, move)
    mover.start()
    code = main([
        "live", "--json", "--for", "20", "--no-record",
        "--profile", "scar-eight-speed", "--port", first,
    ])  # fmt: skip
    mover.join()
    for other in others:
        with other:
            other.kill()
    shown = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    states = [one for one, _ in itertools.groupby(s["link"] for s in shown)]
    assert code == 0
    assert "lost" in states
    before, after = states[: states.index("lost")], states[states.index("lost") :]
    assert before[-1] == "live"
    assert after[-1] == "live"
    assert shown[-1]["temp_c"] is not None
    assert all(
        s["temp_c"] is None
        for s in shown
        if s["link"] == "lost" and (s["age_s"] or 9) > 3
    )


def test_the_speed_that_was_found_is_the_one_it_is_opened_at(monkeypatch) -> None:
    there(monkeypatch, ("/dev/ttyUSB8", "D1"), ("/dev/ttyUSB9", "B1"))

    async def answers(_, search):
        search.found = 9600
        return

    monkeypatch.setattr("bridge.link.examine.answers", answers)
    opened = []
    monkeypatch.setattr(
        "bridge.link.ports.opening.make_opener",
        lambda name, baud, identity: opened.append((name, baud)),
    )
    assert reach(ARGS, Settings()).speed == 9600
    assert opened[-1] == ("/dev/ttyUSB8", 9600)

"""Whatever is named as a file: refused in one sentence before it is read."""

from __future__ import annotations

import os
import socket
from pathlib import Path

import pytest

from bridge.plain_file import need_plain, read_plain
from bridge.values.errors import TraceError, UsageError
from simulators.car.curve import read_trace
from simulators.serve.playback import read_playback
from tui.cli.main import main

WORDS = {
    "pipe": "a pipe",
    "folder": "a folder",
    "socket": "a socket",
    "/dev/zero": "a device",
    "/dev/full": "a device",
}


@pytest.fixture
def odd(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)  # a socket's path must be short
    os.mkfifo("pipe")
    Path("folder").mkdir()
    with socket.socket(socket.AF_UNIX) as bound:
        bound.bind("socket")
    with Path("large").open("wb") as file:
        file.truncate(100_000_000)  # takes no room on the disk
    Path("latin").write_bytes(b"caf\xe9")
    Path("nested").write_text("[[fault]]\nat = " + "[" * 100_000, "utf-8")
    Path("digits").write_text(
        '[[fault]]\nat = "1 s"\nname = "silent"\nx = ' + "9" * 6_000, "utf-8"
    )
    return tmp_path


@pytest.mark.parametrize("name", WORDS)
def test_what_is_no_file_is_named_as_what_it_is(odd: Path, name: str) -> None:
    for read in (read_plain, need_plain):
        with pytest.raises(UsageError, match=WORDS[name]) as said:
            read(Path(name), "a text", most_bytes=1000)
        assert "give the path of a text." in str(said.value)


@pytest.mark.parametrize("name", ["absent", "a\0b", "x" * 5000])
def test_what_is_not_there_is_one_sentence(odd: Path, name: str) -> None:
    for read in (read_plain, need_plain):
        with pytest.raises(TraceError, match="cannot be read") as said:
            read(Path(name), "a text", most_bytes=1000, error=TraceError)
        assert len(str(said.value)) < 400


def test_size_comes_first_and_text_must_be_text(odd: Path) -> None:
    with pytest.raises(UsageError, match=r"too large \(100 MB"):
        read_plain(Path("large"), "a text", most_bytes=1_000_000)
    with pytest.raises(UsageError, match="not a text file"):
        read_plain(Path("latin"), "a text", most_bytes=1_000_000)
    Path("good").write_bytes(b"\xef\xbb\xbfgood")
    assert read_plain(Path("good"), "a text", most_bytes=7) == "good"


@pytest.mark.parametrize("name", [*WORDS, "large", "latin", "absent"])
def test_every_reader_goes_through_the_door(odd: Path, name: str) -> None:
    with pytest.raises(TraceError):
        read_trace(name)
    with pytest.raises(UsageError):
        read_playback(name)


@pytest.mark.parametrize("name", [*WORDS, "large", "latin", "nested", "digits"])
@pytest.mark.parametrize(
    "verb",
    [
        ["replay", "--profile", "scar-eight-speed"],
        ["bench", "--tcp", "127.0.0.1:0", "--faults"],
        ["bench", "--tcp", "127.0.0.1:0", "--trace"],
        ["bench", "--tcp", "127.0.0.1:0", "--from-log"],
        ["demo", "--json", "--for", "1", "--faults"],
        ["sheet", "new", "--answers"],
        ["sheet", "show"],
        ["find", "--profile", "scar-eight-speed", "--port", "none", "--state"],
    ],
    ids=" ".join,
)
@pytest.mark.few(12)
def test_verbs_refuse_in_one_sentence(
    odd: Path, verb: list[str], name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*verb, name]) == 2
    said = capsys.readouterr().err
    assert said.startswith("sumpgate: ")
    assert said.count("\n") == 1
    assert len(said) < 600

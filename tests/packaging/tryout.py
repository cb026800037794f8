"""The whole program tried from outside, however it was installed.

``python tests/packaging/tryout.py COMMAND...`` runs it by hand. Each trial raises
AssertionError with what the program said.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

SHEET = "tarn-step-automatic"
LONG_S = 240


def kept() -> dict[str, str]:
    """Return what a program needs of the environment, and nothing of Python's."""
    keep = ("PATH", "SYSTEMROOT", "TEMP", "TMP", "TMPDIR", "LANG")
    return {name: os.environ[name] for name in keep if name in os.environ}


class Program:
    """A command that starts the program, and what it is started in."""

    def __init__(self, command: list[str], folder: Path, **env: str) -> None:
        homes = ("HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME")
        home = {name: str(folder / "home") for name in homes}
        self.command, self.folder = command, folder
        self.env = {**kept(), **home, **env}

    def run(
        self, *args: str, code: int = 0, traced: bool = False
    ) -> subprocess.CompletedProcess[bytes]:
        done = subprocess.run(
            [*self.command, *args],
            cwd=self.folder,
            env=self.env,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=LONG_S,
        )
        said = done.stderr.decode("utf-8", "replace")
        assert done.returncode == code, f"{args} ended with {done.returncode}: {said}"
        assert traced or "Traceback" not in said, said
        return done

    @contextmanager
    def running(self, *args: str) -> Iterator[subprocess.Popen[bytes]]:
        process = subprocess.Popen(
            [*self.command, *args],
            cwd=self.folder,
            env=self.env,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
        )
        try:
            yield process
        finally:
            process.terminate()
            process.communicate(timeout=LONG_S)


def demo(program: Program, job: str = "tried.job") -> None:
    """The demo reaches GO without a screen, and is recorded."""
    flags = ("--json", "--scene", "warm-day", "--speed", "1000", "--for", "90")
    rows = (
        program.run("demo", *flags, "--record", job).stdout.decode("utf-8").splitlines()
    )
    assert "GO" in {json.loads(row)["verdict"] for row in rows}


def sheets(program: Program) -> None:
    """A sheet that came along is shown, written out, and can be read back."""
    assert SHEET in program.run("sheet", "list").stdout.decode("ascii", "replace")
    program.run("sheet", "show", SHEET)
    program.run("sheet", "show", SHEET, "--toml", "--out", "mine.toml", "--force")
    program.run("sheet", "check", "mine.toml")
    program.run("sheet", "schema", "--out", "schema.json", "--force")
    json.loads((program.folder / "schema.json").read_text("utf-8"))


def live_over_tcp(program: Program) -> None:
    """The bench serves a port, and live reads the fluid through it."""
    with program.running("bench", "--tcp", "127.0.0.1:0", "--profile", SHEET) as bench:
        assert bench.stdout is not None
        port = _found(bench, rb"127\.0\.0\.1:(\d+)")
        flags = ("--port", f"socket://127.0.0.1:{port}", "--profile", SHEET)
        with program.running("live", *flags, "--json", "--no-record") as live:
            _found(live, rb'"temp_c": (\d+)')


def report(program: Program, job: str = "tried.job", *, pdf: bool = True) -> None:
    """The recorded job becomes a page, and a PDF where that is installed."""
    flags = ("--pdf",) if pdf else ()
    said = program.run("report", job, "--out", "r.html", "--force", *flags)
    assert b"intact" in said.stdout
    assert "</html>" in (program.folder / "r.html").read_text("utf-8")
    assert not pdf or (program.folder / "r.pdf").read_bytes().startswith(b"%PDF-")


def missing_extras(program: Program) -> None:
    """Nothing is begun, and one sentence says what to install."""
    for extra, args in (
        ("pdf", ("report", "last", "--pdf")),
        ("phone", ("demo", "--json", "--for", "1", "--phone")),
        ("ble", ("live", "--port", "ble://x", "--profile", SHEET, "--json")),
    ):
        said = program.run(*args, code=3 if extra == "ble" else 2).stderr.decode()
        assert f"pip install 'sumpgate[{extra}]'" in said
        assert said.count("\n") == 1, said


def phone_page(program: Program) -> None:
    """The page is served, with its script."""
    flags = ("--json", "--for", "60", "--phone", "--phone-port", "0")
    with program.running("demo", *flags) as served:
        host, token = _found(served, rb"http://([^/\s]+)/(\S+)").split(" ")
        origin = {"Origin": f"http://{host}", "Content-Type": "application/json"}
        _status, cookie = _ask(host, "/pair", origin, {"token": token})
        for path, has in (("/", "<html"), ("/link.js", "open()")):
            assert has in _ask(host, path, {"Cookie": cookie})[0]


def _ask(
    host: str, path: str, headers: dict[str, str], body: object = None
) -> tuple[str, str]:
    data = None if body is None else json.dumps(body).encode()
    asked = urllib.request.Request(f"http://{host}{path}", data, headers)
    with urllib.request.urlopen(asked) as answer:
        cookie = answer.headers.get("Set-Cookie", "").partition(";")[0]
        return answer.read().decode("utf-8"), cookie


def _found(process: subprocess.Popen[bytes], pattern: bytes) -> str:
    assert process.stdout is not None
    heard, end_s = b"", time.monotonic() + LONG_S
    for line in process.stdout:
        heard += line
        if time.monotonic() > end_s:
            break
        if found := re.search(pattern, line):
            return b" ".join(found.groups()).decode()
    raise AssertionError(heard[-2000:].decode("utf-8", "replace"))


def everything(program: Program) -> None:
    """Try all of it."""
    program.run("--version")
    for trial in (sheets, demo, live_over_tcp, report, phone_page):
        trial(program)
        print(f"{trial.__name__}: good", flush=True)


if __name__ == "__main__":
    folder = Path("tried")
    folder.mkdir(exist_ok=True)
    everything(Program(sys.argv[1:], folder.resolve()))

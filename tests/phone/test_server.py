"""The page's server, asked over a real socket.

Status codes: RFC 9110, section 15 (429: RFC 6585, section 4). Cookies: RFC 6265.
Server-sent events: WHATWG HTML, section 9.2. Policy: Content Security Policy level 3.
"""

from __future__ import annotations

import json
import socket
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace

import pytest

from bridge.level.step.step_values import Instruction, Phase, Step
from bridge.values.events import Mark, Marked
from tests.phone.hosted import Hosted, hosted
from tests.tui.stage import WARM_UP
from tui.phone import connections, hub, routes
from tui.phone.connections import MOST_OF_ONE
from tui.phone.limits import GUESSES, STRANGER
from tui.phone.request_filter import ASSETS

GO = WARM_UP.snapshot(WARM_UP.t_at(45.0))
NONCE = "0123456789abcdef0123456789abcdef"


@pytest.fixture(scope="module")
def ends() -> Iterator[Callable[[Callable[[], None]], object]]:
    """End each server while the next test runs; all of them have ended well after."""
    with ThreadPoolExecutor() as pool:
        ended: list[Future[None]] = []
        yield lambda end: ended.append(pool.submit(end))
        for one in ended:
            one.result(30)


@pytest.fixture
def host(ends: Callable[[Callable[[], None]], object]) -> Iterator[Hosted]:
    with hosted(leave=ends) as here:
        here.phase(GO, phase=Phase.GO, instruction=Instruction.OPEN_NOW)
        yield here


def test_the_page_is_served_to_who_has_the_token_and_uses_nothing_up(
    host: Hosted,
) -> None:
    token = host.server.pairing.token
    for _ in range(3):  # a code reader's preview, the browser, a reload
        status, headers, body = host.ask("GET", f"/{token}")
        assert status == 200
        assert headers["content-type"] == "text/html; charset=utf-8"
        assert b"sumpgate" in body
    assert host.server.pairing.token == token


def test_every_answer_forbids_caching_framing_and_foreign_content(
    host: Hosted,
) -> None:
    cookie = host.pair()
    asked = [("GET", "/", cookie), ("GET", "/time", cookie), ("GET", "/no", "")]
    asked += [("GET", path, "") for path in ASSETS]
    for method, path, shown in asked:
        _, headers, _ = host.ask(method, path, cookie=shown)
        assert headers["cache-control"] == "no-store"  # RFC 9111, 5.2.2.5
        policy = headers["content-security-policy"].split("; ")
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        assert not any("unsafe" in part or "http" in part for part in policy)
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "no-referrer"


def test_pairing_sets_a_cookie_no_script_can_read(host: Hosted) -> None:
    token = host.server.pairing.token
    status, headers, _ = host.ask("POST", "/pair", {"token": token})
    assert status == 200
    name, *rest = headers["set-cookie"].split("; ")
    port = host.authority.rpartition(":")[2]
    assert name.startswith(f"sumpgate-{port}=")  # RFC 6265, 8.5: no port isolation
    assert {"HttpOnly", "Path=/", "SameSite=strict"} <= set(rest)
    status, _, _ = host.ask("POST", "/pair", {"token": token})
    assert status == 403


@pytest.mark.parametrize("path", ["/", "/stream", "/time"])
def test_nothing_of_the_job_without_a_session(host: Hosted, path: str) -> None:
    assert host.ask("GET", path)[0] == 403
    assert host.ask("GET", path, cookie="sumpgate-1=00")[0] == 403


def test_the_stream_sends_events_that_say_when_they_were_made(host: Hosted) -> None:
    told = _events(host, host.pair(), lambda heard: len(heard) > 4 and heard[-1]["go"])
    assert told[-1]["number"] == "45.0"
    assert told[-1]["main"] == "opened"
    times = [t["sent_s"] for t in told]
    assert times == sorted(times)
    assert 0 <= time.monotonic() - times[-1] < 60


def test_a_monitor_that_falls_silent_is_told_as_no_go(
    host: Hosted, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(hub, "CONTACT_S", 0.6)
    monkeypatch.setattr(hub, "SILENT_S", 0.3)
    cookie = host.pair()
    _events(host, cookie, lambda heard: heard[-1]["go"])
    host.silence()
    told = _events(host, cookie, lambda heard: not heard[-1]["held"])[-1]
    assert told["headline"] == "No data from the monitor"
    assert not told["go"]
    assert told["number"] == "--.-"
    assert told["main"] is None


def test_the_end_of_the_job_is_told(host: Hosted) -> None:
    cookie = host.pair()
    host.silence()
    host.hub.ended()
    told = _events(host, cookie, lambda heard: "ended" in heard[-1]["remedy"])[-1]
    assert not told["held"]
    assert not told["go"]
    status, answer = host.mark(cookie, "opened", NONCE)
    assert (status, answer["outcome"]) == (503, "no-monitor")


def test_a_mark_reaches_the_monitor_once_whatever_is_repeated(host: Hosted) -> None:
    cookie, at_s = host.pair(), time.monotonic()
    first = host.mark(cookie, "opened", NONCE, at_s)
    assert first == (200, {"outcome": "taken", "repeat": False})
    for _ in range(5):
        again = host.mark(cookie, "opened", NONCE, at_s)
        assert again == (200, {"outcome": "taken", "repeat": True})
    assert [m.mark for m in host.told] == [Mark.OPENED]


def test_a_mark_that_the_phase_does_not_have_is_not_told(host: Hosted) -> None:
    cookie = host.pair()
    for n, name in enumerate(("drip", "closed", "undo", "streaming", "nothing-came")):
        status, answer = host.mark(cookie, name, f"{n:032x}")
        assert (status, answer["outcome"]) == (409, "not-now")
    assert host.told == []


@pytest.mark.parametrize(
    "name", ["confirmed", "withdrawn", "added", "restart", "GO", "", 1, None, [], {}]
)
def test_nothing_but_marks_of_the_opening_is_a_mark(host: Hosted, name: object) -> None:
    body = {"mark": name, "nonce": NONCE, "at_s": time.monotonic()}
    assert host.ask("POST", "/mark", body, cookie=host.pair())[0] == 422
    assert host.told == []


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"[]",
        b'"drip"',
        b"\xff\xfe",
        b"[" * 500,
        {"mark": "opened"},
        {"mark": "opened", "nonce": "short", "at_s": 1.0},
        {"mark": "opened", "nonce": NONCE, "at_s": "now"},
        {"mark": "opened", "nonce": NONCE, "at_s": True},
        {"mark": "opened", "nonce": NONCE, "at_s": 1.0, "confirms": "cautions"},
        b'{"mark": "opened", "nonce": "' + NONCE.encode() + b'", "at_s": NaN}',
        b'{"mark": "opened", "nonce": "' + NONCE.encode() + b'", "at_s": 1e999}',
    ],
)
def test_a_body_that_is_no_mark_is_refused(host: Hosted, body: object) -> None:
    assert host.ask("POST", "/mark", body, cookie=host.pair())[0] == 422
    assert host.told == []


@pytest.mark.parametrize("off_s", [-60.0, -3.5, 5.0])
def test_a_mark_of_another_time_is_not_told(host: Hosted, off_s: float) -> None:
    cookie = host.pair()
    status, answer = host.mark(cookie, "opened", NONCE, time.monotonic() + off_s)
    assert (status, answer["outcome"]) == (409, "too-late")
    assert host.told == []


@pytest.mark.parametrize(
    ("method", "path", "allowed"),
    [
        ("POST", "/", "GET"),
        ("GET", "/mark", "POST"),
        ("PUT", "/mark", "POST"),
        ("DELETE", "/stream", "GET"),
        ("OPTIONS", "/mark", "POST"),
        ("HEAD", "/", "GET"),
        ("PATCH", "/whatever", "GET"),
    ],
)
def test_other_methods_are_refused(
    host: Hosted, method: str, path: str, allowed: str
) -> None:
    status, headers, _ = host.ask(method, path, {}, cookie=host.pair())
    assert status == 405
    assert headers["allow"] == allowed  # RFC 9110, 15.5.6: Allow must be there


@pytest.mark.parametrize(
    ("headers", "wanted"),
    [
        ({"Origin": "http://elsewhere.example"}, 403),
        ({"Origin": "null"}, 403),
        ({"Origin": "https://{authority}"}, 403),
        ({"Host": "elsewhere.example"}, 421),
        ({"Host": ""}, 421),
        ({"Sec-Fetch-Site": "cross-site"}, 403),
        ({"Sec-Fetch-Site": "same-site"}, 403),
        ({"Content-Type": "text/plain"}, 415),
        ({"Content-Type": "application/x-www-form-urlencoded"}, 415),
        ({"X-More": "x" * 9000}, 431),
        ({"Content-Length": "513"}, 413),
        ({"Content-Length": "9" * 5000}, 413),
        ({"Transfer-Encoding": "chunked"}, 411),
    ],
)
def test_a_request_from_elsewhere_or_of_another_kind_is_refused(
    host: Hosted, headers: dict[str, str], wanted: int
) -> None:
    sent = {k: v.format(authority=host.authority) for k, v in headers.items()}
    body = {"mark": "opened", "nonce": NONCE, "at_s": time.monotonic()}
    cookie = host.pair()
    status, _, _ = host.ask("POST", "/mark", body, cookie=cookie, headers=sent)
    # 400: a length no HTTP parser takes
    assert status in (wanted, 400) if "9" * 50 in str(sent) else status == wanted
    assert host.told == []


def test_a_post_without_an_origin_is_refused(host: Hosted) -> None:
    cookie = host.pair()
    raw = (
        f"POST /mark HTTP/1.1\r\nHost: {host.authority}\r\nCookie: {cookie}\r\n"
        "Content-Type: application/json\r\nContent-Length: 2\r\n\r\n{}"
    )
    assert b" 403 " in _raw(host, raw.encode()).partition(b"\r\n")[0]


@pytest.mark.parametrize(
    "path",
    ["/" + "A" * 500, "/?token=A", "/stream?x=1", "/..%2f..%2fetc", "//", "/%00"],
)
def test_odd_addresses_are_refused(host: Hosted, path: str) -> None:
    assert host.ask("GET", path)[0] in (404, 414)


def test_what_a_browser_asks_for_by_itself_is_no_guess(host: Hosted) -> None:
    icons = ("/favicon.ico", "/apple-touch-icon-120x120.png", "/robots.txt")
    for n in range(3 * int(GUESSES.burst)):
        assert host.ask("GET", icons[n % 3])[0] == 404
    assert host.server.refusals.counts["wrong or used token"] == 0
    assert host.ask("GET", f"/{host.server.pairing.token}")[0] == 200
    host.pair()


def test_a_mark_the_monitor_has_begun_to_take_is_never_called_not_taken(
    host: Hosted, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk is slow: the answer comes after the wait for it is over."""
    monkeypatch.setattr(hub, "TAKING_S", 0.1)
    real = host.hub._commands.tell

    def slow(told: Marked) -> object:
        time.sleep(0.5)
        return real(told)

    monkeypatch.setattr(host.hub._commands, "tell", slow)
    status, answer = host.mark(host.pair(), "opened", NONCE)
    assert [m.mark for m in host.told] == [Mark.OPENED]
    assert (status, answer["outcome"]) == (200, "taken")


def test_a_mark_that_waited_too_long_is_not_taken_later(
    host: Hosted, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(hub, "TAKING_S", 0.1)
    cookie = host.pair()
    host.loop.call_soon_threadsafe(time.sleep, 0.5)
    status, answer = host.mark(cookie, "opened", NONCE)
    assert (status, answer["outcome"]) == (503, "no-monitor")
    assert host.mark(cookie, "opened", NONCE)[1]["outcome"] == "no-monitor"
    done = threading.Event()
    host.loop.call_soon_threadsafe(done.set)
    assert done.wait(10)
    assert host.told == []


def test_a_mark_that_nobody_takes_is_not_called_taken(
    host: Hosted, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(host.hub._commands, "tell", lambda _told: None)
    status, answer = host.mark(host.pair(), "opened", NONCE)
    assert (status, answer["outcome"]) == (503, "no-monitor")


def test_wrong_tokens_are_soon_not_even_looked_at(host: Hosted) -> None:
    cookie = host.pair()
    tries = int(GUESSES.burst) + 10
    said = [host.ask("POST", "/pair", {"token": "A" * 16})[0] for _ in range(tries)]
    assert set(said[: int(GUESSES.burst)]) == {403}
    assert set(said[int(GUESSES.burst) + 1 :]) == {429}
    # the right one is not taken now, and the phone that is paired notices nothing
    assert host.ask("POST", "/pair", {"token": host.server.pairing.token})[0] == 429
    assert host.ask("GET", "/time", cookie=cookie)[0] == 200


def test_a_flood_of_strangers_does_not_touch_the_paired_phone(host: Hosted) -> None:
    cookie = host.pair()
    said = [host.ask("GET", "/page.css")[0] for _ in range(int(STRANGER.burst) + 30)]
    assert 429 in said
    assert host.ask("GET", "/time", cookie=cookie)[0] == 200
    assert host.mark(cookie, "opened", NONCE)[0] == 200


def test_half_open_connections_are_ended(
    host: Hosted, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connections, "ASK_S", 0.4)
    with socket.create_connection(_place(host)) as idle:
        idle.settimeout(10)
        idle.sendall(b"GET / HTTP/1.1\r\nHost: ")
        assert _ended(idle)
    assert host.server.refusals.counts["slow or half-open connection"] >= 1


def test_a_body_that_never_comes_is_not_waited_for(
    host: Hosted, monkeypatch: pytest.MonkeyPatch
) -> None:
    cookie = host.pair()
    monkeypatch.setattr(connections, "ASK_S", 0.4)
    with socket.create_connection(_place(host)) as slow:
        slow.settimeout(10)
        head = (
            f"POST /mark HTTP/1.1\r\nHost: {host.authority}\r\nCookie: {cookie}\r\n"
            f"Origin: http://{host.authority}\r\nContent-Type: application/json\r\n"
            "Content-Length: 100\r\n\r\n{"
        )
        slow.sendall(head.encode())
        assert _ended(slow)
    assert host.told == []


def test_a_phone_that_takes_nothing_is_dropped(
    host: Hosted, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(routes, "SLOW_S", 0.5)
    monkeypatch.setattr(hub, "SPACING_S", 0.01)
    cookie = host.pair()
    large = replace(GO, link_detail="x", selector="y")
    with socket.socket() as deaf:
        deaf.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 2048)
        deaf.connect(_place(host))
        ask = f"GET /stream HTTP/1.1\r\nHost: {host.authority}\r\nCookie: {cookie}"
        deaf.sendall(f"{ask}\r\n\r\n".encode())
        end_s = time.monotonic() + 60
        while not host.server.refusals.counts["phone too slow, dropped"]:
            host.play(large)  # as fast as the hub sends them on
            time.sleep(0.02)
            assert time.monotonic() < end_s
    assert host.ask("GET", "/time", cookie=cookie)[0] == 200


def test_many_connections_push_out_their_own_kind_only(host: Hosted) -> None:
    cookie = host.pair()
    held = [socket.create_connection(_place(host)) for _ in range(3 * MOST_OF_ONE)]
    try:
        assert host.ask("GET", "/time", cookie=cookie)[0] == 200
        assert host.server.connections.open <= MOST_OF_ONE + 1
    finally:
        for one in held:
            one.close()


def test_refusals_are_logged_without_what_was_sent(host: Hosted) -> None:
    cookie = host.pair()
    host.ask("GET", "/SECRETSECRETSECR")
    host.ask("POST", "/mark", {"mark": "x" * 50}, cookie=cookie)
    log = "\n".join(host.lines)
    assert "wrong or used token" in log
    assert "not a mark" in log
    for secret in ("SECRET", "xxxx", cookie, host.server.pairing.token):
        assert secret not in log


def test_undo_reaches_the_monitor(host: Hosted) -> None:
    before = Step(phase=Phase.GO)
    host.phase(
        GO, phase=Phase.RUNNING_DOWN, instruction=Instruction.WATCH, past=(before,)
    )
    cookie = host.pair()
    assert host.mark(cookie, "drip", "1" * 32)[0] == 200
    assert host.mark(cookie, "undo", "2" * 32)[0] == 200
    assert [m.mark for m in host.told] == [Mark.DRIP, Mark.UNDO]


def _place(host: Hosted) -> tuple[str, int]:
    name, _, port = host.authority.rpartition(":")
    return name, int(port)


def _raw(host: Hosted, data: bytes) -> bytes:
    with socket.create_connection(_place(host), timeout=5) as link:
        link.sendall(data)
        return link.recv(65536)


def _ended(link: socket.socket) -> bool:
    try:
        while link.recv(4096):
            pass
    except ConnectionError:
        pass
    return True  # a time-out would have raised TimeoutError


def _events(host: Hosted, cookie: str, enough: Callable[[list], bool]) -> list[dict]:
    """Follow the stream until what was heard is enough."""
    with socket.create_connection(_place(host), timeout=10) as link:
        ask = f"GET /stream HTTP/1.1\r\nHost: {host.authority}\r\nCookie: {cookie}\r\n"
        link.sendall(f"{ask}\r\n".encode())
        raw, told = b"", []
        while not (told and enough(told)):
            raw += link.recv(65536)
            whole = raw[: raw.rfind(b"\n\n") + 1]
            lines = [li for li in whole.splitlines() if li.startswith(b"data: ")]
            told = [json.loads(line[6:]) for line in lines]
    assert b"content-type: text/event-stream" in raw
    return told

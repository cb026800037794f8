"""Whoever else is on the network, in a process of its own: phones, and attackers.

``python others.py phones PORT COUNT SECONDS COOKIE`` or
``... attack PORT COUNT SEED COOKIES DEAF_S``; prints one JSON object.
"""

from __future__ import annotations

import asyncio
import itertools
import json
import random
import socket
import sys
import time
from collections import Counter

HOST = "127.0.0.1"


async def follow(port: int, seconds: float, cookie: str) -> list[float]:
    """Follow the stream as a page does, opening it anew where it ends.

    Return when each message came, between the beginning and the end.
    """
    began = time.monotonic()
    came = [began]
    while time.monotonic() < began + seconds:
        try:
            await _listen(port, cookie, came, began + seconds)
        except OSError:
            await asyncio.sleep(0.2)
    return [*came, time.monotonic()]


async def _listen(port: int, cookie: str, came: list[float], end: float) -> None:
    reader, writer = await asyncio.open_connection(HOST, port)
    head = f"GET /stream HTTP/1.1\r\nHost: {HOST}:{port}\r\nCookie: {cookie}\r\n\r\n"
    writer.write(head.encode())
    try:
        while time.monotonic() < end:
            try:
                line = await asyncio.wait_for(reader.readline(), 0.5)
            except TimeoutError:
                continue
            if not line:
                raise ConnectionError("it was ended")
            if line.startswith(b"data:"):
                came.append(time.monotonic())
    finally:
        writer.close()


async def phones(port: int, count: int, seconds: float, cookies: list[str]) -> dict:
    """Be so many phones at once."""
    came = await asyncio.gather(
        *(follow(port, seconds, cookies[n % len(cookies)]) for n in range(count))
    )
    gaps = [b - a for c in came for a, b in itertools.pairwise(c)]
    return {
        "phones": sum(len(c) > 4 for c in came),
        "messages": sum(len(c) - 2 for c in came),
        "longest_gap_s": max(gaps),
    }


def hostile(port: int, chance: random.Random, cookie: str) -> dict[str, str]:
    """Return one hostile request of each kind."""
    us = f"{HOST}:{port}"
    token = "".join(chance.choices("ABCDEFGHIJKLMNOPQRSTUVWXYZ234567", k=16))
    mark = json.dumps(
        {"mark": "opened", "nonce": f"{chance.getrandbits(128):032x}", "at_s": 1.0}
    )
    json_type = "Content-Type: application/json\r\n"
    good = f"Host: {us}\r\nOrigin: http://{us}\r\nCookie: {cookie}\r\n{json_type}"
    with_length = f"Content-Length: {len(mark)}\r\n\r\n{mark}"
    method = chance.choice(("PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "HEAD"))
    path = chance.choice(("/mark", "/stream", "/", "/pair", "/time"))
    pair = json.dumps({"token": token})
    return {
        "wrong token": f"GET /{token} HTTP/1.1\r\nHost: {us}\r\n\r\n",
        "wrong pairing": f"POST /pair HTTP/1.1\r\nHost: {us}\r\nOrigin: http://{us}\r\n"
        f"{json_type}Content-Length: {len(pair)}\r\n\r\n{pair}",
        "wrong cookie": f"GET /stream HTTP/1.1\r\nHost: {us}\r\n"
        f"Cookie: sumpgate-{port}={token}\r\n\r\n",
        "wrong method": f"{method} {path} HTTP/1.1\r\n{good}Content-Length: 0\r\n\r\n",
        "foreign origin": "POST /mark HTTP/1.1\r\n"
        + good.replace(f"Origin: http://{us}", "Origin: http://evil.example")
        + with_length,
        "no origin": "POST /mark HTTP/1.1\r\n"
        + good.replace(f"Origin: http://{us}\r\n", "")
        + with_length,
        "foreign host": "POST /mark HTTP/1.1\r\n"
        + good.replace(f"Host: {us}", "Host: evil.example")
        + with_length,
        "oversize body": f"POST /mark HTTP/1.1\r\n{good}Content-Length: 1000000\r\n\r\n"
        + "x" * 60_000,
        "oversize head": f"GET / HTTP/1.1\r\nHost: {us}\r\nX: {'y' * 60_000}\r\n\r\n",
        "long address": f"GET /{'a' * 4000} HTTP/1.1\r\nHost: {us}\r\n\r\n",
        "no length": f"POST /mark HTTP/1.1\r\n{good}Transfer-Encoding: chunked\r\n\r\n"
        f"{len(mark):x}\r\n{mark}\r\n0\r\n\r\n",
        "forbidden mark": f"POST /mark HTTP/1.1\r\n{good}"
        + _body(mark.replace("opened", chance.choice(("confirmed", "restart", "GO")))),
        "old mark": f"POST /mark HTTP/1.1\r\n{good}{with_length}",
        "garbage": "\x00\x16\x03\x01" + token + "\r\n\r\n",
    }


def _body(text: str) -> str:
    return f"Content-Length: {len(text)}\r\n\r\n{text}"


KINDS = tuple(hostile(0, random.Random(0), ""))


async def strike(
    kind: str, port: int, chance: random.Random, cookies: list[str]
) -> str:
    """Send one hostile request; return the status, or how the connection ended.

    From many addresses and with many sessions, so that not all of it fails at the
    limit on how often one may ask; every third comes from one address.
    """
    host = HOST if chance.random() < 1 / 3 else f"127.0.1.{chance.randrange(1, 251)}"
    cookie = chance.choice(cookies)
    try:
        reader, writer = await asyncio.open_connection(HOST, port, local_addr=(host, 0))
        try:
            writer.write(hostile(port, chance, cookie)[kind].encode("latin-1"))
            await writer.drain()
            line = await asyncio.wait_for(reader.readline(), 20)
        finally:
            writer.close()
    except OSError:
        return "closed"
    except TimeoutError:
        return "no answer"
    return line.split(b" ")[1].decode("latin-1") if b" " in line else "closed"


async def half_open(port: int) -> str:
    """Say nothing, and wait to be shown out."""
    try:
        reader, writer = await asyncio.open_connection(HOST, port)
        try:
            said = await asyncio.wait_for(reader.read(1), 20)
        finally:
            writer.close()
    except TimeoutError:
        return "held"
    except OSError:
        return "closed"
    return "held" if said else "closed"


async def dripping(port: int) -> str:
    """Say one letter at a time."""
    try:
        _, writer = await asyncio.open_connection(HOST, port)
        try:
            for letter in b"GET / HTTP/1.1\r\nHost: " + b"a" * 100:
                writer.write(bytes([letter]))
                await writer.drain()
                await asyncio.sleep(0.2)
        finally:
            writer.close()
    except OSError:
        return "closed"
    return "held"


async def deaf(port: int, cookie: str, seconds: float) -> str:
    """Ask for the stream and take nothing of it; return how it ends."""
    sock = socket.socket()
    sock.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 2048)
    sock.setblocking(False)
    loop = asyncio.get_running_loop()
    ask = f"GET /stream HTTP/1.1\r\nHost: {HOST}:{port}\r\nCookie: {cookie}\r\n\r\n"
    try:
        await loop.sock_connect(sock, (HOST, port))
        await loop.sock_sendall(sock, ask.encode())
        await asyncio.sleep(seconds)
        while await asyncio.wait_for(loop.sock_recv(sock, 65536), 0.2):
            pass
    except TimeoutError:
        return "held"
    except OSError:
        return "closed"
    finally:
        sock.close()
    return "closed"


async def attack(
    port: int, count: int, seed: int, cookies: list[str], deaf_s: float
) -> dict:
    """Strike so many times, a dozen at once, with slow ones beside."""
    chance = random.Random(seed)
    todo = [KINDS[n % len(KINDS)] for n in range(count)]
    chance.shuffle(todo)
    said: Counter[str] = Counter()

    async def striker() -> None:
        while todo:
            kind = todo.pop()
            said[f"{kind}: {await strike(kind, port, chance, cookies)}"] += 1

    slow = [half_open(port) for _ in range(20)] + [dripping(port) for _ in range(10)]
    hold = asyncio.gather(*slow)
    deafs = asyncio.gather(*(deaf(port, c, deaf_s) for c in cookies[:3]))
    await asyncio.gather(*(striker() for _ in range(12)))
    return {
        "said": dict(said),
        "held": Counter(await hold)["held"],
        "deaf": Counter(await deafs),
    }


def main() -> None:
    """Do what the words say."""
    what, port, count, third, cookies = sys.argv[1:6]
    jar = cookies.split()
    if what == "phones":
        told = asyncio.run(phones(int(port), int(count), float(third), jar))
    else:
        deaf_s = float(sys.argv[6])
        told = asyncio.run(attack(int(port), int(count), int(third), jar, deaf_s))
    print(json.dumps(told))


if __name__ == "__main__":
    main()

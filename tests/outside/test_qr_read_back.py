"""The QR code is read back by a small reader of our own.

Source: ISO/IEC 18004 (QR code symbols): format information with its mask, the eight
data masks, the order of codewords, Reed-Solomon over GF(256) with polynomial 0x11D,
alphanumeric and byte mode. From memory; the error correction's syndromes, which must
all be zero, would not be with any of it wrong. Symbols of one block only, up to
version 4.
"""

from __future__ import annotations

import pytest

from tui.phone.qr import QUIET, half_blocks, modules

LETTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
DATA_WORDS = {(2, "L"): 34, (2, "M"): 28, (3, "L"): 55, (3, "M"): 44, (4, "L"): 80}
MASKS = (
    lambda i, j: (i + j) % 2,
    lambda i, j: i % 2,
    lambda i, j: j % 3,
    lambda i, j: (i + j) % 3,
    lambda i, j: (i // 2 + j // 3) % 2,
    lambda i, j: i * j % 2 + i * j % 3,
    lambda i, j: (i * j % 2 + i * j % 3) % 2,
    lambda i, j: ((i + j) % 2 + i * j % 3) % 2,
)


@pytest.mark.parametrize(
    "address",
    [
        "http://127.0.0.1:8642/ABCDEFGHIJKLMNOP",
        "http://192.168.178.123:8642/234567ABCDEFGHIJ",
        "http://10.0.0.7:80/ZZZZZZZZZZZZZZZZ",
        "http://[fe80::1]:8642/ABCDEFGHIJKLMNOP",
    ],
)
def test_the_code_says_the_address(address: str) -> None:
    assert read(bare(modules(address))) == address.upper()


def test_the_terminal_shows_the_same_modules() -> None:
    address = "http://192.168.178.123:8642/234567ABCDEFGHIJ"
    rows = []
    for line in half_blocks(address):
        rows.append([int(c in " ▄") for c in line])
        rows.append([int(c in " ▀") for c in line])
    size = len(rows[0])
    assert read(bare(rows[:size])) == address.upper()


def test_the_code_fits_a_terminal_of_24_lines_under_the_verdict() -> None:
    code = half_blocks("http://192.168.178.123:8642/234567ABCDEFGHIJ")
    assert len(code) <= 17
    assert len(code[0]) <= 40


def bare(rows: list[list[int]]) -> list[list[int]]:
    inside = slice(QUIET, -QUIET)
    edge = [*rows[:QUIET], *rows[-QUIET:], *(r[:QUIET] + r[-QUIET:] for r in rows)]
    assert not any(any(r) for r in edge)  # the quiet zone is light
    return [row[inside] for row in rows[inside]]


def read(rows: list[list[int]]) -> str:
    version = (len(rows) - 17) // 4
    level, mask = format_of(rows)
    words = codewords(rows, mask)
    assert not any(syndromes(words, len(words) - DATA_WORDS[version, level]))
    bits = "".join(f"{w:08b}" for w in words)
    return text_of(bits)


def format_of(rows: list[list[int]]) -> tuple[str, int]:
    places = [(8, c) for c in (0, 1, 2, 3, 4, 5, 7, 8)]
    places += [(r, 8) for r in (7, 5, 4, 3, 2, 1, 0)]
    bits = int("".join(str(rows[r][c]) for r, c in places), 2) ^ 0b101010000010010
    return {1: "L", 0: "M", 3: "Q", 2: "H"}[bits >> 13], bits >> 10 & 7


def is_data(size: int, i: int, j: int) -> bool:
    finder = (i < 9 and (j < 9 or j >= size - 8)) or (i >= size - 8 and j < 9)
    aligned = abs(i - (size - 7)) <= 2 and abs(j - (size - 7)) <= 2
    return not (finder or i == 6 or j == 6 or aligned)


def codewords(rows: list[list[int]], mask: int) -> list[int]:
    size, bits = len(rows), []
    columns = [*range(size - 1, 6, -2), 5, 3, 1]
    for n, right in enumerate(columns):
        upwards = n % 2 == 0
        for i in range(size - 1, -1, -1) if upwards else range(size):
            bits += [
                rows[i][j] ^ (MASKS[mask](i, j) == 0)
                for j in (right, right - 1)
                if is_data(size, i, j)
            ]
    whole = len(bits) // 8
    return [
        int("".join(str(int(b)) for b in bits[8 * n : 8 * n + 8]), 2)
        for n in range(whole)
    ]


def syndromes(words: list[int], count: int) -> list[int]:
    power = [1]
    for _ in range(254):
        doubled = power[-1] << 1
        power.append(doubled ^ 0x11D if doubled > 255 else doubled)
    log = {p: n for n, p in enumerate(power)}
    found = []
    for root in range(count):
        value = 0
        for word in words:
            value = (power[(log[value] + root) % 255] if value else 0) ^ word
        found.append(value)
    return found


def text_of(bits: str) -> str:
    mode, bits = int(bits[:4], 2), bits[4:]
    if mode == 4:
        count, bits = int(bits[:8], 2), bits[8:]
        return bytes(int(bits[8 * n : 8 * n + 8], 2) for n in range(count)).decode()
    assert mode == 2
    count, bits = int(bits[:9], 2), bits[9:]
    text = ""
    while len(text) < count:
        pair = count - len(text) > 1
        value, bits = int(bits[: 11 if pair else 6], 2), bits[11 if pair else 6 :]
        text += LETTERS[value // 45] + LETTERS[value % 45] if pair else LETTERS[value]
    return text

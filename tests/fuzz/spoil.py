"""Spoiling the bytes and lines of a file, whatever it is: what breaks it, and what only bends its drawing."""

from __future__ import annotations

import bisect
import itertools
import random
import re
from collections.abc import Callable

NUMBERS = (
    *(
        "nan",
        "inf",
        "-inf",
        "1e308",
        "-1e308",
        "1e-320",
        "1e7",
        "1e15",
        "0",
        "-0",
        "-1",
        "1",
        "2",
        "3",
        "0.5",
        "12,5",
    ),
    *("999999999999", "65536", "-32768", "1e400", "1.#QNAN", "0x10", "", ".", "1 2", "1e", "--1", "\x00", "½"),
)
WORDS = (
    *(
        "",
        "0",
        "1",
        "2",
        "3",
        "4",
        "7",
        "8",
        "14",
        "84",
        "sew line",
        "cut line",
        "notch",
        "grain",
        "fold",
        "dart",
        "#",
        "##",
    ),
    *(
        "none",
        "inherit",
        "url(#a)",
        "%s",
        "\ud7ff",
        "\x1b[2J",
        "é" * 40,
        "x" * 3000,
        "../../x",
        "Front",
        "test square 5 cm",
    ),
    *(
        "M0,0",
        "Z",
        "A",
        "matrix(0,0,0,0,0,0)",
        "scale(0)",
        "scale(1e9)",
        "rotate(1e300)",
        "skewX(90)",
        "translate(1e12)",
    ),
    *(
        "SECTION",
        "ENDSEC",
        "BLOCK",
        "ENDBLK",
        "INSERT",
        "SEQEND",
        "EOF",
        "VERTEX",
        "SPLINE",
        "ARC",
        "HATCH",
        "# 1",
        "NM",
    ),
)
_NUMBER = re.compile(rb"[-+]?\d+(?:\.\d*)?(?:[eE][-+]?\d+)?")
_WORD = re.compile(rb"[A-Za-z_][\w-]*")


def _lines(data: bytes, rng: random.Random) -> tuple[list[bytes], int]:
    """The lines, and by how many they are taken: in most DXF files two, so that codes keep their values."""
    lines = data.split(b"\n")
    is_dxf = data[:400].lstrip()[:1] in (b"0", b"9")
    return lines, 2 if is_dxf and rng.random() < 0.85 else 1


def flip(data: bytes, rng: random.Random) -> bytes:
    """Change single bytes."""
    spoiled = bytearray(data)
    for _ in range(rng.choice((1, 3, 10))):
        spoiled[rng.randrange(len(spoiled))] = rng.randrange(256)
    return bytes(spoiled)


def drop(data: bytes, rng: random.Random) -> bytes:
    """Leave out a run of lines."""
    lines, step = _lines(data, rng)
    start, count = rng.randrange(0, len(lines), step), step * rng.choice((1, 2, 4, 20))
    return b"\n".join(lines[:start] + lines[start + count :])


def double(data: bytes, rng: random.Random) -> bytes:
    """Write a run of lines twice."""
    lines, step = _lines(data, rng)
    start, count = rng.randrange(0, len(lines), step), step * rng.choice((1, 2, 4, 20, 200))
    return b"\n".join(lines[: start + count] + lines[start:])


def swap(data: bytes, rng: random.Random) -> bytes:
    """Exchange two lines or pairs."""
    lines, step = _lines(data, rng)
    a, b = (rng.randrange(0, max(1, len(lines) - 1), step) for _ in range(2))
    lines[a : a + step], lines[b : b + step] = lines[b : b + step], lines[a : a + step]
    return b"\n".join(lines)


def move(data: bytes, rng: random.Random) -> bytes:
    """Take a stretch from one place to another."""
    size = rng.choice((1, 10, 100, 2000))
    start, to = rng.randrange(len(data)), rng.randrange(len(data))
    taken = data[start : start + size]
    rest = data[:start] + data[start + size :]
    return rest[:to] + taken + rest[to:]


def cut_off(data: bytes, rng: random.Random) -> bytes:
    """Break off anywhere."""
    return data[: rng.randrange(len(data))]


def _replace(data: bytes, rng: random.Random, token: re.Pattern[bytes], by: Callable[[bytes], bytes]) -> bytes:
    found = list(token.finditer(data))
    lines, step = _lines(data, rng)
    if step == 2:  # only in values
        ends = list(itertools.accumulate(len(line) + 1 for line in lines))
        found = [match for match in found if bisect.bisect_right(ends, match.start()) % 2]
    for match in sorted(rng.sample(found, min(len(found), rng.choice((1, 2, 8)))), key=lambda m: -m.start()):
        data = data[: match.start()] + by(match[0]) + data[match.end() :]
    return data


def spoil_numbers(data: bytes, rng: random.Random) -> bytes:
    """Replace numbers by nasty ones, or by others of the file."""
    own = _NUMBER.findall(data)
    return _replace(
        data, rng, _NUMBER, lambda _: rng.choice(own) if rng.random() < 0.3 else rng.choice(NUMBERS).encode()
    )


def nudge_numbers(data: bytes, rng: random.Random) -> bytes:
    """Change numbers a little, so that lines end beside each other, cross and fold back."""
    return _replace(
        data,
        rng,
        _NUMBER,
        lambda text: (
            f"{float(text) * rng.choice((1.0, 1.001, 1.1, -1.0, 10.0)) + rng.choice((0, 1e-9, 1e-3, 1, -20)):.6g}".encode()
        ),
    )


def spoil_words(data: bytes, rng: random.Random) -> bytes:
    """Replace words by nasty ones, or by others of the file."""
    own = _WORD.findall(data)
    return _replace(
        data,
        rng,
        _WORD,
        lambda _: rng.choice(own) if rng.random() < 0.5 else rng.choice(WORDS).encode("utf-8", "surrogatepass"),
    )


# What breaks a file at once is tried less often than what only bends its drawing.
SPOIL = {
    flip: 2,
    cut_off: 1,
    move: 1,
    drop: 4,
    double: 4,
    swap: 3,
    spoil_numbers: 3,
    nudge_numbers: 8,
    spoil_words: 3,
}

"""How one file is made of another: what undoes an alteration, however often that was written over.

patch   stretches of the later file that the earlier one has too, by place and length, and what only the earlier one has
"""

from __future__ import annotations

import base64
import hashlib
import re
import zlib
from collections.abc import Iterator

CHUNK = 4  # tokens that have to agree before a stretch is looked for
_TOKEN = re.compile(rb"[^\n>]*[\n>]|[^\n>]+")


class PatchError(ValueError):
    """A patch that does not fit a file, or is none."""


def digest(data: bytes) -> str:
    """What tells a file from any other."""
    return hashlib.sha256(data).hexdigest()


def patch(later: bytes, earlier: bytes) -> str:
    """What makes the earlier file of the later one, as letters."""
    parts = []
    for one in _parts(later, earlier):
        if isinstance(one, bytes):
            parts.append(b"+%d:%s" % (len(one), one))
        else:
            parts.append(b"=%d,%d:" % one)
    return base64.b85encode(zlib.compress(b"".join(parts), 9)).decode("ascii")


def undone(later: bytes, letters: str) -> bytes:
    """The earlier file, of the later one and a patch; PatchError where that is none."""
    try:
        packed = zlib.decompress(base64.b85decode(letters))
    except (ValueError, zlib.error) as error:
        raise PatchError("no patch") from error
    made, at = [], 0
    while at < len(packed):
        colon = packed.find(b":", at)
        if colon < 0:
            raise PatchError("cut off")
        sign, head = packed[at : at + 1], packed[at + 1 : colon]
        try:
            numbers = [int(one) for one in head.split(b",")]
        except ValueError as error:
            raise PatchError("no patch") from error
        at = colon + 1
        if sign == b"+" and len(numbers) == 1:
            made.append(packed[at : at + numbers[0]])
            at += numbers[0]
        elif sign == b"=" and len(numbers) == 2:
            made.append(later[numbers[0] : numbers[0] + numbers[1]])
        else:
            raise PatchError("no patch")
    return b"".join(made)


def _parts(later: bytes, earlier: bytes) -> Iterator[tuple[int, int] | bytes]:
    """Stretches of the later file by place and length, and bytes that only the earlier one has, in the order of the earlier one."""
    new, old = _TOKEN.findall(later), _TOKEN.findall(earlier)
    places = [0]
    for token in new:
        places.append(places[-1] + len(token))
    index: dict[tuple[bytes, ...], list[int]] = {}
    for k in range(len(new) - CHUNK + 1):
        index.setdefault(tuple(new[k : k + CHUNK]), []).append(k)
    own: list[bytes] = []
    k, expected = 0, 0
    while k < len(old):
        hits = index.get(tuple(old[k : k + CHUNK]), [])
        # Of many alike the next one behind the last, so that a file that repeats itself is not searched again and again.
        start = next((hit for hit in hits if hit >= expected), hits[0]) if hits else -1
        if start < 0:
            own.append(old[k])
            k += 1
            continue
        if own:
            yield b"".join(own)
            own = []
        length = 0
        while k + length < len(old) and start + length < len(new) and old[k + length] == new[start + length]:
            length += 1
        yield places[start], places[start + length] - places[start]
        k, expected = k + length, start + length
    if own:
        yield b"".join(own)

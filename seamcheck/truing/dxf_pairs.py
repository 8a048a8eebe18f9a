"""A DXF file as its lines, to be changed pair by pair: what is not changed keeps its bytes.

record   a group code 0 pair and all pairs behind it, up to the next group code 0
entity   a record, or several: a polyline with its vertices and the mark of its end
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from seamcheck.errors import InputError
from seamcheck.exact import steady
from seamcheck.places import Place

DECIMALS = 6


@dataclass(slots=True)
class Pair:
    """A group code and a value as they stand in the file, line ends included."""

    code: int
    head: bytes
    body: bytes

    @property
    def text(self) -> str:
        """The value without blanks and line end."""
        return self.body.decode("latin-1").strip()

    def put(self, value: str) -> None:
        """Another value, the line end kept."""
        end = self.body[len(self.body.rstrip(b"\r\n")) :]
        self.body = value.encode("latin-1") + end


@dataclass(slots=True)
class Record:
    """One record; `added` are records that are written behind it."""

    line: int
    pairs: list[Pair]
    added: list[Record] = field(default_factory=list)

    @property
    def kind(self) -> str:
        """What it is: "LINE", "VERTEX", "SECTION" ..."""
        return self.pairs[0].text.upper()

    def first(self, code: int) -> Pair | None:
        """The first pair with a group code."""
        return next((pair for pair in self.pairs if pair.code == code), None)

    def text(self, code: int, default: str = "") -> str:
        """The first value of a group code."""
        pair = self.first(code)
        return default if pair is None else pair.text

    def put(self, code: int, value: str) -> None:
        """Change the first value of a group code; a pair that is not there is added."""
        pair = self.first(code)
        if pair is not None:
            pair.put(value)
            return
        like = self.pairs[0]
        made = Pair(code, _head(like, code), like.body)
        made.put(value)
        self.pairs.append(made)

    def copy(self) -> Record:
        """The same record once more."""
        return Record(0, [Pair(pair.code, pair.head, pair.body) for pair in self.pairs])


def _head(like: Pair, code: int) -> bytes:
    """A group code written as the file writes them."""
    end = like.head[len(like.head.rstrip(b"\r\n")) :]
    width = 3 if like.head.startswith(b" ") else 0
    return f"{code:>{width}}".encode() + end


class Pairs:
    """A whole file in text form."""

    def __init__(self, data: bytes, path: str) -> None:
        """Take the file's bytes; InputError for a binary file or one in UTF-16."""
        if data.startswith(b"AutoCAD Binary") or data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            raise InputError(
                "a pattern is written into a DXF in text form only",
                path=path,
                remedy="save it as a text DXF, then try again",
            )
        split = b"\n" if b"\n" in data else b"\r"
        lines = re.findall(rb"[^" + split + rb"]*" + split + rb"|[^" + split + rb"]+$", data)
        self.path = path
        self.records: list[Record] = []
        self.head: list[bytes] = []
        self.tail: list[bytes] = []
        ended = False
        for number in range(0, len(lines), 2):
            if ended or number + 1 >= len(lines):
                self.tail += lines[number:]
                break
            code = int(lines[number].removeprefix(b"\xef\xbb\xbf"))
            pair = Pair(code, lines[number], lines[number + 1])
            if code == 0:
                self.records.append(Record(number + 1, [pair]))
                ended = pair.text == "EOF"
            elif self.records:
                self.records[-1].pairs.append(pair)
            else:
                self.head += lines[number : number + 2]
        self.by_line = {record.line: index for index, record in enumerate(self.records)}

    def at(self, place: Place) -> int:
        """The number of the record that begins at a place of the file; KeyError where none does."""
        return self.by_line[place.line or 0]

    def entity(self, place: Place) -> list[Record]:
        """The records of the entity that stands at a place of the file."""
        index = self.at(place)
        found = [self.records[index]]
        if found[0].kind == "POLYLINE":
            for record in self.records[index + 1 :]:
                if record.kind not in ("VERTEX", "SEQEND"):
                    break
                found.append(record)
                if record.kind == "SEQEND":
                    break
        return found

    def data(self) -> bytes:
        """The file with all changes."""
        return b"".join([*self.head, *(_bytes(_all(self.records))), *self.tail])

    def variable(self, name: str) -> Pair | None:
        """The first value of a header variable."""
        for record in self.records:
            for pair, after in zip(record.pairs, record.pairs[1:], strict=False):
                if pair.code == 9 and pair.text == name:
                    return after
            if record.text(2) not in ("", "HEADER"):
                break
        return None


def _all(records: Iterable[Record]) -> Iterator[Record]:
    for record in records:
        yield record
        yield from _all(record.added)


def _bytes(records: Iterable[Record]) -> Iterator[bytes]:
    for record in records:
        for pair in record.pairs:
            yield pair.head
            yield pair.body


def made(like: Record, pairs: Iterable[tuple[int, str]]) -> Record:
    """A new record, its lines written as those of another."""
    first = like.pairs[0]
    result = []
    for code, value in pairs:
        pair = Pair(code, _head(first, code), first.body)
        pair.put(value)
        result.append(pair)
    return Record(0, result)


def number(value: float, decimals: int = DECIMALS) -> str:
    """A coordinate in as few digits as hold it to so many decimals."""
    text = f"{steady(value):.{decimals}f}".rstrip("0")
    text = text + "0" if text.endswith(".") else text
    return "0.0" if text == "-0.0" else text

"""Reading a TOML file so that whatever is wrong with it becomes one sentence with its line.

The standard library reads TOML but keeps no line numbers. `key_lines` finds them by a second, small scan of a
text that is known to be valid; `Table` hands out values of the expected type and raises everything else.
"""

from __future__ import annotations

import math
import re
import tomllib
from bisect import bisect_right
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from seamcheck.errors import SeamcheckError
from seamcheck.files import COPY_IT, NOT_A_FILE, at, is_endless
from seamcheck.places import Place
from seamcheck.spelling import nearest

KeyPath = tuple[str | int, ...]

LARGEST_FILE = 4 * 1024 * 1024  # bytes; a plan of a thousand pieces stays far below
LONGEST_KEY = 32  # parts of one dotted key; the longest that is known has five
MOST_VALUES = 200_000  # keys and elements of lists, by their signs
LARGEST_NUMBER = 1e6  # in mm one kilometre: beyond every piece, and far from what overflows

_SPACE = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_STRING = re.compile(
    r'"""(?:\\.|[^\\])*?"""(?:"{0,2})' r"|'''.*?'''(?:'{0,2})" r'|"(?:\\.|[^"\\\n])*"' r"|'[^'\n]*'",
    re.DOTALL,
)
# Strings and comments are passed over whole, and so are words, so that no letter is looked at twice.
_KEY_PART = r"""(?:[A-Za-z0-9_-]++|"(?:\\.|[^"\\\n])*+"|'[^'\n]*+')[ \t]*+"""
_LONG_KEY = re.compile(
    rf"(?P<long>(?:{_KEY_PART}\.[ \t]*+){{{LONGEST_KEY}}})|{_STRING.pattern}|#[^\n]*+|[A-Za-z0-9_-]++", re.DOTALL
)
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_ESCAPE = re.compile(r"(?:\\[ \t]*\r?\n\s*)+|\\u.{4}|\\U.{8}|\\.")
_SCALAR = re.compile(r"[^,\]}\n#]+")
_PLACE = re.compile(r"\s*\(at (?:line (\d+), column \d+|(end) of document)\)")


def key_lines(text: str) -> dict[KeyPath, int]:
    """Map every key, table header and array element of a valid TOML text to the line it first stands on.

    Tables in arrays are counted from 0: `("seams", 1, "sew", 0)` is the first element of `sew` in the second
    `[[seams]]`. A text that is no valid TOML gives a KeyError, ValueError or nonsense, so check it first.
    """
    return _LineScan(text).lines


class _LineScan:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.newlines = [match.start() for match in re.finditer("\n", text)]
        self.lines: dict[KeyPath, int] = {}
        self.strings: dict[KeyPath, int] = {}  # where the opening quote of each text stands
        self.arrays: dict[KeyPath, int] = {}  # how many tables each array of tables has so far
        table: KeyPath = ()
        while self.skip():
            if self.take("[["):
                table = self.header(array=True)
            elif self.take("["):
                table = self.header(array=False)
            else:
                self.pair(table)

    def skip(self) -> bool:
        """Pass over spaces and comments; False at the end of the text."""
        match = _SPACE.match(self.text, self.at)
        self.at = match.end() if match else self.at
        return self.at < len(self.text)

    def take(self, sign: str) -> bool:
        if self.text.startswith(sign, self.at):
            self.at += len(sign)
            return True
        return False

    def match(self, pattern: re.Pattern[str]) -> str | None:
        found = pattern.match(self.text, self.at)
        if found is None:
            return None
        self.at = found.end()
        return found.group()

    def record(self, keys: KeyPath, start: int) -> None:
        self.lines.setdefault(keys, bisect_right(self.newlines, start - 1) + 1)

    def key(self) -> list[tuple[str, int]]:
        """Read a dotted key: its parts with the position of each."""
        parts = []
        while True:
            self.skip()
            start = self.at
            part = self.match(_BARE_KEY)
            if part is None:
                quoted = self.match(_STRING)
                if quoted is None:
                    raise ValueError("no key")
                part = str(tomllib.loads(f"key = {quoted}")["key"])
            parts.append((part, start))
            self.skip()
            if not self.take("."):
                return parts

    def header(self, *, array: bool) -> KeyPath:
        parts = self.key()
        self.take("]]" if array else "]")
        keys: KeyPath = ()
        for number, (part, start) in enumerate(parts):
            keys = (*keys, part)
            self.record(keys, start)
            if array and number == len(parts) - 1:
                self.arrays[keys] = self.arrays.get(keys, 0) + 1
            if keys in self.arrays:
                keys = (*keys, self.arrays[keys] - 1)
                self.record(keys, start)
        return keys

    def pair(self, table: KeyPath) -> None:
        keys = table
        for part, start in self.key():
            keys = (*keys, part)
            self.record(keys, start)
        self.take("=")
        self.skip()
        self.value(keys)

    def value(self, keys: KeyPath) -> None:
        """Pass over one value, noting the elements of arrays and the keys of inline tables on the way."""
        if self.take("["):
            number = 0
            while self.skip() and not self.take("]"):
                self.record((*keys, number), self.at)
                self.value((*keys, number))
                number += 1
                self.skip()
                self.take(",")
        elif self.take("{"):
            while self.skip() and not self.take("}"):
                self.pair(keys)
                self.skip()
                self.take(",")
        elif _STRING.match(self.text, self.at):
            self.strings[keys] = self.at
            self.match(_STRING)
        elif self.match(_SCALAR) is None:
            raise ValueError("no value")


def _letter(text: str, keys: KeyPath, number: int) -> tuple[int, int]:
    """The line and column, from 1, of one letter of a text value; KeyError when the value is no text."""
    at = _LineScan(text).strings[keys]
    quote = next(sign for sign in ('"""', "'''", '"', "'") if text.startswith(sign, at))
    at += len(quote)
    if len(quote) == 3 and text.startswith(("\n", "\r\n"), at):
        at = text.index("\n", at) + 1  # a line end right after the quotes is not part of the text
    for _ in range(number):
        escape = _ESCAPE.match(text, at) if quote[0] == '"' else None
        at = escape.end() if escape else at + 1
    return text.count("\n", 0, at) + 1, at - text.rfind("\n", 0, at)


@dataclass(frozen=True, slots=True)
class Table:
    """One table of a TOML file: `values` as read, `keys` the way to it, and whose error is raised when it is wrong.

    Every getter raises that error for a value of the wrong type, with the line it stands on. Keys that are
    absent give None (`number`, `text`) or an empty result.
    """

    values: Mapping[str, Any]
    keys: KeyPath
    path: str
    lines: Mapping[KeyPath, int]
    error: type[SeamcheckError]
    source: str = ""

    def place(self, *at: str | int) -> Place:
        """Where a key of this table stands, as "line 12"; without words for what stands nowhere."""
        keys = (*self.keys, *at)
        while keys:
            if keys in self.lines:
                return Place(f"line {self.lines[keys]}", self.lines[keys])
            keys = keys[:-1]
        return Place("")

    def letter(self, number: int, *at: str | int) -> Place:
        """Where one letter, from 0, of a text of this table stands, as "line 12, column 31"."""
        line, column = _letter(self.source, (*self.keys, *at), number)
        return Place(f"line {line}, column {column}", line, column)

    def wrong(self, what: str, *at: str | int, remedy: str = "") -> SeamcheckError:
        """The error to raise about a key of this table."""
        return self.error(what, path=self.path, place=self.place(*at), remedy=remedy)

    @property
    def title(self) -> str:
        """The table's header as it stands in the file, or "" for the top of the file."""
        names = ".".join(key for key in self.keys if isinstance(key, str))
        if self.keys and isinstance(self.keys[-1], int):
            return f"[[{names}]]"
        return f"[{names}]" if names else ""

    def _of(self, key: str) -> str:
        return f'"{key}" in {self.title}' if self.title else f'"{key}"'

    def _mistyped(self, key: str, expected: str, *at: str | int) -> SeamcheckError:
        value = self.values[key]
        for step in at:
            value = value[step]
        return self.wrong(f"{self._of(key)} is {_kind(value)} where {expected} belongs", key, *at)

    def only(self, *known: str) -> None:
        """Raise for the first key that is not known."""
        for key in self.values:
            if key not in known:
                where = f" in {self.title}" if self.title else ""
                raise self.wrong(f'unknown key "{key}"{where}', key, remedy=nearest(key, known, "known key"))

    def need(self, key: str, example: str) -> None:
        """Raise when the key is absent."""
        if key not in self.values:
            where = f"{self.title} has no" if self.title else "there is no"
            raise self.wrong(f'{where} "{key}"', remedy=f"add a line such as {example}")

    def text(self, key: str, *, integers: bool = False) -> str | None:
        """A text; with `integers` also a whole number, as text."""
        value = self.values.get(key)
        if integers and isinstance(value, int) and not isinstance(value, bool):
            return str(value)
        if value is not None and not isinstance(value, str):
            raise self._mistyped(key, "a text in quotes")
        return value

    def choice(self, key: str, choices: Collection[str]) -> str | None:
        """One of a few words."""
        value = self.text(key)
        if value is not None and value not in choices:
            listed = " or ".join(f'"{one}"' for one in choices)
            raise self.wrong(f'{self._of(key)} is "{value}", which means nothing here', key, remedy=f"write {listed}")
        return value

    def number(self, key: str) -> float | None:
        """A finite number of sensible size."""
        return None if key not in self.values else self._number(key)

    def _number(self, key: str, *at: int) -> float:
        value: Any = self.values[key]
        for step in at:
            value = value[step]
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self._mistyped(key, "a number", *at)
        if isinstance(value, float) and not math.isfinite(value):
            raise self.wrong(f"{self._of(key)} is {value}, which is no measure", key, *at, remedy="write a number")
        if abs(value) > LARGEST_NUMBER:
            raise self.wrong(
                f"{self._of(key)} is larger than any pattern",
                key,
                *at,
                remedy=f"write a number between {-LARGEST_NUMBER:.0f} and {LARGEST_NUMBER:.0f}",
            )
        return float(value)

    def count(self, key: str) -> int:
        """A whole number of 1 or more, however large; the key must be there."""
        value = self.values[key]
        if isinstance(value, bool) or not isinstance(value, int):
            raise self._mistyped(key, "a whole number")
        if value < 1:
            raise self.wrong(f"{self._of(key)} is {value}, below 1", key, remedy="write a whole number of 1 or more")
        return value

    def numbers(self, key: str, count: int, form: str) -> tuple[float, ...] | None:
        """A list of exactly `count` numbers; `form` says in words what they are."""
        value = self.values.get(key)
        if value is None:
            return None
        if not isinstance(value, list):
            raise self._mistyped(key, form)
        if len(value) != count:
            plural = "" if len(value) == 1 else "s"
            raise self.wrong(f"{self._of(key)} has {len(value)} value{plural} where {form} belongs", key)
        return tuple(self._number(key, index) for index in range(count))

    def span(self, key: str) -> tuple[float, float] | None:
        """A range [least, most]; one number is both its ends."""
        value = self.values.get(key)
        if value is not None and not isinstance(value, list):
            single = self._number(key)
            return single, single
        pair = self.numbers(key, 2, "a number or a range [least, most]")
        if pair is None:
            return None
        least, most = pair
        if least > most:
            raise self.wrong(
                f"{self._of(key)} runs from {least:g} down to {most:g}",
                key,
                remedy=f"write [{most:g}, {least:g}]",
            )
        return least, most

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts."""
        value = self.values.get(key, [])
        if not isinstance(value, list):
            raise self._mistyped(key, "a list of texts in square brackets")
        for index, one in enumerate(value):
            if not isinstance(one, str):
                raise self._mistyped(key, "a text in quotes", index)
        return tuple(value)

    def table(self, key: str) -> Table:
        """A table; an empty one when the key is absent."""
        value = self.values.get(key, {})
        if not isinstance(value, dict):
            raise self._mistyped(key, "a table")
        return replace(self, values=value, keys=(*self.keys, key))

    def subtables(self) -> Iterator[tuple[str, Table]]:
        """Every key of a table that holds nothing but tables."""
        for key in self.values:
            yield key, self.table(key)

    def tables(self, key: str) -> Iterator[Table]:
        """An array of tables."""
        value = self.values.get(key, [])
        if not isinstance(value, list):
            raise self._wrong_array(key)
        for index, one in enumerate(value):
            if not isinstance(one, dict):
                raise self._mistyped(key, "a table", index)
            yield replace(self, values=one, keys=(*self.keys, key, index))

    def at_most(self, most: int, amount: int, what: str, *at: str | int) -> None:
        """Raise where there is more of something than can be judged in time."""
        if amount > most:
            raise self.wrong(f"{amount} {what} are more than the {most} that are read", *at, remedy="part the plan")

    def _wrong_array(self, key: str) -> SeamcheckError:
        kind = _kind(self.values[key])
        return self.wrong(
            f'"{key}" is {kind} where a list of tables belongs', key, remedy=f"write [[{key}]] above each"
        )


def _kind(value: object) -> str:
    if isinstance(value, bool):
        return "true or false"
    if isinstance(value, str):
        return "a text"
    if isinstance(value, int | float):
        return "a number"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, dict):
        return "a table"
    return "a date or time"


def read_text(path: Path, error: type[SeamcheckError], kind: str) -> str:
    """The text of a file; a missing, oversized or unreadable one is raised as `error`."""
    name, path = str(path), at(path)
    try:
        if path.is_dir():
            raise error(f"this is a folder, not a {kind}", path=name, remedy="name the file itself")
        if is_endless(path):
            raise error(NOT_A_FILE, path=name, remedy=COPY_IT)
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise error(f"there is no {kind} of this name", path=name, remedy="check the spelling of the path") from None
    except (OSError, ValueError) as trouble:
        reason = getattr(trouble, "strerror", None) or str(trouble)
        raise error(f"the {kind} cannot be opened: {reason}", path=name) from None
    if len(data) > LARGEST_FILE:
        raise error(f"the {kind} is larger than {LARGEST_FILE // 2**20} MiB", path=name, remedy="split it")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as trouble:
        line = data.count(b"\n", 0, trouble.start) + 1
        raise error(
            f"the {kind} holds letters that are not UTF-8",
            path=name,
            place=Place(f"line {line}", line),
            remedy="save the file with the encoding UTF-8",
        ) from None


def _refuse_too_much(text: str, path: str, error: type[SeamcheckError]) -> None:
    """Raise for what would take the reader long: each part of a dotted key is looked up with all parts before it."""
    if text.count("=") + text.count(",") > MOST_VALUES:
        raise error(f"there are more than {MOST_VALUES} values", path=path, remedy="part the file into smaller ones")
    if text.count(".") < LONGEST_KEY:
        return
    for found in _LONG_KEY.finditer(text):
        if found["long"]:
            line = text.count("\n", 0, found.start()) + 1
            raise error(
                f"a dotted key has more than {LONGEST_KEY} parts",
                path=path,
                place=Place(f"line {line}", line),
                remedy="no key that is known has so many; take it out",
            )


def parse(text: str, path: str, error: type[SeamcheckError]) -> Table:
    """The top table of a TOML text."""
    _refuse_too_much(text, path, error)
    try:
        values = tomllib.loads(text)
        lines = key_lines(text)
    except RecursionError:
        raise error("brackets are nested too deeply to read", path=path) from None
    except ValueError as trouble:
        reason = str(trouble)
        found = _PLACE.search(reason)
        line = int(found.group(1) or len(text.rstrip().splitlines()) or 1) if found else None
        raise error(
            f"this is not valid TOML: {_PLACE.sub('', reason)}",
            path=path,
            place=Place(f"line {line}", line) if line else "",
            remedy="put that line right; a text needs quotes, a list square brackets",
        ) from None
    return Table(values, (), path, lines, error, text)

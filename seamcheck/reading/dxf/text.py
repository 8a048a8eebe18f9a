"""The texts of a DXF file: which encoding the bytes are in, and what a value with drawing codes says.

A DXF file of the older kind is ASCII by its standard (ASTM D6673, 4.3.1.1); real ones carry names in the code
page of the writer's computer and do not say which. The choice is made on the bytes, and always reported.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from typing import NamedTuple

from seamcheck.errors import InputError
from seamcheck.pattern.drawing import Note
from seamcheck.places import Place
from seamcheck.reading.base import Source

# What $DWGCODEPAGE may say (DXF reference, HEADER section), as names that Python knows.
_CODE_PAGES = {
    "ascii": "ascii",
    "utf-8": "utf-8",
    "utf8": "utf-8",
    "gb2312": "gbk",
    "gbk": "gbk",
    "big5": "big5",
    "johab": "johab",
    "932": "cp932",
    "936": "gbk",
    "949": "cp949",
    "950": "big5",
}
_HEADER_LINES = re.compile(rb"\$DWGCODEPAGE\s*[\r\n]+\s*3\s*[\r\n]+[ \t]*([\w-]+)")
_VERSION_LINES = re.compile(rb"\$ACADVER\s*[\r\n]+\s*1\s*[\r\n]+[ \t]*AC(\d{1,9})")
_UTF8_SINCE = 1021  # AC1021, the first version whose text is UTF-8 by the DXF reference


class Decoded(NamedTuple):
    """A file's text with lines ended by a line feed, the encoding it was read in and what to say about that."""

    text: str
    encoding: str
    notes: tuple[Note, ...] = ()


def decode(source: Source) -> Decoded:
    """Decode a text file: as told, else by its byte order mark, as ASCII or UTF-8, as it says, as likeliest.

    InputError when the user's encoding does not exist or does not fit.
    """
    text, encoding, notes = _decode(source)
    # Three habits of ending a line, and what becomes of one when it is converted twice.
    for ending in ("\r\r\n", "\r\n", "\r"):
        text = text.replace(ending, "\n")
    return Decoded(text, encoding, notes)


def _decode(source: Source) -> tuple[str, str, tuple[Note, ...]]:
    data = source.data
    if source.options.encoding:
        return _decode_as_told(source, source.options.encoding), source.options.encoding, ()
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if data.startswith(mark) and (text := _strict(data, encoding)) is not None:
            return text, encoding, ()
    if data.isascii():
        return data.decode("ascii"), "ascii", ()
    text = _strict(data, "utf-8")
    if text is not None and _likelihood(_telling(data), "utf-8", _weigh_utf8) > 1.0:
        return text, "utf-8", ()
    stated = _stated_encoding(data)
    if stated and (text := _strict(data, stated)) is not None:
        return text, stated, ()
    return _decode_likeliest(data)


def _decode_as_told(source: Source, encoding: str) -> str:
    try:
        return source.data.decode(encoding)
    except LookupError:
        raise InputError(
            f'there is no text encoding "{encoding}"',
            path=source.path,
            remedy="give one such as utf-8, gbk, cp932 or cp1252",
        ) from None
    except UnicodeDecodeError as error:
        line = source.data.count(b"\n", 0, error.start) + 1
        raise InputError(
            f'the text is not in the encoding "{encoding}"',
            path=source.path,
            place=Place(f"line {line}", line),
            remedy="give another encoding, or none to let it be found",
        ) from None


def _strict(data: bytes, encoding: str) -> str | None:
    try:
        return data.decode(encoding)
    except (UnicodeDecodeError, LookupError):
        return None


def _stated_encoding(data: bytes) -> str | None:
    version = _VERSION_LINES.search(data)
    if version and int(version[1]) >= _UTF8_SINCE:
        return "utf-8"
    page = _HEADER_LINES.search(data)
    if not page:
        return None
    name = page[1].decode("ascii").lower().removeprefix("ansi_").removeprefix("dos")
    return _CODE_PAGES.get(name, f"cp{name}")


def _weigh_utf8(character: str, raw: bytes, _alone: bool) -> float:
    # Three bytes that fit are no accident; two are, where they make letters that no language of the trade has:
    # a Chinese word or two in its own encoding can look like that.
    usual = len(raw) > 2 or ord(character) < 0x180 or 0x370 <= ord(character) < 0x700
    return 1.1 if usual else 0.1


def _weigh_gbk(character: str, raw: bytes, _alone: bool) -> float:
    # Level 1 of GB 2312 (rows 16 to 55) holds the common characters.
    return (1.0 if 0xB0 <= raw[0] <= 0xD7 else 0.6) if raw[-1] >= 0xA1 else 0.3


def _weigh_cp932(character: str, raw: bytes, _alone: bool) -> float:
    if len(raw) == 1:
        return 0.1  # half-width katakana: every byte from A1 to DF is one
    return 1.0 if 0x82 <= raw[0] <= 0x83 or 0x88 <= raw[0] <= 0x97 else 0.3


def _weigh_cp949(character: str, raw: bytes, _alone: bool) -> float:
    # The common syllables of KS X 1001 stand in rows 16 to 40.
    return (0.95 if 0xB0 <= raw[0] <= 0xC8 else 0.4) if raw[-1] >= 0xA1 else 0.2


def _weigh_big5(character: str, raw: bytes, _alone: bool) -> float:
    return 0.9 if 0xA4 <= raw[0] <= 0xC6 else 0.3


def _weigh_cp1252(character: str, raw: bytes, alone: bool) -> float:
    # Accented letters stand singly among plain ones; a row of them is some other script.
    return 0.9 if alone else 0.2


_CANDIDATES: tuple[tuple[str, Callable[[str, bytes, bool], float]], ...] = (
    ("gbk", _weigh_gbk),
    ("cp932", _weigh_cp932),
    ("cp949", _weigh_cp949),
    ("big5", _weigh_big5),
    ("cp1252", _weigh_cp1252),
)


def _decode_likeliest(data: bytes) -> tuple[str, str, tuple[Note, ...]]:
    """Rank the candidates by how common the characters are that each would make of the bytes."""
    lines = _telling(data)
    ranked = []
    for order, (encoding, weigh) in enumerate(_CANDIDATES):
        text = _strict(data, encoding)
        if text is not None:
            ranked.append((-_likelihood(lines, encoding, weigh), order, encoding, text))
    if not ranked:
        text = data.decode("cp1252", errors="replace")
        note = Note("text-encoding", "The texts are in no encoding that is known; some letters are lost in names.")
        return text, "cp1252", (note,)
    ranked.sort()
    _, _, encoding, text = ranked[0]
    runner_up = f", {ranked[1][2]} would be the next guess" if len(ranked) > 1 else ""
    message = f"The file does not say how its texts are encoded; they are read as {encoding}{runner_up}."
    return text, encoding, (Note("text-encoding", message),)


def _telling(data: bytes) -> list[bytes]:
    """The lines that are not plain ASCII."""
    return [line for line in data.splitlines() if not line.isascii()]


def _likelihood(lines: list[bytes], encoding: str, weigh: Callable[[str, bytes, bool], float]) -> float:
    total, count = 0.0, 0
    for line in lines:
        text = line.decode(encoding, errors="replace")
        for index, character in enumerate(text):
            if character.isascii():
                continue
            count += 1
            if unicodedata.category(character)[0] != "L":
                continue
            row = text[max(index - 2, 0) : index + 3]
            total += weigh(character, character.encode(encoding), sum(not c.isascii() for c in row) <= 2)
    return total / max(count, 1)


_KEY = re.compile(r"[A-Za-z][A-Za-z /.]*")


def statement(text: str) -> tuple[str, str]:
    """What a text such as "Piece Name: Front" states: its key in small letters with single blanks, and its value; else two empty texts."""
    key, colon, value = text.partition(":")
    if not colon or not _KEY.fullmatch(key := key.strip()):
        return "", ""
    return " ".join(key.lower().split()), value.strip()


_UNICODE_CODE = re.compile(r"\\U\+([0-9A-Fa-f]{4})")
_SIGNS = {"%%d": "°", "%%c": "⌀", "%%p": "±", "%%%": "%"}


def plain(value: str) -> str:
    r"""What a TEXT value says: `\U+XXXX` and the double-percent signs are turned into characters."""
    if "\\U+" in value:
        value = _UNICODE_CODE.sub(lambda match: chr(int(match[1], 16)), value)
    if "%%" in value:
        value = re.sub("%%[dcp%]", lambda match: _SIGNS[match[0].lower()], value, flags=re.IGNORECASE)
        value = re.sub("%%[uok]", "", value, flags=re.IGNORECASE)
    return value.strip()


_FORMAT = re.compile(
    r"\\(?P<escaped>[\\{}])"  # the sign itself
    r"|\\(?P<line>P|N|X)"  # a new line
    r"|\\(?P<blank>~)"
    r"|\\S(?P<stack>[^;]{0,100});"  # a fraction: 1^2, 1/2 or 1#2; bounded, for one without its end is looked for at each \S
    r"|\\[ACcFfHhQTWp][^;\\]*;"  # alignment, colour, font, height, slant, spacing, width, indents
    r"|\\[LlOoKk]"  # underline, overline, strike
    r"|(?P<brace>[{}])"
)


def plain_lines(value: str) -> list[str]:
    """What an MTEXT value says, line by line, without its formatting (DXF reference, MTEXT)."""

    def replace(match: re.Match[str]) -> str:
        if match["escaped"]:
            return match["escaped"]
        if match["line"]:
            return "\n"
        if match["blank"]:
            return " "
        if match["stack"] is not None:
            return re.sub(r"[\^#]", "/", match["stack"])
        return ""

    value = _UNICODE_CODE.sub(lambda match: chr(int(match[1], 16)), value)
    return [plain(line) for line in _FORMAT.sub(replace, value).replace("^J", "\n").split("\n")]

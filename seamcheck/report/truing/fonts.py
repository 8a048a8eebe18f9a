"""The fonts that a printed picture is written in.

shipped   Liberation Sans, regular and bold (SIL Open Font License 1.1, in `fonts/`): Latin, Greek, Cyrillic and Hebrew in 0.8 MB,
          as wide as the Helvetica by which names are laid out. No kept package carries it, so it lies here.
found     Letters that it lacks (Chinese, say, whose fonts have 10 to 30 MB) are taken from the fonts of the machine.
boxes     A letter that stands in no font is drawn as a box, and is told to whom the picture is for.
"""

from __future__ import annotations

import os
import sys
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import uharfbuzz

BOX = "\N{WHITE SQUARE}"
REGULAR = 400  # the weight of an upright text face (OpenType, OS/2 usWeightClass)

_KINDS = frozenset({".ttf", ".otf", ".ttc", ".otc"})
# What is seen of these is the letters round them, or nothing.
_UNSEEN = frozenset({"Cc", "Cf", "Zs", "Zl", "Zp", "Mn", "Me"})
_TURNS = dict.fromkeys([0x061C, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A)])
_FORMS = frozenset(
    {"JP", "KR", "SC", "TC", "HK"}
)  # the last word of a family whose Chinese letters are those of one country


@dataclass(frozen=True, slots=True)
class Face:
    """One font of a file; a collection has several."""

    path: Path
    number: int = 0

    @property
    def letters(self) -> uharfbuzz.Set:
        """The code points that it has."""
        return _loaded(self)[1]

    @property
    def font(self) -> uharfbuzz.Font:
        """The font, a variable one at its regular weight."""
        return _loaded(self)[0]


@dataclass(frozen=True, slots=True)
class Fonts:
    """What a picture is written in: faces of the machine beside the shipped ones, and letters that are in none."""

    others: tuple[Face, ...] = ()
    boxes: str = ""
    _table: dict[int, str] = field(default_factory=dict)

    def printed(self, text: str) -> str:
        """A text as it is drawn: with boxes for letters that no font has."""
        return cleaned(text).translate(self._table)

    def faces(self, *, bold: bool) -> tuple[Face, ...]:
        """The faces to take a letter from, in their order."""
        return (shipped("Bold" if bold else "Regular"), *self.others)


@cache
def shipped(style: str) -> Face:
    """The "Regular" or "Bold" face that comes with the package."""
    return Face(Path(str(files("seamcheck.report.truing") / "fonts" / f"LiberationSans-{style}.ttf")))


def fonts_for(texts: Iterable[str]) -> Fonts:
    """The fonts for some texts."""
    letters = {ord(letter) for text in texts for letter in cleaned(text)}
    own = shipped("Regular").letters
    lacking = {code for code in letters if code not in own and unicodedata.category(chr(code)) not in _UNSEEN}
    others = _chosen(lacking)
    missing = sorted(code for code in lacking if not any(code in face.letters for face in others))
    return Fonts(others, "".join(map(chr, missing)), dict.fromkeys(missing, BOX))


def cleaned(text: str) -> str:
    """One line, letters and their accents as one, without the signs that turn the direction of what follows them."""
    line = "".join(
        letter if letter.isprintable() or letter in "\u200c\u200d" else " " for letter in text.translate(_TURNS)
    )
    return unicodedata.normalize("NFC", line)


def _chosen(lacking: set[int]) -> tuple[Face, ...]:
    """Faces of the machine that have letters: the plainest that has all of them, else by turns the one that has most."""
    rest, chosen = set(lacking), list[Face]()
    form = _form(lacking)
    faces = sorted(_faces(), key=lambda face: _rank(face, form)) if rest else []
    while rest:
        best, most = None, set[int]()
        for face in faces:
            has = {code for code in rest if code in face.letters}
            if len(has) > len(most):
                best, most = face, has
            if has == rest:
                break
        if best is None:
            break
        chosen.append(best)
        rest -= most
    return tuple(chosen)


def _form(codes: set[int]) -> str:
    """Whose forms of Chinese letters fit: those of Japan or Korea where its own letters stand among them, else of China."""
    names = [unicodedata.name(chr(code), "") for code in codes]
    if any(name.startswith(("HIRAGANA", "KATAKANA")) for name in names):
        return "JP"
    return "KR" if any(name.startswith("HANGUL") for name in names) else "SC"


def folders() -> Sequence[Path]:
    """Where fonts are installed, by the customs of each system (on Linux the XDG Base Directories)."""
    home = Path.home()
    if sys.platform == "win32":
        return [
            Path(os.environ.get("WINDIR", "C:/Windows")) / "Fonts",
            home / "AppData/Local/Microsoft/Windows/Fonts",
        ]
    if sys.platform == "darwin":
        return [Path("/System/Library/Fonts"), Path("/Library/Fonts"), home / "Library/Fonts"]
    shared = os.environ.get("XDG_DATA_DIRS") or "/usr/local/share:/usr/share"
    own = os.environ.get("XDG_DATA_HOME") or str(home / ".local/share")
    return [*(Path(one) / "fonts" for one in [*shared.split(":"), own]), home / ".fonts"]


def _faces() -> Iterator[Face]:
    """Every face of the machine whose letters are lines and may be handed on."""
    from fontTools.ttLib import TTCollection, TTFont

    for path in sorted({path for folder in folders() for path in _below(folder)}):
        try:
            with path.open("rb") as file:
                if path.suffix.lower() in (".ttc", ".otc"):
                    fonts = list(TTCollection(file, lazy=True))
                else:
                    fonts = [TTFont(file, lazy=True)]
                numbers = [number for number, font in enumerate(fonts) if _fit(font)]
            faces = [Face(path, number) for number in numbers]
            for face in faces:
                _looks(face)
        except Exception:  # files of any program: what cannot be read is no font
            continue
        yield from faces


def _below(folder: Path) -> Iterator[Path]:
    for at, _, names in os.walk(folder):
        yield from (Path(at) / name for name in names if Path(name).suffix.lower() in _KINDS)


def _fit(font: Any) -> bool:
    drawn = any(table in font for table in ("glyf", "CFF ", "CFF2"))
    return drawn and not font["OS/2"].fsType & 0x0002  # "restricted license embedding"


@cache
def _looks(face: Face) -> tuple[str, bool, bool, bool, int]:
    """The family, and how far a face is from a plain one: slanted, of one width, with serifs, heavier or lighter by so much."""
    from fontTools.ttLib import TTFont

    with TTFont(face.path, fontNumber=face.number, lazy=True) as font:
        style, names = font["OS/2"], font["name"]
        family = str(names.getDebugName(16) or names.getDebugName(1) or "")
        single = bool(font["post"].isFixedPitch) or "Mono" in family
        serifs = 2 <= style.panose.bSerifStyle <= 10 or "Serif" in family
        off = 0 if "fvar" in font else abs(style.usWeightClass - REGULAR)
        return family, bool(style.fsSelection & 1), single, serifs, off


def _rank(face: Face, form: str) -> tuple[object, ...]:
    family, *looks = _looks(face)
    last = family.split()[-1:]
    return (bool(last) and last[0] in _FORMS and last[0] != form, *looks, str(face.path), face.number)


@cache
def _loaded(face: Face) -> tuple[uharfbuzz.Font, uharfbuzz.Set]:
    import uharfbuzz

    opened = uharfbuzz.Face(uharfbuzz.Blob.from_file_path(str(face.path)), face.number)
    font = uharfbuzz.Font(opened)
    font.set_variations({"wght": float(REGULAR)})
    return font, opened.unicodes

"""Lengths, transforms and viewports of SVG, and how large the drawing really is.

An inch is 25.4 mm, 96 px, 72 pt, 6 pc (CSS Values 3, section 5.2). Without a physical width the size can only be
assumed; general vector editors have written 96, 90 and 72 px per inch, so a sheet of a known size decides.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from seamcheck.amounts import SHEETS
from seamcheck.geometry.curve import Affine
from seamcheck.reading.svg.tree import Node

MM_PER_INCH = 25.4
CSS_DPI = 96.0
SMALLEST, LARGEST = 1e-9, 1e12  # a width or height outside these, in whatever unit, is none
# No two parts of a pattern may match the same characters: what is hostile would else be tried in every way.
_NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"
_LENGTH = re.compile(rf"({_NUMBER})\s*(px|mm|cm|in|pt|pc|q|%|em|ex|rem)?", re.IGNORECASE)
_FUNCTION = re.compile(r"[\s,]*([a-zA-Z]+)\s*\(([^()]*)\)")
_ARGUMENT = re.compile(rf"({_NUMBER})([a-zA-Z%]*)[\s,]*")
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "q": 0.25}
_DEGREES = {"": 1.0, "deg": 1.0, "grad": 0.9, "turn": 360.0, "rad": 180.0 / math.pi}


def length(text: str, percent_of: float, *, font_size: float = 16.0) -> float | None:
    """A length in user units (px); None when the text is none. `percent_of` is what 100% stands for."""
    match = _LENGTH.fullmatch(text.strip())
    if match is None:
        return None
    number, unit = float(match[1]), (match[2] or "px").lower()
    if unit == "px":
        return number
    if unit == "%":
        return number * percent_of / 100.0
    if unit in ("em", "rem", "ex"):
        return number * font_size * (0.5 if unit == "ex" else 1.0)
    return number * _MM[unit] * CSS_DPI / MM_PER_INCH


def physical(text: str) -> float | None:
    """A length in mm when the text is one of the real world and greater than 0; None otherwise."""
    match = _LENGTH.fullmatch(text.strip())
    unit = (match[2] or "").lower() if match else ""
    size = float(match[1]) * _MM[unit] if match and unit in _MM else 0.0
    return size if SMALLEST < size < LARGEST else None


def numbers(text: str) -> list[float] | None:
    """The numbers of a list separated by blanks or commas; None when anything else stands in it."""
    pairs = _arguments(text)
    return None if pairs is None or any(unit for _, unit in pairs) else [number for number, _ in pairs]


def _arguments(text: str) -> list[tuple[float, str]] | None:
    """The numbers of a list, each with the unit that is written to it; None when anything else stands in it."""
    text = text.strip(" \t\r\n\f,")
    found = []
    position = 0
    while position < len(text):
        match = _ARGUMENT.match(text, position)
        if match is None:
            return None
        found.append((float(match[1]), match[2]))
        position = match.end()
    return found


def transform(text: str) -> Affine | None:
    """A transform list, in the grammar of the attribute or of the CSS property; None when it is neither."""
    affine = Affine.identity()
    position = 0
    while match := _FUNCTION.match(text, position):
        position = match.end()
        step = _step(match[1].lower(), match[2])
        if step is None:
            return None
        affine = affine @ step
    return None if text[position:].strip(" \t\r\n,") or text.strip() == "" else affine


def separate_transforms(translate: str, rotate: str, scale: str) -> Affine | None:
    """The CSS properties of these names, applied in this order (CSS Transforms 2, section 4); None where one is not understood."""
    affine = Affine.identity()
    for name, text in (("translate", translate), ("rotate", rotate), ("scale", scale)):
        if text == "none":
            continue
        step = _step(name, text)
        if step is None or (name != "scale" and any(number and not unit for number, unit in _arguments(text) or ())):
            return None  # in a style a length and an angle have a unit
        affine = affine @ step
    return affine


def _step(name: str, text: str) -> Affine | None:
    arguments = _arguments(text)
    if arguments is None:
        return None
    angles = {"rotate": (0,), "skewx": (0,), "skewy": (0,), "skew": (0, 1)}.get(name, ())
    values: list[float] = []
    for index, (number, unit) in enumerate(arguments):
        if index in angles:
            if unit not in _DEGREES:
                return None
            values.append(number * _DEGREES[unit])
        else:
            value = length(f"{number!r}{unit}", math.nan) if unit else number
            if value is None or math.isnan(value):
                return None
            values.append(value)
    match name, values:
        case "matrix", [a, b, c, d, e, f]:
            return Affine.from_matrix(a, b, c, d, e, f)
        case (("translate" | "translatex"), [x]):
            return Affine.translation(complex(x, 0.0))
        case "translatey", [y]:
            return Affine.translation(complex(0.0, y))
        case "translate", [x, y]:
            return Affine.translation(complex(x, y))
        case "scale", [x]:
            return Affine.scaling(x, x)
        case "scale", [x, y]:
            return Affine.scaling(x, y)
        case "scalex", [x]:
            return Affine.scaling(x, 1.0)
        case "scaley", [y]:
            return Affine.scaling(1.0, y)
        case "rotate", [angle]:
            return Affine.rotation(angle)
        case "rotate", [angle, x, y]:
            return Affine.rotation(angle, about=complex(x, y))
        case (("skewx" | "skew"), [angle]):
            return Affine.from_matrix(1.0, 0.0, math.tan(math.radians(angle)), 1.0, 0.0, 0.0)
        case "skewy", [angle]:
            return Affine.from_matrix(1.0, math.tan(math.radians(angle)), 0.0, 1.0, 0.0, 0.0)
        case "skew", [first, second]:
            along, down = math.tan(math.radians(first)), math.tan(math.radians(second))
            return Affine.from_matrix(1.0, down, along, 1.0, 0.0, 0.0)
    return None


def view_box(node: Node) -> tuple[float, float, float, float] | None:
    """The viewBox of an element as x, y, width, height; None when it has none that is usable."""
    values = numbers(node.get("viewBox"))
    if values is None or len(values) != 4 or not all(SMALLEST < side < LARGEST for side in values[2:]):
        return None
    return values[0], values[1], values[2], values[3]


def fit(box: tuple[float, float, float, float], width: float, height: float, rule: str) -> Affine:
    """The map of a viewBox into a viewport at 0,0 under a preserveAspectRatio rule (SVG 2, section 8.2)."""
    scale_x, scale_y = width / box[2], height / box[3]
    words = [word for word in rule.split() if word != "defer"] or ["xMidYMid"]
    if words[0] == "none":
        return Affine.scaling(scale_x, scale_y) @ Affine.translation(-complex(box[0], box[1]))
    scale = max(scale_x, scale_y) if "slice" in words else min(scale_x, scale_y)
    share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    align = re.fullmatch(r"x(Min|Mid|Max)Y(Min|Mid|Max)", words[0])
    share_x, share_y = (share[align[1]], share[align[2]]) if align else (0.5, 0.5)
    shift = complex(share_x * (width - scale * box[2]), share_y * (height - scale * box[3]))
    return Affine.translation(shift) @ Affine.scaling(scale, scale) @ Affine.translation(-complex(box[0], box[1]))


@dataclass(frozen=True, slots=True)
class Size:
    """How user units of the root become mm.

    `affine` maps them to the file's axes; `per_inch` px were taken for one inch where px had to be. `viewport` is
    what percentages refer to. `assumed` is a sentence when the scale is a guess; `unknown` tells that the file
    gives no ground for any; `uneven` is a sentence when the two directions disagree.
    """

    affine: Affine
    viewport: tuple[float, float]
    units: str
    per_inch: float = CSS_DPI
    assumed: str = ""
    unknown: bool = False
    uneven: str = ""


def root_size(root: Node, dpi: float | None) -> Size:
    """Find the size of the drawing from width, height, viewBox and, where these do not tell, from `dpi`."""
    box = view_box(root)
    width_text, height_text = root.get("width"), root.get("height")
    width_mm, height_mm = physical(width_text), physical(height_text)
    aspect = root.get("preserveAspectRatio")
    if box and (width_mm or height_mm):
        unit = _unit_word(width_text if width_mm else height_text)
        # One side alone fixes the scale; the other follows the viewBox.
        width_mm = width_mm or (height_mm or 0.0) / box[3] * box[2]
        height_mm = height_mm or width_mm / box[2] * box[3]
        uneven = ""
        across, down = width_mm / box[2], height_mm / box[3]
        if abs(across / down - 1.0) > 1e-3:
            uneven = f"Width and viewBox say {across:.6g} mm per unit across, but {down:.6g} mm down; " + (
                "each direction keeps its own." if aspect.startswith("none") else "one scale is used for both."
            )
        return Size(fit(box, width_mm, height_mm, aspect), (box[2], box[3]), unit, uneven=uneven)

    width_px, height_px = _pixels(width_text), _pixels(height_text)
    if not box and (width_mm or height_mm):
        # px inside a physical viewport: the standard's 96 to the inch, unless the file's program meant 90.
        old = _meant_ninety(root)
        per_inch = dpi or (90.0 if old else CSS_DPI)
        viewport = tuple((mm or 0.0) * per_inch / MM_PER_INCH for mm in (width_mm, height_mm))
        assumed = "" if dpi or not old else _sentence(90.0, width_mm, height_mm, "an old editor wrote the file")
        return Size(_scaled(per_inch), (viewport[0], viewport[1]), "px", per_inch, assumed)

    viewport_px = (width_px, height_px) if width_px and height_px else None
    if viewport_px is None and box:
        share = (width_px or 0.0) / box[2] or (height_px or 0.0) / box[3]
        viewport_px = (box[2] * share, box[3] * share) if share else None
    unknown = viewport_px is None
    extent = viewport_px or ((box[2], box[3]) if box else (0.0, 0.0))
    if dpi:
        per_inch, assumed = dpi, ""
    else:
        per_inch, why = _guess(root, extent, has_box=box is not None)
        across, down = (px * MM_PER_INCH / per_inch for px in extent)
        assumed = _sentence(per_inch, across, down, why)
    inner = fit(box, *extent, aspect) if box else Affine.identity()
    viewport = (box[2], box[3]) if box else extent
    return Size(_scaled(per_inch) @ inner, viewport, "px", per_inch, assumed, unknown=unknown and not dpi)


def _scaled(per_inch: float) -> Affine:
    return Affine.scaling(MM_PER_INCH / per_inch, MM_PER_INCH / per_inch)


def _pixels(text: str) -> float | None:
    """A width or height in px; None for percentages, `auto`, nothing and nonsense."""
    if "%" in text or not text:
        return None
    value = length(text, 0.0)
    return value if value is not None and SMALLEST < value < LARGEST else None


def _unit_word(text: str) -> str:
    match = _LENGTH.fullmatch(text.strip())
    return (match[2] or "px").lower() if match else "px"


def _meant_ninety(root: Node) -> bool:
    return re.match(r"0\.(4\d|9[01])", root.get("inkscape:version")) is not None


def _guess(root: Node, extent: tuple[float, float], *, has_box: bool) -> tuple[float, str]:
    """Pixels per inch, and in words why: the sheet that the drawing's size is at 96, 90 or 72."""
    hits = {
        per_inch: name
        for per_inch in (CSS_DPI, 90.0, 72.0)
        for name, sheet in SHEETS.items()
        if _is_sheet([px * MM_PER_INCH / per_inch for px in extent], sheet)
    }
    if len(hits) == 1:
        per_inch, name = next(iter(hits.items()))
        return per_inch, f"the drawing is then {name}"
    if _meant_ninety(root) and not has_box:
        return 90.0, "an old editor wrote the file"
    return CSS_DPI, "the SVG standard says so"


def _is_sheet(size: list[float], sheet: tuple[float, float]) -> bool:
    # Editors round a sheet to whole px, which is up to half of 25.4/72 mm.
    return all(abs(have - want) <= 0.18 for have, want in zip(sorted(size), sheet, strict=True))


def _sentence(per_inch: float, width: float | None, height: float | None, why: str) -> str:
    size = f", which makes the drawing {width:.0f} x {height:.0f} mm" if width and height else ""
    return f"{per_inch:g} px are taken for one inch{size} ({why})"


def length_of(attributes: Mapping[str, str], name: str, percent_of: float) -> float:
    """A length attribute in user units; 0 when it is missing, NaN when it is no length."""
    text = attributes.get(name, "")
    if not text.strip() or text.strip() == "auto":
        return 0.0
    value = length(text, percent_of)
    return math.nan if value is None else value

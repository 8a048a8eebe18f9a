"""As much of CSS as tells how a line is drawn: hidden, painted, dashed, with an arrow.

Order of weight: presentation attributes, rules by specificity and order, the style attribute, `!important`
(CSS Cascade 3). Style sheets are read in `sheet.py`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from seamcheck.reading.base import Source
from seamcheck.reading.svg.sheet import Sheet, overlay, read_declarations
from seamcheck.reading.svg.tree import Node

INHERITED = {
    "visibility": "visible",
    "stroke": "none",
    "fill": "black",
    "stroke-dasharray": "none",
    "stroke-width": "1",
    "stroke-opacity": "1",
    "fill-opacity": "1",
    "marker-start": "none",
    "marker-mid": "none",
    "marker-end": "none",
    "font-size": "16",
}
OWN = {
    "display": "inline",
    "opacity": "1",
    "clip-path": "none",
    "mask": "none",
    "transform": "",
    "transform-origin": "",
    "transform-box": "",
    "translate": "none",
    "rotate": "none",
    "scale": "none",
}
# Of these, attributes of the same name have another grammar or mean something else: only a style holds the property.
_OF_STYLES = ("transform", "translate", "rotate", "scale")
# The properties that are an element's geometry (SVG 2, 8.11 and 9.2), by its name.
GEOMETRY = {
    "path": ("d",),
    "rect": ("x", "y", "width", "height", "rx", "ry"),
    "circle": ("cx", "cy", "r"),
    "ellipse": ("cx", "cy", "rx", "ry"),
    "svg": ("x", "y", "width", "height"),
    "use": ("x", "y", "width", "height"),
}
_UNSET = frozenset({"", "auto", "none", "inherit", "initial", "unset", "revert", "revert-layer"})
_KNOWN = INHERITED | OWN
_NUMBER = re.compile(r"\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)")
# A style attribute of this form means what parting it at ";" and ":" gives; any other goes through a parser of CSS.
_QUOTED = r"""\"[^"\\/!{}\[\]();\n]*\"|'[^'\\/!{}\[\]();\n]*'"""
_PLAIN = re.compile(
    rf"""(?:[^"'\\/!{{}}\[\]()]++|/(?!\*)|{_QUOTED}|\((?:[^"'\\/!{{}}\[\]();]++|/(?!\*)|{_QUOTED})*+\))*+"""
)

Style = Mapping[str, str]


@dataclass(slots=True)
class Styles:
    """What the elements of a file look like. `sheet` is None where no style sheet stands in it."""

    sheet: Sheet | None
    source: Source
    _parsed: int = 0  # characters of style attributes that went through a parser

    def of(self, node: Node, inherited: Style) -> dict[str, str]:
        """The computed values of an element, given those of the element that it stands in; its geometry as far as a style tells it."""
        declared = {
            name: (_keyword(node.attributes[name].strip()), False) for name in _KNOWN if name in node.attributes
        }
        for name in _OF_STYLES:
            declared.pop(name, None)
        if self.sheet is not None:
            for declarations in self.sheet.declared(node):
                overlay(declared, declarations)
        overlay(declared, self._declarations(node))
        computed = dict(OWN)
        computed.update((name, inherited[name]) for name in INHERITED)
        for name in _KNOWN:
            if name in declared:
                value, _ = declared[name]
                if value == "inherit" or (value in ("unset", "revert", "revert-layer") and name in INHERITED):
                    value = inherited.get(name, _KNOWN[name])
                elif value in ("initial", "unset", "revert", "revert-layer"):
                    value = _KNOWN[name]
                computed[name] = value
        for name in GEOMETRY.get(node.tag, ()):
            if name in declared and declared[name][0] not in _UNSET:
                computed[name] = declared[name][0]
        return computed

    def _declarations(self, node: Node) -> dict[str, tuple[str, bool]]:
        """The declarations of a style attribute, each with whether it is important."""
        text = node.get("style")
        if not _PLAIN.fullmatch(text):
            self._parsed += len(text)
            what = "characters of style attributes with words and comments in them"
            self.source.limits.check("stylesheet", self._parsed, what, path=self.source.path, place=node.place)
            return read_declarations(text)
        found: dict[str, tuple[str, bool]] = {}
        for declaration in text.split(";"):
            name, colon, value = declaration.partition(":")
            if colon:
                overlay(found, {name.strip().lower(): (_keyword(value.strip()), False)})
        return found


def _keyword(value: str) -> str:
    """Keywords are the same in letters of either case, ids in an url are not."""
    return value if "(" in value or "#" in value else value.lower()


def hides(style: Style) -> bool:
    """Whether an element and everything in it is not drawn."""
    return style["display"] == "none" or _amount(style["opacity"]) == 0.0


def unseen(style: Style) -> bool:
    """Whether an element itself leaves no trace: not visible, or neither stroked nor filled."""
    if style["visibility"] in ("hidden", "collapse"):
        return True
    filled = _paints(style["fill"]) and _amount(style["fill-opacity"]) != 0.0
    return not filled and not _stroked(style)


def dashed(style: Style) -> bool:
    """Whether an element is stroked with dashes."""
    lengths = style["stroke-dasharray"].replace(",", " ").split()
    return _stroked(style) and any(_amount(length) for length in lengths)


def _stroked(style: Style) -> bool:
    return (
        _paints(style["stroke"]) and _amount(style["stroke-opacity"]) != 0.0 and _amount(style["stroke-width"]) != 0.0
    )


def _paints(value: str) -> bool:
    return value.strip().lower() not in ("none", "transparent", "")


def _amount(text: str) -> float | None:
    match = _NUMBER.match(text)
    return float(match[1]) if match else None

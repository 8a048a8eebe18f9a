"""The writing of an SVG file: each run of letters with the place where it starts."""

from __future__ import annotations

from dataclasses import dataclass, field

from seamcheck.reading.svg.css import Style, Styles, hides, unseen
from seamcheck.reading.svg.tree import Node
from seamcheck.reading.svg.units import length

_SILENT = frozenset({"title", "desc", "style", "metadata", "flowRegion"})


@dataclass(slots=True)
class Chunk:
    """A run of letters from `at` on, in user units, with the element it begins in."""

    at: complex
    node: Node
    hidden: bool
    parts: list[str] = field(default_factory=list)

    @property
    def text(self) -> str:
        """The letters on one line, blanks run together."""
        return " ".join("".join(self.parts).split())


def chunks(node: Node, style: Style, hidden: bool, viewport: tuple[float, float], styles: Styles) -> list[Chunk]:
    """The runs of a text or flowRoot element, in reading order.

    A new run begins where x, y, dx or dy moves the pen, where a paragraph begins and where hiding changes. Letters
    after a tspan belong to the text again. How far the letters themselves reach is not known, so a run that only
    follows on stays at the place of the last move.
    """
    begin = _first(node, viewport, 0j)
    if node.tag == "flowRoot":
        frame = next((one for one in node.walk() if one.tag == "rect"), node)
        begin = _first(frame, viewport, 0j)
    found = [Chunk(begin, node, hidden or unseen(style))]
    waiting: list[tuple[Node | str, Style, bool]] = [(item, style, hidden) for item in reversed(node.content)]
    while waiting:
        item, style, hidden = waiting.pop()
        current = found[-1]
        if isinstance(item, str):
            veiled = hidden or unseen(style)
            if veiled != current.hidden:
                current = Chunk(current.at, current.node, veiled)
                found.append(current)
            current.parts.append(item)
        elif item.tag not in _SILENT:
            style = styles.of(item, style)
            hidden = hidden or hides(style)
            at = _first(item, viewport, current.at)
            if at != current.at or item.tag == "flowPara" or "x" in item.attributes or "y" in item.attributes:
                found.append(Chunk(at, item, hidden or unseen(style)))
            waiting.extend((inner, style, hidden) for inner in reversed(item.content))
    return [chunk for chunk in found if chunk.text]


def _first(node: Node, viewport: tuple[float, float], pen: complex) -> complex:
    """Where the first letter of an element stands, from its x, y, dx and dy and from where the pen was."""
    values = []
    for name, percent_of, before in (("x", viewport[0], pen.real), ("y", viewport[1], pen.imag)):
        place = _one(node.get(name), percent_of)
        shift = _one(node.get(f"d{name}"), percent_of) or 0.0
        values.append((before if place is None else place) + shift)
    return complex(*values)


def _one(text: str, percent_of: float) -> float | None:
    words = text.replace(",", " ").split()
    return length(words[0], percent_of) if words else None

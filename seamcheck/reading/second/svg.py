"""An SVG read once more by svgelements.

Every element is numbered before the library sees it, so that its lines are compared with those of the same element, however often
a `use` shows it. Of its shapes the path in user units and the matrix are taken, and the two multiplied here: its own way of
applying a matrix to an arc is right for similarities alone.
"""

from __future__ import annotations

import io
import itertools
import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

import numpy as np
import numpy.typing as npt

from seamcheck.reading.second.lines import Again, Points, SecondLine, Segment, measured
from seamcheck.reading.svg.tree import UNDRAWN, Node, read_tree, unpacked

if TYPE_CHECKING:
    from seamcheck.pattern.drawing import Drawing
    from seamcheck.reading.base import Source

READER = "svgelements"
_NUMBER = "data-number-of-element"
_PER_INCH = 96.0  # px, where the file itself tells its size (CSS Values 4, 6.2)
_MM = 25.4
_NOTHING = 1e-9  # mm: a segment shorter than this is a dot
_FLAT = 1e-12  # a matrix that leaves no area
_ROUNDING = 1e-3  # mm: what editors' rounding leaves between the last point of a closed path and its first
_DRAWN_IN_PLACE = (UNDRAWN | {"flowRoot"}) - {"defs", "clipPath", "pattern"}
_SIZES = {"rect": ("width", "height"), "ellipse": ("rx", "ry")}
_SIDES = ("cx", "cy", "r", "rx", "ry", "x", "y", "x1", "y1", "x2", "y2", "width", "height")
_PLAIN_LENGTH = re.compile(r"[+-]?[\d.]+(?:mm|cm|in|pt|pc|px)?")
_LETTER = re.compile(r"[A-Za-z]")
_STYLED = re.compile(
    r"(?:^|[;{\s])(transform|transform-origin|transform-box|scale|rotate|translate|d|x|y|width|height|cx|cy|r|rx|ry)\s*:"
)


def read_again(source: Source, drawing: Drawing) -> Again:
    """The lines that svgelements draws, in mm; whatever it raises where it cannot."""
    import svgelements

    nodes = list(read_tree(source).root.walk())
    numbers = {(node.line, node.column): str(number) for number, node in enumerate(nodes)}
    per_inch = drawing.dpi or _PER_INCH
    root = svgelements.SVG.parse(
        io.BytesIO(_numbered(unpacked(source))), reify=False, ppi=per_inch, parse_display_none=True
    )
    styled = any(node.tag == "style" and _STYLED.search(node.text()) for node in nodes)
    return Again(
        lines=tuple(_lines(root, _MM / per_inch)),
        buckets=tuple(numbers.get((mark.place.line or 0, mark.place.column), "") for mark in drawing.lines),
        reasons={
            str(number): why for number, node in enumerate(nodes) if (why := tuple(_known(node, styled=styled)))
        },
    )


def _numbered(data: bytes) -> bytes:
    """The file with a number on every element, in document order."""
    root = ElementTree.fromstring(data)
    for number, element in enumerate(root.iter()):
        element.set(_NUMBER, str(number))
    return bytes(ElementTree.tostring(root, encoding="utf-8"))


def _known(node: Node, *, styled: bool) -> Iterator[str]:
    """What the library is known to get wrong of an element, by itself and by those around it."""
    chain = [node]
    while chain[-1].parent is not None:
        chain.append(chain[-1].parent)
    if any(one.tag in _DRAWN_IN_PLACE for one in chain):
        yield "it draws symbols, markers and the like where they are defined, and takes no size from what shows them"
    if any(one.tag == "switch" for one in chain):
        yield "it draws all that a switch offers"
    if any(one.tag == "svg" and one.parent is not None for one in chain):
        yield "it knows the place of a nested svg element only where that has a viewBox"
    if styled or any(_STYLED.search(one.get("style")) or "transform-origin" in one.attributes for one in chain):
        yield "it does not apply the properties of a style that move, turn or size what is drawn"
    if node.tag == "path" and _reflects_another_kind(node.get("d")):
        yield "it reflects the handle of a quadratic curve in a cubic one that follows, and the other way round"
    if node.tag == "ellipse" and any(re.search(r"e-\d", node.get(name)) for name in ("rx", "ry")):
        yield "it leaves out an ellipse that is next to nothing wide"
    if any(not node.get(name) for name in _SIZES.get(node.tag, ())):
        yield "it gives a rectangle or an ellipse a size of its own where one is missing"
    if any(node.get(name).strip() and not _PLAIN_LENGTH.fullmatch(node.get(name)) for name in _SIDES):
        yield "it takes lengths in em, ex and per cent, or written unusually, for others"
    root = chain[-1]
    if not all(_PLAIN_LENGTH.fullmatch(root.get(name)) for name in ("width", "height")):
        yield "it guesses the size of a drawing that does not give its width and height in plain units"


def _reflects_another_kind(data: str) -> bool:
    letters = [letter.upper() for letter in _LETTER.findall(data) if letter not in "eE"]
    return any(
        (here == "S" and before in "QT") or (here == "T" and before in "CS")
        for before, here in itertools.pairwise(letters)
    )


def _lines(root: Any, scale: float) -> Iterator[SecondLine]:
    """Every line of every shape, in mm."""
    import svgelements

    for shape in root.elements(lambda one: isinstance(one, svgelements.Shape)):
        matrix = shape.transform
        if abs(matrix.a * matrix.d - matrix.b * matrix.c) < _FLAT:
            continue  # what is flattened to a line is not drawn (SVG 2, 8.5)
        for subpath, closed in _subpaths(shape.segments(transformed=False)):
            segments = [one for part in subpath if (one := _segment(part, matrix, scale)) is not None]
            if closed and len(segments) > 2 and isinstance(segments[-1], tuple):
                start, end = segments[-1]
                if abs(end - start) <= _ROUNDING:
                    segments.pop()
            if segments:
                yield SecondLine(
                    figures=measured(segments, closed=closed),
                    bucket=shape.values.get(_NUMBER, ""),
                    kind=f"{shape.values.get('tag', 'shape')} {shape.values.get('attributes', {}).get('id', '')}".strip(),
                )


def _subpaths(segments: Any) -> Iterator[tuple[list[Any], bool]]:
    """The segments from one move to the next or to the end of a closed line, and whether they close."""
    import svgelements

    gathered: list[Any] = []
    for segment in segments:
        if isinstance(segment, svgelements.Move):
            yield gathered, False
            gathered = []
        elif isinstance(segment, svgelements.Close):
            yield [*gathered, segment], True
            gathered = []
        else:
            gathered.append(segment)
    yield gathered, False


def _segment(part: Any, matrix: Any, scale: float) -> Segment | tuple[complex, complex] | None:
    """A segment in mm; None for one without extent."""
    import svgelements

    def placed(points: npt.NDArray[np.float64]) -> Points:
        x, y = points[:, 0], points[:, 1]
        return np.asarray(
            scale * ((matrix.a * x + matrix.c * y + matrix.e) + 1j * (matrix.b * x + matrix.d * y + matrix.f))
        )

    if isinstance(part, svgelements.Line | svgelements.Close):
        if part.start is None or part.end is None:
            return None
        start, end = placed(np.array([[part.start.x, part.start.y], [part.end.x, part.end.y]])).tolist()
        return (start, end) if abs(end - start) > _NOTHING else None

    def along(at: npt.NDArray[np.float64]) -> Points:
        return placed(np.asarray(part.npoint(at), dtype=float))

    spread = along(np.linspace(0.0, 1.0, 5))
    return along if np.abs(spread - spread[0]).max() > _NOTHING else None

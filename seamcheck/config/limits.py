"""How much of a file is read before it is refused, and what is said about files in general."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from seamcheck.errors import InputError
from seamcheck.places import Place


def _limit(most: int, meaning: str) -> int:
    limit: int = field(default=most, metadata={"meaning": meaning})
    return limit


@dataclass(frozen=True, slots=True)
class Limits:
    """How much of a file is read before it is refused; each is a setting `limits.NAME`."""

    bytes: int = _limit(64_000_000, "of the file, and of what a compressed file unpacks to")
    elements: int = _limit(200_000, "elements of an SVG, entities of a DXF")
    depth: int = _limit(200, "elements inside elements, blocks inside blocks")
    expanded: int = _limit(100_000, "the same elements after every use or insert is followed")
    commands: int = _limit(1_000_000, "numbers in path data, vertices of polylines")
    line: int = _limit(20_000, "vertices of one line of a DXF, segments of one path of an SVG")
    strokes: int = _limit(10_000, "lines of a drawing, or of one block of it")
    marks: int = _limit(2_000, "lines, points and texts of one piece")
    pieces: int = _limit(1_500, "pieces, each size of one counted")
    nested: int = _limit(
        30_000, "pairs of closed lines as large as a piece of which one lies in the box of the other"
    )
    overlaps: int = _limit(250_000, "pairs of segments of closed lines that lie over one another")
    corners: int = _limit(500, "corners of one piece")
    degree: int = _limit(25, "degree of a spline")
    tags: int = _limit(4_000_000, "pairs of group code and value in a DXF")
    attribute: int = _limit(4_000_000, "characters in one attribute or one text")
    stylesheet: int = _limit(
        1_000_000, "characters in all style sheets of an SVG, but for fonts and pictures; so many in style attributes"
    )
    matches: int = _limit(1_000_000, "steps from element to element to match the selectors of style sheets")

    def check(self, name: str, amount: int, what: str, *, path: str, place: Place | str = "") -> None:
        """Raise InputError when `amount` of `what` (say "elements") is over the limit `name`."""
        limit: int = getattr(self, name)
        if amount > limit:
            raise InputError(
                f"{amount} {what} are more than the {limit} that are read",
                path=path,
                place=place,
                remedy=f"if the file is honest, set limits.{name} to {amount} or more in seamcheck.toml",
            )


@dataclass(frozen=True, slots=True)
class ReadOptions:
    """What the user or the shop says about the files.

    `units` ("mm", "cm" or "in") overrides what a DXF states; `dpi` is the number of px per inch of an SVG;
    `encoding` is that of the texts of a DXF; `layers` maps role words ("sew line", "notch" ...) to the layer
    or label patterns (`*` allowed, case ignored) that the shop draws them on. `given` is a file that is handed over and not read
    from disk: its path and its bytes.
    """

    units: str | None = None
    dpi: float | None = None
    encoding: str | None = None
    layers: Mapping[str, Sequence[str]] = field(default_factory=dict)
    limits: Limits = field(default_factory=Limits)
    given: tuple[str, bytes] | None = field(default=None, repr=False)

"""Results with their geometry, and what a drawing says: read from its SVG, which is all that a reader has."""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple
from xml.etree import ElementTree

import judging
from drafted import fixture

from seamcheck.engine.result import FileResult
from seamcheck.report.figures.base import Figure, standalone

FIXTURES = Path(__file__).parents[3] / "fixtures"
DEMO = FIXTURES / "ferryhand"
SVG = "{http://www.w3.org/2000/svg}"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def judged(path: str, plan: str | None = None, *sizes: str) -> FileResult:
    """A file under fixtures/ as it is judged, with its geometry."""
    result = judging.judged(fixture(path), plan=fixture(plan) if plan else None, sizes=sizes)
    assert result.failures == ()
    return result


def left(alteration: str, form: str = ".svg") -> FileResult:
    """An alteration of the demo whose mates were left as they were."""
    return judged(f"ferryhand/altered/{alteration}-left{form}", "ferryhand/ferryhand.seams.toml")


def altered(name: str, suffix: str = ".svg") -> FileResult:
    """An altered pattern of the corpus."""
    return judged(f"corpus/{name}-altered{suffix}", f"corpus/{name}.seams.toml")


class Line(NamedTuple):
    """A path of a drawing: its class, its data attributes, its points in order, and the first handle behind its start."""

    kind: str
    data: dict[str, str]
    points: list[complex]
    leaves: complex


def root(figure: Figure) -> ElementTree.Element:
    """The drawing as a tree; ParseError where it is not well-formed."""
    return ElementTree.fromstring(standalone(figure))


def paths(figure: Figure, kind: str | None = None) -> list[Line]:
    """The paths of a class, or all, in the order in which they are drawn."""
    found = []
    for one in root(figure).iter(f"{SVG}path"):
        if kind is None or kind in one.get("class", "").split():
            numbers = [float(number) for number in NUMBER.findall(one.get("d", ""))]
            every = [complex(x, y) for x, y in zip(numbers[::2], numbers[1::2], strict=False)]
            data = {key.removeprefix("data-"): value for key, value in one.items() if key.startswith("data-")}
            found.append(
                Line(one.get("class", ""), data, every, next((p for p in every[1:] if p != every[0]), every[0]))
            )
    return found


def texts(figure: Figure) -> list[str]:
    """Everything written in the drawing, one string a text element."""
    return ["".join(one.itertext()) for one in root(figure).iter(f"{SVG}text")]

"""What `file.html` asks of a file: its verdict, its sections, and the rows of its tables."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from seamcheck import amounts
from seamcheck.report import telling
from seamcheck.report.html.amounts import Part, allowed, differences, spread

if TYPE_CHECKING:
    from seamcheck.report.figures.base import Figure, Linked
    from seamcheck.report.html.figures import Link
    from seamcheck.report.html.view import View


def verdict(view: View, *, opened: bool = True) -> tuple[str, str]:
    """What a file comes to, `opened` as a heading is, and its kind: a severity or "good"."""
    said, kind = telling.verdict(view.file, [told.cause for told in view.told if told.cause is not None])
    return (said[:1].upper() + said[1:] if opened else said), kind


def contents(view: View) -> list[tuple[str, str]]:
    """The sections that a file has: ids and names, in their order."""
    file = view.file
    several = len([size for size in file.sizes if size]) > 1
    each = [
        ("findings", f"What to do ({len(view.told)})", bool(view.told)),
        ("accepted", "Accepted", bool(view.accepted)),
        ("looked-at", "Looked at", bool(file.sizes)),
        ("seams", f"Seams ({len(view.seams)})", bool(view.seams)),
        ("junctions", "Junctions", bool(file.junctions)),
        ("pieces", f"Pieces ({len(file.pieces)})", bool(file.pieces) and file.geometry is not None),
        ("sizes", f"Sizes ({len(file.sizes)})", several and bool(file.seams or view.told)),
        ("graph", "Which piece is sewn to which", bool(file.seams) and file.geometry is not None),
        ("skipped", "Skipped checks", bool(file.skipped)),
        ("notes", "Notes on the file", bool(file.notes)),
        ("tolerances", "Tolerances", bool(file.in_force)),
    ]
    return [(f"{view.prefix}-{kind}", name) for kind, name, there in each if there]


def parted(names: Iterable[str], found: Callable[[str], Sequence[int]]) -> tuple[list[str], list[str]]:
    """Those on which something was found, and those on which nothing was."""
    every = list(names)
    loud = [name for name in every if found(name)]
    return loud, [name for name in every if name not in loud]


# Seams


class SeamRow(NamedTuple):
    """A seam as its table tells it, over all sizes."""

    id: str
    name: str
    guessed: bool
    first: str
    second: str
    first_long: list[Part]
    second_long: list[Part]
    difference: list[Part]
    allowed: list[Part]
    found: tuple[int, ...]


def seam_rows(view: View, names: Sequence[str]) -> Iterator[SeamRow]:
    """The seams of some names."""
    for name in names:
        each = [seam for seam in view.file.seams if seam.name == name]
        yield SeamRow(
            id=view.id("seam", view.seams.index(name)),
            name=name,
            guessed=any(one.inferred for one in each),
            first=_side(each[0].first.edges),
            second=_side(each[0].second.edges),
            first_long=spread([one.first.length for one in each]),
            second_long=spread([one.second.length for one in each]),
            difference=differences([one.difference for one in each]),
            allowed=allowed(each[0].allowed) if len({one.allowed for one in each}) == 1 else ["by size"],
            found=view.numbers_of_seam(name),
        )


def _side(edges: Sequence[str]) -> str:
    """The edges of a side, without the plan's sign for those that are walked backwards."""
    return " + ".join(edge.lstrip("-") for edge in edges)


def quiet_seams(view: View, names: Sequence[str]) -> Iterator[tuple[str, Figure, Figure]]:
    """A drawing of each seam where there is one size, wide and narrow; where there are more, the section of the sizes has them."""
    from seamcheck.report.figures.seam import seam_figure

    if view.file.geometry is None or len(view.file.sizes) != 1:
        return
    for name in names:
        figure, narrow = (seam_figure(view.file, name, view.file.sizes[0], narrow=one) for one in (False, True))
        yield view.id("seam-drawing", view.seams.index(name)), figure, narrow


# Junctions


class JunctionRow(NamedTuple):
    """A junction as its table tells it, in the size in which it is worst; `place` is that in the result's list."""

    place: int
    corners: str
    angle: str
    expected: str
    off: str
    size: str
    found: tuple[int, ...]


def junction_rows(view: View) -> tuple[list[JunctionRow], list[JunctionRow]]:
    """The junctions with findings, and those without."""
    places: dict[tuple[str, ...], list[int]] = {}
    for index, junction in enumerate(view.file.junctions):
        places.setdefault(junction.corners, []).append(index)
    rows = [_junction_row(view, corners, indices) for corners, indices in places.items()]
    return [row for row in rows if row.found], [row for row in rows if not row.found]


def _junction_row(view: View, corners: tuple[str, ...], indices: Sequence[int]) -> JunctionRow:
    worst = _worst(view, indices)
    junction = view.file.junctions[worst]
    return JunctionRow(
        place=worst,
        corners=amounts.listed(corners),
        angle=amounts.angle(junction.angle),
        expected=amounts.angle(junction.expected),
        off=amounts.angle(abs(junction.angle - junction.expected)),
        size=junction.size,
        found=view.numbers_of_junction(indices),
    )


def _worst(view: View, indices: Sequence[int]) -> int:
    junctions = view.file.junctions
    return max(indices, key=lambda k: (round(abs(junctions[k].angle - junctions[k].expected), 3), -k))


def quiet_junctions(view: View, rows: Sequence[JunctionRow]) -> Iterator[tuple[str, Figure]]:
    """A drawing of each junction."""
    from seamcheck.report.figures.junction import junction_figure

    if view.file.geometry is not None:
        for row in rows:
            yield view.id("junction-drawing", row.place), junction_figure(view.file, row.place)


# Sizes


def sizes_with_findings(view: View) -> tuple[list[str], dict[tuple[int, str], str], int]:
    """The sizes in which something was found, the worst first, how grave each finding is in each, and how many sizes are left."""
    rank = {size: k for k, size in enumerate(view.file.sizes)}
    grades: dict[tuple[int, str], str] = {}
    for told in view.every():
        for finding in sorted(told.group.findings, key=lambda one: -one.severity.rank):
            grades[told.number, finding.size] = finding.severity.value
    tally = {
        size: tuple(
            -sum(grade == one for (_, s), grade in grades.items() if s == size)
            for one in ("error", "warning", "note")
        )
        for size in view.file.sizes
    }
    sizes = sorted(view.file.sizes, key=lambda size: (tally[size], rank[size]))
    found = [size for size in sizes if any(tally[size])]
    return found, grades, len(sizes) - len(found)


# The graph


def graph_link(view: View) -> Callable[[Linked], Link | None]:
    """Where the pieces and seams of the graph lead to."""

    def link(part: Linked) -> Link | None:
        if part.kind == "piece":
            (name,) = part.names
            found = view.numbers_of_piece(name)
            target, said = view.id("piece", view.file.pieces.index(name)), part.said
        elif len(part.names) == 1:
            (name,) = part.names
            found = view.numbers_of_seam(name)
            target, said = view.id("seam", view.seams.index(name)), f"seam {name}"
        else:  # several quiet ones in one line
            return {"href": f"#{view.prefix}-seams", "aria-label": f"seams {' '.join(part.names)}: nothing found"}
        told = f"findings {amounts.listed([str(n) for n in found])}" if found else "nothing found"
        return {"href": f"#{target}", "aria-label": f"{said}: {told}"}

    return link

"""The lines of the first reading laid beside those of the second: which agree, which differ, and what explains it.

Within a bucket, which is an element of an SVG or a block of a DXF, lines that tell the same figures are taken together first. What is then left
over is compared with the nearest that is left.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from seamcheck.pattern.drawing import Drawing, LineMark
from seamcheck.pattern.second_reading import Difference, Explained, Figures, SecondReading
from seamcheck.places import Place
from seamcheck.reading.second.lines import Again, SecondLine

SAME = 0.05  # mm: figures this near are the same
SHARE = 1e-6  # of a length, for lines of many metres
PLACES = 3  # of what is explained are told by their places


@dataclass(slots=True)
class _Outcome:
    """What has come out so far."""

    agreed: int = 0
    differences: list[Difference] = field(default_factory=list)
    explained: dict[str, list[str]] = field(default_factory=dict)

    def explain(self, reason: str, place: str) -> None:
        self.explained.setdefault(reason, []).append(place)


def compared(drawing: Drawing, again: Again, reader: SecondReading) -> SecondReading:
    """What `reader` tells, with every line of a drawing compared with those that it found."""
    outcome = _Outcome()
    ours: dict[str, list[tuple[LineMark, Figures]]] = defaultdict(list)
    theirs: dict[str, list[SecondLine]] = defaultdict(list)
    for number, (mark, bucket) in enumerate(zip(drawing.lines, again.buckets, strict=True)):
        if bucket is None:
            outcome.explain(again.excused[number], str(mark.place))
        else:
            ours[bucket].append((mark, figures_of(mark)))
    for line in again.lines:
        theirs[line.bucket].append(line)
    for bucket in dict.fromkeys([*ours, *theirs]):
        left, right = _without_same(ours[bucket], theirs[bucket], outcome)
        left, right = _without_joined(left, right, outcome)
        _tell(left, right, again.reasons.get(bucket, ()), outcome)
    return replace(
        reader,
        agreed=outcome.agreed,
        differences=tuple(outcome.differences),
        explained=tuple(
            Explained(reason=reason, count=len(places), places=tuple(dict.fromkeys(places))[:PLACES])
            for reason, places in outcome.explained.items()
        ),
    )


def figures_of(mark: LineMark) -> Figures:
    """The figures of a line as the first reader found it: along its chords, where it was given a smoother curve."""
    curve = mark.in_file()
    closed = mark.closed or curve.is_closed
    return Figures(curve.length, curve.bounds(), () if closed else (curve.start, curve.end))


def off(one: Figures, other: Figures) -> float:
    """How far two lines lie apart by their boxes and their ends, in mm."""
    apart = max(abs(a - b) for a, b in zip(one.bounds, other.bounds, strict=True))
    if one.ends and other.ends:
        (a, b), (c, d) = one.ends, other.ends
        apart = max(apart, min(max(abs(a - c), abs(b - d)), max(abs(a - d), abs(b - c))))
    return apart


def _same(one: Figures, other: Figures) -> bool:
    reach = SAME + SHARE * one.length
    alike = bool(one.ends) == bool(other.ends) or max(one.length, other.length) <= SAME  # what is so short is no ring
    return alike and abs(one.length - other.length) <= reach and off(one, other) <= reach


def _without_same(
    ours: Sequence[tuple[LineMark, Figures]], theirs: Sequence[SecondLine], outcome: _Outcome
) -> tuple[list[tuple[LineMark, Figures]], list[SecondLine]]:
    """What is left once lines with the same figures are taken away in pairs."""
    cells: dict[tuple[int, int], list[int]] = defaultdict(list)
    for number, line in enumerate(theirs):
        cells[_cell(line.figures)].append(number)
    gone: set[int] = set()
    left = []
    for mark, figures in ours:
        column, row = _cell(figures)
        near = (n for dx in (0, -1, 1) for dy in (0, -1, 1) for n in cells.get((column + dx, row + dy), ()))
        found = next((n for n in near if n not in gone and _same(figures, theirs[n].figures)), None)
        if found is None:
            left.append((mark, figures))
        else:
            gone.add(found)
            outcome.agreed += 1
    return left, [line for number, line in enumerate(theirs) if number not in gone]


def _cell(figures: Figures) -> tuple[int, int]:
    return round(figures.bounds[0] / 1.0), round(figures.bounds[1] / 1.0)


def _without_joined(
    ours: Sequence[tuple[LineMark, Figures]], theirs: Sequence[SecondLine], outcome: _Outcome
) -> tuple[list[tuple[LineMark, Figures]], list[SecondLine]]:
    """What is left once a closed line is found again in open ones within its box: in those that the first reader joined, or
    into which the second takes an outline apart."""
    left, right = [], list(theirs)
    for mark, figures in ours:
        parts = [line for line in right if line.figures.ends and _holds(figures, line.figures)]
        if len(parts) > 1 and not figures.ends and _same(figures, _whole(parts)):
            outcome.agreed += 1
            right = [line for line in right if all(line is not part for part in parts)]
        else:
            left.append((mark, figures))
    return left, right


def _holds(one: Figures, other: Figures) -> bool:
    """Whether one box holds another."""
    x0, y0, x1, y1 = one.bounds
    u0, v0, u1, v1 = other.bounds
    return x0 - SAME <= u0 and y0 - SAME <= v0 and u1 <= x1 + SAME and v1 <= y1 + SAME


def _whole(parts: Iterable[SecondLine]) -> Figures:
    all_ = [part.figures for part in parts]
    low = [min(one.bounds[k] for one in all_) for k in (0, 1)]
    high = [max(one.bounds[k] for one in all_) for k in (2, 3)]
    return Figures(sum(one.length for one in all_), (low[0], low[1], high[0], high[1]))


def _tell(
    ours: Sequence[tuple[LineMark, Figures]],
    theirs: Sequence[SecondLine],
    reasons: Sequence[str],
    outcome: _Outcome,
) -> None:
    """What is left over is told: explained where it is known why, else as differences."""
    rest = list(theirs)
    for mark, figures in ours:
        near = min(rest, key=lambda line: (round(off(figures, line.figures), 6), line.kind), default=None)
        if near is not None and not _touch(figures, near.figures):
            near = None
        if near is not None:
            rest = [line for line in rest if line is not near]
        why = [*reasons, *(near.reasons if near else ())]
        if mark.hidden and near is None:
            why.append("what is hidden is not read by it")
        if why:
            outcome.explain(why[0], str(mark.place))
            continue
        outcome.differences.append(
            Difference(
                first=figures,
                second=near.figures if near else None,
                off=off(figures, near.figures) if near else 0.0,
                at=mark.curve.start,
                place=mark.place,
                block=mark.block,
            )
        )
    for line in rest:
        words = Place(f"{line.kind} on layer {line.layer}" if line.layer else line.kind)
        why = [*line.reasons, *reasons]
        if why:
            outcome.explain(why[0], str(words))
            continue
        corner = complex(line.figures.bounds[0], line.figures.bounds[1])
        at = line.figures.ends[0] if line.figures.ends else corner
        outcome.differences.append(Difference(first=None, second=line.figures, off=0.0, at=at, place=words))


def _touch(one: Figures, other: Figures) -> bool:
    """Whether two boxes, each widened by a tenth of its size, overlap: only then are the two a line that is read in two ways."""
    x0, y0, x1, y1 = one.bounds
    u0, v0, u1, v1 = other.bounds
    reach = 0.1 * max(x1 - x0, y1 - y0, u1 - u0, v1 - v0) + SAME
    return x0 <= u1 + reach and u0 <= x1 + reach and y0 <= v1 + reach and v0 <= y1 + reach

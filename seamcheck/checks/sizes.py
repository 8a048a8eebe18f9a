"""Checks over the sizes of a nest: does every piece grow evenly from size to size.

A measure is judged by what the sizes beside it allow: one sign, and steps within twice each other. The size without
which the run is smoothest is out. Where no single size explains it, the grade changes there, which may be meant and
has twice the tolerance. Sizes stand by their numbers. All sizes of the file are looked at, also when one is asked
for alone.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.amounts import Angle, Fact, Length, Listed, Name, Phrase, Point, Reason, Unit, phrase
from seamcheck.checks.base import (
    ROUNDED,
    Check,
    Code,
    Context,
    LookedAt,
    Observation,
    Repetition,
    Severity,
    Skip,
    Tolerance,
)
from seamcheck.checks.places import corner_of
from seamcheck.checks.seam_bands import band

if TYPE_CHECKING:
    from seamcheck.geometry.evenness import Uneven
    from seamcheck.pattern.model import Corner, Dart, Edge, Notch, Pattern, Piece

NAME = "size-run"
SIXTEENTH = 1.6  # mm: 1/16 in, as between the two sides of a seam
JUMP = 3.2  # mm: 1/8 in; a jump may be meant, a size that is out may not
CORNER = 2.0  # degrees: corners stay within one degree of what the sizes beside them say
ROUNDING_STEPS = 3  # what a measure between two points moved by a rounded rule table may be off by
REACH = 12.0  # mm over which the direction at a corner is measured
SAME = 0.05  # mm: a step smaller than this is none
LEAST_SIZES = 3
MOST_OTHERS = 4  # measures of a piece that are told beside the worst

_LETTERS = re.compile(r"(?:(\d+)X|(X*))([SL])|M", re.IGNORECASE)
_NOT_A_RUN = "increments can be compared from {least} sizes on"


class Nest(NamedTuple):
    """A piece through its sizes, small to large, and where each stands in the grade.

    `edges` and `corners` are those that can be followed, each with one entry a size.
    """

    pieces: tuple[Piece, ...]
    places: tuple[float, ...]
    edges: tuple[tuple[Edge, ...], ...]
    corners: tuple[tuple[Corner, ...], ...]

    @property
    def name(self) -> str:
        """The piece's name."""
        return self.pieces[0].name

    @property
    def rounding(self) -> float:
        """The rounding step of the rule table that sizes were computed from, in mm; 0 where all are drawn."""
        return max(float(piece.labels.get("rounding", 0.0)) for piece in self.pieces)


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure of a piece in all sizes, lengths in mm or angles in degrees, and what it is measured `on`.

    `edge` is the edge that it is a measure of, of which it is the `whole` length or the station of a notch.
    """

    name: Fact
    values: tuple[float, ...]
    on: Sequence[Edge | Notch | Dart | Corner]
    edge: str | None = None
    is_angle: bool = False
    whole: bool = False


class UnevenSize(NamedTuple):
    """A run, and a size in which it is not even."""

    run: Measure
    uneven: Uneven

    @property
    def off(self) -> float:
        """How far the measure is from an even run; signed."""
        return self.uneven.value - self.uneven.even


class Grown(NamedTuple):
    """A nest, the sizes whose shape is that of the next one too, where it is not even, and the notches of each edge in each size with those of most."""

    nest: Nest
    shared: set[int]
    faults: tuple[UnevenSize, ...]
    notches: tuple[tuple[tuple[Phrase, ...], Phrase | None], ...]


def _size_run(context: Context) -> Iterator[Observation | LookedAt | Skip]:
    sizes = context.pattern.sizes
    if len(sizes) < LEAST_SIZES:
        yield Skip(
            reason="few-sizes",
            why=phrase(f"{_NOT_A_RUN}, and the file has {{number}}", least=LEAST_SIZES, number=len(sizes)),
        )
        return
    order = context.once((NAME, "order"), lambda: _order(context.pattern))
    if order is None:
        yield Skip(
            reason="no-order", why="the outlines do not grow in the order in which the sizes are named or listed"
        )
        return
    for piece in context.pieces.values():
        grown = context.once((NAME, piece.name), partial(_grown, context, piece.name, order))
        if isinstance(grown, Reason):
            yield Skip(reason=grown.code, why=grown.words, piece=piece.name)
            continue
        here = next(k for k, one in enumerate(grown.nest.pieces) if one is piece)
        yield from _uneven(grown, here)
        yield from _copied(context, grown, here)
        yield from _lost_notches(grown, here)
        yield LookedAt(piece=piece.name)


def _grown(context: Context, name: str, order: dict[str, float]) -> Grown | Reason:
    """What there is to tell of one piece in all of its sizes, or why it cannot be followed."""
    nest = _nest(context.pattern, name, order)
    if isinstance(nest, Reason):
        return nest
    runs = tuple(_runs(nest))
    shared = _shared(runs)
    notches = [tuple(_notches(edge.notches) for edge in edges) for edges in nest.edges]
    with_usual = tuple((kinds, _usual(kinds)) for kinds in notches)
    return Grown(nest, shared, tuple(_faults(context, nest, runs, shared)), with_usual)


# Which sizes follow each other


def _order(pattern: Pattern) -> dict[str, float] | None:
    """The sizes from small to large with their places in the grade; None where names and outlines disagree."""
    named = [size_number(size) for size in pattern.sizes]
    told = [number for number in named if number is not None]
    places = told if len(told) == len(set(told)) == len(named) else [float(k) for k in range(len(named))]
    order = dict(sorted(zip(pattern.sizes, places, strict=True), key=lambda item: item[1]))
    in_all = set.intersection(*({piece.name for piece in pattern.in_size(size)} for size in order))
    around = [sum(p.outline.length for p in pattern.in_size(size) if p.name in in_all) for size in order]
    # One size may be so wrong that it goes against the others; that is for the check to say.
    tries = [around, *(around[:k] + around[k + 1 :] for k in range(len(around)))]
    return order if any(_one_way(lengths) for lengths in tries) else None


def _one_way(lengths: Sequence[float]) -> bool:
    steps = [b - a for a, b in pairwise(lengths)]
    return all(step >= -SAME for step in steps) or all(step <= SAME for step in steps)


def size_number(size: str) -> float | None:
    """Where a size stands among others of its kind: 38, or M as 0, L as 1, XL as 2; None for any other name."""
    if re.fullmatch(r"\d+(?:\.\d+)?", size):
        return float(size)
    letters = _LETTERS.fullmatch(size)
    if letters is None:
        return None
    if letters[3] is None:
        return 0.0
    away = 1.0 + (int(letters[1]) if letters[1] else len(letters[2]))
    return -away if letters[3].upper() == "S" else away


def _nest(pattern: Pattern, name: str, order: dict[str, float]) -> Nest | Reason:
    """One piece in the order of its sizes, or why it cannot be followed."""
    of_size = {piece.size: piece for piece in pattern.pieces if piece.name == name}
    pieces = tuple(of_size[size] for size in order if size in of_size)
    if len(pieces) < LEAST_SIZES:
        why = f"{_NOT_A_RUN}, and the piece is drawn in {{sizes}}"
        return Reason("few-sizes", phrase(why, least=LEAST_SIZES, sizes=_names(piece.size for piece in pieces)))
    places = tuple(order[piece.size] for piece in pieces)
    if any(corner.named for piece in pieces for corner in piece.corners):
        edges = [
            tuple(edge for piece in pieces for edge in piece.edges if edge.name == wanted.name)
            for wanted in pieces[0].edges
            if wanted.named
        ]
        corners = [
            tuple(corner for piece in pieces for corner in piece.corners if corner.name == wanted.name)
            for wanted in pieces[0].corners
            if wanted.named
        ]
        return Nest(
            pieces,
            places,
            tuple(edge for edge in edges if len(edge) == len(pieces)),
            tuple(corner for corner in corners if len(corner) == len(pieces)),
        )
    if len({len(piece.corners) for piece in pieces}) > 1:
        why = "its sizes have different numbers of corners, and no plan names them"
        return Reason("corners-differ", phrase(why))
    turns = [0]
    for before, piece in pairwise(pieces):
        turns.append(_turn(before, turns[-1], piece))
    count = range(len(pieces[0].edges))
    return Nest(
        pieces,
        places,
        tuple(tuple(p.edges[(k + s) % len(count)] for p, s in zip(pieces, turns, strict=True)) for k in count),
        tuple(tuple(p.corners[(k + s) % len(count)] for p, s in zip(pieces, turns, strict=True)) for k in count),
    )


def _names(names: Iterable[str]) -> Listed:
    return Listed(tuple(map(Name, names)))


def _turn(before: Piece, turned: int, piece: Piece) -> int:
    """By how many edges the numbering of a piece is shifted against the size before: the least change of lengths."""
    lengths, old = [edge.length for edge in piece.edges], [edge.length for edge in before.edges]
    count = len(lengths)
    shifts = sorted(range(count), key=lambda shift: (shift - turned) % count)
    return min(
        shifts,
        key=lambda s: round(sum(abs(lengths[(k + s) % count] - old[(k + turned) % count]) for k in range(count)), 6),
    )


# What grows


def _runs(nest: Nest) -> Iterator[Measure]:
    for edges in nest.edges:
        name = f"{nest.name}.{edges[0].name}"
        yield Measure(Name(name), tuple(edge.length for edge in edges), edges, name, whole=True)
        if len({len(edge.notches) for edge in edges}) == 1:
            for number, notches in enumerate(zip(*(edge.notches for edge in edges), strict=True), 1):
                which = phrase("notch {number}", number=number) if len(edges[0].notches) > 1 else "the notch"
                stations = tuple(notch.station for notch in notches)
                way = phrase(
                    "{edge} from {corner} to {notch}",
                    edge=Name(name),
                    corner=corner_of(nest.pieces[0], edges[0].start),
                    notch=which,
                )
                yield Measure(way, stations, notches, name)
    for darts in zip(*(piece.darts for piece in nest.pieces), strict=False):
        tip = Name(f"{nest.name}.{darts[0].corners[1]}")
        mouth, leg = (phrase(f"the {part} of the dart {{tip}}", tip=tip) for part in ("mouth", "leg"))
        yield Measure(mouth, tuple(dart.intake for dart in darts), darts)
        yield Measure(leg, tuple(dart.legs[0].length for dart in darts), darts)
    for corners in nest.corners:
        angles = tuple(corner.angle for corner in corners)
        yield Measure(_corner(nest.name, corners[0]), angles, corners, is_angle=True)


def _corner(piece: str, corner: Corner) -> Phrase:
    if corner.named:
        return phrase("corner {corner}", corner=Name(f"{piece}.{corner.name}"))
    return phrase("the corner of {piece} at {place}", piece=Name(piece), place=Point(corner.at))


def _place(of: Edge | Notch | Dart | Corner) -> complex:
    """Where something is drawn."""
    from seamcheck.pattern.model import Dart, Edge

    if isinstance(of, Edge):
        return of.point(of.length / 2)
    return of.points[1] if isinstance(of, Dart) else of.at


def _shared(runs: Sequence[Measure]) -> set[int]:
    """The sizes whose shape is that of the next one too."""
    steps = range(len(runs[0].values) - 1) if runs else ()
    return {k for k in steps if all(abs(run.values[k + 1] - run.values[k]) < SAME for run in runs)}


def _faults(context: Context, nest: Nest, runs: Sequence[Measure], shared: set[int]) -> list[UnevenSize]:
    return [
        UnevenSize(run, one)
        for run in runs
        for one in _uneven_of(run, nest.places, shared, _tolerance(context, nest, run) / 2)
    ]


def _uneven_of(run: Measure, places: Sequence[float], shared: set[int], least: float) -> Sequence[Uneven]:
    """Where a run is uneven, by the sizes' numbers and by their mere order: either may be what was graded by.

    Sizes that share one shape, and measures that only grow every few sizes, count as one size each.
    """
    from seamcheck.geometry.evenness import uneven

    still = {k for k, (a, b) in enumerate(pairwise(run.values)) if abs(b - a) < SAME}
    joined = shared if run.is_angle else still if len(still) > 1 else still & shared
    groups: list[list[int]] = []
    for k in range(len(run.values)):
        if k - 1 in joined:
            groups[-1].append(k)
        else:
            groups.append([k])
    values = [run.values[group[0]] for group in groups]
    found: list[Uneven] = []
    for spaced in (places, range(len(places))):
        found = uneven([sum(spaced[k] for k in group) / len(group) for group in groups], values, least)
        if not found:
            return []
    return [one.of_groups(groups) for one in found]


def _tolerance(context: Context, nest: Nest, run: Measure) -> float:
    rounded = _rounded_tolerance(nest, run, context.size)
    if rounded is not None:
        return rounded.value
    if run.is_angle:
        return context.settings.tolerance(f"{NAME}/corner", "degrees") or CORNER
    return context.settings.tolerance(NAME, "mm") or SIXTEENTH


def _rounded_tolerance(nest: Nest, run: Measure, size: str) -> Tolerance | None:
    """The tolerance of sizes that were computed from rounded rules, where that is the wider one."""
    from math import atan2, degrees

    off = ROUNDING_STEPS * nest.rounding
    least = degrees(atan2(off, REACH)) if run.is_angle else off
    usual, unit = (CORNER, Unit.ANGLE) if run.is_angle else (SIXTEENTH, Unit.LENGTH)
    return Tolerance(least, unit, ROUNDED, f"size {size}") if least > usual else None


# What is said of it


def _uneven(grown: Grown, here: int) -> Iterator[Observation]:
    nest = grown.nest
    faults = [fault for fault in grown.faults if fault.uneven.index == here]
    out = [fault for fault in faults if fault.uneven.out and not fault.run.is_angle]
    corners = [fault for fault in faults if fault.run.is_angle]
    jumps = [fault for fault in faults if not fault.uneven.out and not fault.run.is_angle]
    if out:
        yield _observation("out", nest, here, _without_notches(out) + corners)
    if corners:
        # Of a piece that is out of the run its corners are told with the rest.
        whole = Repetition(check=NAME, codes=("out",), piece=nest.name)
        yield replace(_observation("corner", nest, here, corners), repeats=(whole,))
    if jumps:
        yield _observation("jump", nest, here, _without_notches(jumps))


def _without_notches(faults: Sequence[UnevenSize]) -> list[UnevenSize]:
    """The worst first, and of an edge that is out as a whole not its notches too."""
    ordered = sorted(faults, key=lambda fault: (-round(abs(fault.uneven.deviation), 6), str(fault.run.name)))
    whole = {fault.run.edge for fault in faults if fault.run.whole}
    return [fault for fault in ordered if fault.run.whole or fault.run.edge not in whole]


def _observation(code: str, nest: Nest, here: int, faults: Sequence[UnevenSize]) -> Observation:
    worst, *others = faults
    size = nest.pieces[here].size
    facts: dict[str, Fact] = {
        "what": worst.run.name,
        "piece": Name(nest.name),
        "size": Name(size),
        "beside": _names(_beside(nest, worst)),
        "off": _amount(worst),
        "way": _way(worst),
        "steps": _steps(nest, worst),
        "others": Listed((*map(_described, others[:MOST_OTHERS]), *_more(others[MOST_OTHERS:]))),
    }
    edges = dict.fromkeys(fault.run.edge for fault in faults if fault.run.edge)
    return Observation(
        code=code,
        deviation=worst.uneven.deviation,
        tolerance=_rounded_tolerance(nest, worst.run, size),
        allowed=(worst.uneven.low, worst.uneven.high),
        at=_place(worst.run.on[here]),
        pieces=(nest.name,),
        edges=tuple(edges),
        facts=facts,
        clauses=("others",) if others else (),
    )


def _beside(nest: Nest, fault: UnevenSize) -> list[str]:
    return [nest.pieces[k].size for k in (fault.uneven.before, fault.uneven.after) if k is not None]


def _way(fault: UnevenSize) -> str:
    if fault.run.is_angle:
        return "wider" if fault.off > 0 else "narrower"
    return "longer" if fault.off > 0 else "shorter"


def _amount(fault: UnevenSize) -> Fact:
    return Angle(abs(fault.off)) if fault.run.is_angle else Length(abs(fault.off))


def _described(fault: UnevenSize) -> Fact:
    if not fault.uneven.out:
        return fault.run.name
    return phrase("{what}, {off} {way}", what=fault.run.name, off=_amount(fault), way=_way(fault))


def _more(faults: Sequence[UnevenSize]) -> list[Fact]:
    return [phrase("{number} more", number=len(faults))] if faults else []


def _steps(nest: Nest, fault: UnevenSize) -> Fact:
    """What the measure does from size to size around the one that is out."""
    one = fault.uneven
    known = [k for k in (one.before, one.index, one.after) if k is not None]
    if fault.run.is_angle:
        each = [(Angle(fault.run.values[k]), Name(nest.pieces[k].size)) for k in known]
        return Listed(tuple(phrase("{angle} in {size}", angle=angle, size=size) for angle, size in each))
    if len(known) == 2:  # at the end of the run the next step tells what is usual
        known = [known[0] - 1, *known] if one.after is None else [*known, known[-1] + 1]
    steps = [
        (fault.run.values[b] - fault.run.values[a], nest.pieces[a].size, nest.pieces[b].size)
        for a, b in pairwise(known)
    ]
    told = [
        _step(*steps[k], again=0 < k == len(steps) - 1 and min(steps[k][0], steps[k - 1][0]) >= SAME)
        for k in range(len(steps))
    ]
    return phrase("it {steps}", steps=Listed(tuple(told)))


def _step(step: float, before: str, after: str, *, again: bool) -> Phrase:
    """What a measure does from one size to the next; `again` where the words before it say already that it grows."""
    if abs(step) < SAME:
        does = "stays the same"
    else:
        does = "by {amount}" if again else "grows by {amount}" if step > 0 else "shrinks by {amount}"
    sizes = {"before": Name(before), "after": Name(after)}
    return phrase(f"{does} from {{before}} to {{after}}", amount=Length(abs(step)), **sizes)


def _copied(context: Context, grown: Grown, here: int) -> Iterator[Observation]:
    """A piece drawn as in a size beside it, though its seams do not true: sizes may share a piece, if it fits both."""
    nest, shared = grown.nest, grown.shared
    same = [other for other in (here - 1, here + 1) if min(here, other) in shared]
    wrong = [walk for walk in context.walks if nest.name in (*walk.seam.first.pieces, *walk.seam.second.pieces)]
    wrong = [walk for walk in wrong if abs(walk.deviation) > band(context, walk) / 2]
    if same and wrong and len(shared) < len(nest.pieces) - 1:
        yield Observation(
            code="copied",
            at=nest.pieces[here].outline.start,
            pieces=(nest.name,),
            facts={
                "piece": Name(nest.name),
                "size": Name(nest.pieces[here].size),
                "beside": _names(nest.pieces[k].size for k in same),
                "seams": _names(walk.name for walk in wrong),
            },
        )


def _lost_notches(grown: Grown, here: int) -> Iterator[Observation]:
    """Edges with other notches in this size than in most."""
    nest = grown.nest
    for edges, (kinds, usual) in zip(nest.edges, grown.notches, strict=True):
        if usual is None or kinds[here] == usual:
            continue
        name = f"{nest.name}.{edges[0].name}"
        yield Observation(
            code="notches",
            at=_place(edges[here]),
            pieces=(nest.name,),
            edges=(name,),
            facts={"edge": Name(name), "size": Name(nest.pieces[here].size), "own": kinds[here], "usual": usual},
        )


def _usual(kinds: Sequence[Phrase]) -> Phrase | None:
    """The notches that an edge has in more than half of the sizes; None where they are not the same in so many."""
    (usual, times), *_ = Counter(kinds).most_common()
    return usual if times > len(kinds) / 2 else None


def _notches(notches: Sequence[Notch]) -> Phrase:
    told = phrase(f"{{number}} {'notches' if len(notches) > 1 else 'notch'}", number=len(notches) or "no")
    kinds = Counter({2: "double", 3: "triple"}.get(notch.count, "other") for notch in notches if notch.count != 1)
    special = [phrase("{number} {kind}", number=number, kind=kind) for kind, number in sorted(kinds.items())]
    return phrase("{all} ({special})", all=told, special=Listed(tuple(special), last=", ")) if special else told


_REMEDY = (
    "Lay the piece of all sizes on each other at the grain and at a point that is not graded. The corners of one "
    "kind must stand in a row, at even steps. Move what stands out of the row until it does not, in that size alone, "
    "redraw its lines between the nearest marks that stay, a notch or a corner, and walk its seams again."
)

SIZE_RUN = Check(
    name=NAME,
    family="sizes",
    meaning="every piece grows evenly from size to size: no measure turns back or jumps, corners and notches stay",
    why="A size that was graded by hand, or by a rule with a slip in it, sews together badly in that size alone. Nobody "
    "sees it in the sample size, and the size is cut in its hundreds before it is found.",
    remedy=_REMEDY,
    source="seam lengths in each size, notch to notch: How to check the accuracy of graded patterns (fashion-incubator); "
    "steps of one sign and within twice their neighbour, corners within 1°: common practice, no source",
    tolerance=SIXTEENTH,
    unit=Unit.LENGTH,
    repeats=(f"{NAME}/out",),
    codes=(
        Code(
            name="out",
            meaning="one size lies where the sizes beside it do not put it",
            message="{piece} is out of the run in size {size}: {what} is {off} {way} than {beside} let expect; {steps}.",
            advice="Lay {piece} in size {size} on {beside} at the grain and move what stands out until its steps are even; "
            "then walk its seams in that size again.",
            clauses={"others": "So is {others}."},
            facts=("piece", "size", "what", "off", "way", "beside", "steps", "others"),
        ),
        Code(
            name="copied",
            meaning="a piece is drawn as in the size beside it, and its seams do not true",
            message="{piece} is drawn in size {size} just as in size {beside}, and does not fit its mates: see {seams}.",
            advice="Grade {piece} for size {size}; most likely it was copied and left as it was.",
            facts=("piece", "size", "beside", "seams"),
            severity=Severity.WARNING,
        ),
        Code(
            name="jump",
            meaning="from one size on the increments are more than twice, or less than half, those before",
            message="The increments of {what} jump at size {size}: {steps}.",
            advice="If the grade is meant to change there, see that its mates change with it; else correct the rule of the "
            "points at its ends.",
            clauses={"others": "The same goes for {others}."},
            facts=("what", "size", "steps", "others"),
            tolerance=JUMP,
        ),
        Code(
            name="corner",
            meaning="the angle of a corner is another in one size",
            message="The angle of {what} is {off} {way} in size {size} than {beside} let expect: {steps}.",
            advice="Lay {piece} in size {size} on {beside} at this corner and redraw the two lines that meet in it.",
            clauses={"others": "So is {others}."},
            facts=("what", "off", "way", "size", "beside", "steps", "piece", "others"),
            tolerance=CORNER,
            unit=Unit.ANGLE,
        ),
        Code(
            name="notches",
            meaning="an edge has other notches in one size than in most",
            message="{edge} has {own} in size {size} and {usual} in most sizes.",
            advice="Carry the notches over from the size beside it, and check that the mate has them too.",
            facts=("edge", "own", "size", "usual"),
            severity=Severity.WARNING,
        ),
    ),
    run=_size_run,
)

CHECKS = (SIZE_RUN,)

"""Solving again by what a plan says so far, and what is proposed beyond it, in the names of that plan.

Whoever confirms or refuses a seam changes the plan; the solver is told all of the plan at once, and what follows from it comes back as
proposed seams between edges that the plan leaves open. An edge of a plan is found among the lines of pairing by where it begins
and ends: one that runs between other places, a corner of a person's own say, is left to the person.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from seamcheck.pairing.alike import Seam
from seamcheck.pairing.behind import SAME_END, unique
from seamcheck.pairing.candidates import Candidate
from seamcheck.pairing.lines import Line, Part, Use, reach
from seamcheck.pairing.plans import at_mark, ease_of, lengths_of, ratio_of, seam_name
from seamcheck.pairing.proposal import ProposedSeam, Reason
from seamcheck.pairing.propose import Solution, SolvedSeam, solution_of
from seamcheck.pairing.reasons import reasons
from seamcheck.pattern.model import Edge, Pattern, Piece
from seamcheck.pattern.plan import EdgeUse, Plan, SeamPlan

ASIDE = 1.6  # times the allowance that a corner of the sew line may lie off that of the cut line
AS_LONG = 0.2  # share by which an edge may be longer than the line that it is taken for
BESIDE = 0.1  # what of the distance between their middles speaks against an edge being a line
LEAST = 0.01  # a mate that is less likely is not named
MOST = 6  # mates of one edge

Sides = tuple[tuple[EdgeUse, ...], tuple[EdgeUse, ...]]


@dataclass(frozen=True, slots=True)
class Mate:
    """What an edge may be sewn to: the sides of the seam, its own side first; how likely (0 to 1), and why.

    `other_way` where a likelier mate is the same but for the way round.
    """

    sides: Sides
    likely: float
    reasons: tuple[Reason, ...]
    other_way: bool


class Again:
    """A solution that is told what a plan says; `uses` are the edges of that plan, by "piece.edge", as pairing knows them."""

    def __init__(self, solution: Solution, drawn: Pattern, pattern: Pattern) -> None:
        """`drawn` is the pattern without a plan, on the lines of the file, `pattern` the same read with the plan."""
        self.solution, self.pattern = solution, pattern
        self.uses = dict(_uses(solution, drawn, pattern))
        self._refused: set[frozenset[frozenset[str]]] = set()
        self._on_line: dict[int, list[tuple[float, float, EdgeUse]]] = {}
        for name, use in self.uses.items():
            piece, _, edge = name.partition(".")
            low, high = reach(use, solution.lines[use.line])
            self._on_line.setdefault(use.line, []).append((low, high, EdgeUse(piece, edge, use.backwards)))

    def tell(self, plan: Plan, unknown: Iterable[str] = (), refused: Iterable[Sides] = ()) -> None:
        """Solve by all that a plan says; edges of which nothing is known are not asked of again, and refused seams are none."""
        free = [f"{piece.name}.{edge}" for piece in plan.pieces for edge in _settled(piece.unsewn, piece.fold)]
        solver = self.solution.solver
        refused = list(refused)
        # Of edges that are alike one may be sewn and the other refused: to the solver they are the same.
        self._refused = set(map(_names, refused))
        solver.tell(
            self.known(plan),
            [self.uses[name].line for name in free if name in self.uses],
            [self.uses[name].line for name in unknown if name in self.uses],
            list(self._seams(refused)),
        )
        self.solution = solution_of(solver, self.solution.size)

    def known(self, plan: Plan) -> list[Seam]:
        """The seams of a plan as pairing knows them, without those of edges that it does not know."""
        return list(self._seams(seam.sides for seam in plan.seams))

    def proposed(self, plan: Plan) -> tuple[ProposedSeam, ...]:
        """The seams between edges that the plan leaves open, the likeliest first."""
        taken = taken_in(plan)
        names = {seam.name: 1 for seam in plan.seams}
        found = []
        for one in sorted(self.solution.seams, key=lambda seam: -seam.confidence):
            sides = self._named(one.first), self._named(one.second)
            if not (sides[0] and sides[1]) or _names((sides[0], sides[1])) in self._refused:
                continue
            if not taken & {use.name for side in sides for use in side}:
                found.append(self._proposed(one, (sides[0], sides[1]), names))
        return tuple(found)

    def _proposed(self, one: SolvedSeam, sides: Sides, names: dict[str, int]) -> ProposedSeam:
        seam = SeamPlan(
            name=unique(seam_name(one, self.solution), names),
            sides=sides,
            ease=ease_of(one, self.solution.parts, self.solution.lines),
            ratio=ratio_of(one),
        )
        other = one.runner_up and [self._named(side) for side in one.runner_up]
        return ProposedSeam(
            seam=seam,
            standing=one.standing,
            confidence=one.confidence,
            lengths=lengths_of(seam, self.pattern),
            reasons=one.reasons,
            runner_up=" to ".join(" + ".join(use.name for use in side) for side in other)
            if other and all(other)
            else "",
        )

    def question(self, plan: Plan) -> str | None:
        """The open edge that it tells most to ask of; None where nothing is left to ask."""
        line = self.solution.solver.question()
        if line is None:
            return None
        taken = taken_in(plan)
        members = self.solution.classes.members[self.solution.classes.root(line)]
        return next((name for name, use in self.uses.items() if use.line in members and name not in taken), None)

    def mates(self, name: str) -> tuple[Mate, ...]:
        """What an edge may be sewn to, the likeliest first."""
        if name not in self.uses:
            return ()
        line = self.uses[name].line
        classes = self.solution.classes
        found: dict[frozenset[Sides], Mate] = {}
        named: set[frozenset[frozenset[str]]] = set()
        for one, likely in self.solution.solver.options(line, MOST):
            sides = self._with(one, line, name)
            if sides is not None and likely >= LEAST:
                mate = Mate(sides, likely, reasons(classes, one), _names(sides) in named)
                found.setdefault(frozenset((sides, _from_the_end(sides))), mate)
                named.add(_names(sides))
        return tuple(found.values())

    def _with(self, one: Candidate, line: int, name: str) -> Sides | None:
        """A candidate laid on the lines that are drawn, so that an edge is in its first side."""
        for seam in self.solution.classes.spread(one.seam):
            for own, mate in (seam, seam[::-1]):
                if any(use.line == line for use in own):
                    first, second = self._named(own), self._named(mate)
                    if first and second and any(use.name == name for use in first):
                        return first, second
        return None

    def _seams(self, sides: Iterable[Sides]) -> Iterator[Seam]:
        """Seams of a plan as pairing knows them, without those of edges that it does not know."""
        for first, second in sides:
            if all(use.name in self.uses for use in (*first, *second)):
                yield self._walked(first), self._walked(second)

    def _walked(self, side: Sequence[EdgeUse]) -> tuple[Use, ...]:
        uses = ((self.uses[use.name], use.backwards) for use in side)
        return tuple(use.turned() if backwards else use for use, backwards in uses)

    def _named(self, side: Sequence[Use]) -> tuple[EdgeUse, ...]:
        """A side in the names of the plan; () where it has no names for all of it."""
        found: list[EdgeUse] = []
        for use in side:
            low, high = reach(use, self.solution.lines[use.line])
            within = sorted(
                (one for one in self._on_line.get(use.line, ()) if low <= one[0] and one[1] <= high),
                key=lambda one: one[:2],
            )
            if not within or within[0][0] != low or within[-1][1] != high:
                return ()
            if any(one[1] != other[0] for one, other in pairwise(within)):
                return ()
            row = [EdgeUse(own.piece, own.edge, own.backwards ^ use.backwards) for _, _, own in within]
            found += reversed(row) if use.backwards else row
        return tuple(found)


def _from_the_end(sides: Sides) -> Sides:
    """The same seam walked from its other end."""
    first, second = (
        tuple(EdgeUse(use.piece, use.edge, not use.backwards) for use in reversed(side)) for side in sides
    )
    return first, second


def _names(sides: Sides) -> frozenset[frozenset[str]]:
    return frozenset(frozenset(use.name for use in side) for side in sides)


def taken_in(plan: Plan) -> set[str]:
    """The edges, as "piece.edge", that a plan says something of: sewn, unsewn or a fold."""
    taken = {use.name for seam in plan.seams for side in seam.sides for use in side}
    return taken | {f"{piece.name}.{edge}" for piece in plan.pieces for edge in _settled(piece.unsewn, piece.fold)}


def _settled(unsewn: Collection[str], fold: str | None) -> tuple[str, ...]:
    return (*unsewn, *(() if fold is None else (fold,)))


def _uses(solution: Solution, drawn: Pattern, pattern: Pattern) -> Iterator[tuple[str, Use]]:
    """The edges of a pattern as uses of lines, by the places at which both begin and end."""
    on_file = {piece.name.casefold(): piece for piece in drawn.in_size(solution.size)}
    planned = {piece.in_file.casefold(): piece for piece in pattern.in_size(solution.size)}
    for part in solution.parts:
        piece, places = planned.get(part.name.casefold()), on_file.get(part.name.casefold())
        if piece is None or places is None or len(places.edges) != len(part.piece.edges):
            continue
        ends = [(line, _ends(line, part, places)) for line in (solution.lines[k] for k in part.lines)]
        for edge in piece.edges:
            found = _use(edge, piece, ends) if edge.runs else None
            if found is not None:
                yield f"{piece.name}.{edge.name}", found


def _ends(line: Line, part: Part, places: Piece) -> Mapping[int, complex]:
    """Where the marks of a line lie in the file, by their numbers; those at notches only where one edge makes the line."""
    own = [edge.name for edge in part.piece.edges]
    edges = [places.edges[own.index(name)] for name in line.edges]
    last = len(line.marks) - 1
    found = {0: edges[0].runs[0].start, last: edges[-1].runs[-1].end}
    if len(edges) == 1:
        found |= {mark: at_mark(places, line, mark, part.piece) for mark in range(1, last)}
    return found


def _use(edge: Edge, piece: Piece, lines: Sequence[tuple[Line, Mapping[int, complex]]]) -> Use | None:
    """The line, or the stretch of one, that an edge is; None where it is none."""
    allowance = piece.outline.nearest(piece.drawn.start).distance if piece.outline is not piece.drawn else 0.0
    near = SAME_END + ASIDE * allowance
    start, end = edge.runs[0].start, edge.runs[-1].end
    best: tuple[float, Use] | None = None
    for line, marks in lines:
        for low, a in marks.items():
            for high, b in marks.items():
                if low >= high:
                    continue
                use = Use(line.index, False, low, -1 if high == len(line.marks) - 1 else high)
                stations = reach(use, line)
                off = abs(stations[1] - stations[0] - edge.length)
                # Both lines of a piece with two corners run between them: it is the one whose middle is nearer.
                beside = BESIDE * abs(edge.point(edge.length / 2.0) - line.middle) if use.whole else 0.0
                for backwards, ends in ((False, (a, b)), (True, (b, a))):
                    far = max(abs(start - ends[0]), abs(end - ends[1]))
                    if (
                        far < near
                        and off < AS_LONG * edge.length + 2 * near
                        and (best is None or far + off + beside < best[0])
                    ):
                        best = far + off + beside, use.turned() if backwards else use
    return None if best is None else best[1]

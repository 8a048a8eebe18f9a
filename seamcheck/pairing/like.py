"""What patterns with a plan lend to one like them: names, cuts, allowances, edges that stay free, and seams.

Pieces are told by their names where these say it, else by form, size and place on the sheet; corners by the form. What is lent is a
plan for the pattern at hand, behind all that a person wrote there and all that its own words say. A seam whose sides are to each
other as they are there is told to the solver; another is only asked about, with what is otherwise.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from seamcheck.amounts import millimetres
from seamcheck.comparison.like_pieces import LikePiece, LikePieces
from seamcheck.comparison.likeness import Answering, Form, same_course
from seamcheck.pairing.again import Again, taken_in
from seamcheck.pairing.alike import Seam
from seamcheck.pairing.hints import PairingHint
from seamcheck.pairing.lines import Part
from seamcheck.pairing.names import NameWords, words_of
from seamcheck.pairing.plans import lengths_of
from seamcheck.pairing.proposal import ProposedSeam, Reason, Standing
from seamcheck.pairing.propose import Solution, solution_of
from seamcheck.pairing.reasons import HAND_IN_HAND
from seamcheck.pattern.model import Pattern, Piece
from seamcheck.pattern.plan import Cut, PiecePlan, Plan, SeamPlan

SAME_NAME, SAME_WORDS, SAME_LETTER, OTHER_HAND = -0.3, -0.08, -0.03, 0.1  # what names cost
AGREE = 2.5  # mm by which a seam may be longer or shorter than the one that is lent
NEAR = 16.0, 0.06  # up to here it is a best guess
MET = 4.0  # mm: notches that meet
DOUBTED = 0.6  # how likely a seam is whose pieces may be others
LIKELY: Mapping[Standing, float] = {Standing.SURE: 0.99, Standing.GUESS: 0.8, Standing.QUESTION: 0.4}

Build = Callable[[Plan], Pattern]


@dataclass(frozen=True, slots=True)
class Memory:
    """A pattern with its plan, as it is called: last season's block, or one of a shop's folder."""

    name: str
    pattern: Pattern
    plan: Plan


@dataclass(frozen=True, slots=True)
class Lent:
    """What one pattern lends: a plan for the pattern at hand, its seams as they stand, and how each piece was told, in words."""

    plan: Plan
    seams: tuple[ProposedSeam, ...]
    told: Mapping[str, str]


def lend(
    memories: Sequence[Memory], solution: Solution, drawn: Pattern, build: Build, written: Plan | None = None
) -> tuple[Solution, tuple[Lent, ...]]:
    """A solution by all that memories lend, and what each of them lends: the best first, others what it does not know.

    `drawn` is the pattern on the lines of the file, `build` reads it with a plan, `written` is what a person wrote of it.
    """
    found = [(one, _matches(one, solution)) for one in memories]
    found.sort(key=lambda one: -sum(1.0 - match.answer.misfit for match in one[1]))
    taken = {solution.classes.root(line) for line in _lines(solution, drawn, build, written)}
    seen: set[int] = set()
    lent: list[tuple[Lent, Again]] = []
    told: list[Seam] = []
    free: list[int] = []
    for memory, matches in found:
        # What another than the nearest knows is believed where the names say so too: by form alone many a strip is like.
        matches = [match for match in matches if match.named or not lent]
        fresh = {match.other for match in matches} - seen
        if not fresh:
            continue
        seen |= fresh
        one = _lent(memory, matches, solution, drawn, build, {solution.parts[k].name for k in fresh})
        if one is None:
            continue
        again = Again(solution, drawn, build(one.plan))
        sure = replace(one.plan, seams=tuple(seam.seam for seam in one.seams if seam.standing is Standing.SURE))
        for seam in again.known(one.plan):
            _said(solution, seam, memory.name)
        lent_here = {_sewn(seam) for seam in again.known(one.plan)}
        parts = {line for match in matches for line in solution.parts[match.other].lines}
        for seam in again.known(sure):
            copies = [_sewn(copy) for copy in solution.classes.spread(seam)]
            if any(copy not in lent_here and frozenset().union(*copy) <= parts for copy in copies):
                continue  # of two lines that are alike one is sewn otherwise there, which the solver would not hear
            lines = {solution.classes.root(use.line) for side in seam for use in side}
            if not lines & taken:
                told.append(seam)
        free += [again.uses[name].line for name in taken_in(replace(one.plan, seams=())) if name in again.uses]
        taken |= {solution.classes.root(use.line) for seam in told for side in seam for use in side}
        lent.append((one, again))
    solution.solver.tell(told, free if len(seen) == len(solution.parts) else ())
    solution = replace(solution_of(solution.solver, solution.size), allowance=solution.allowance)
    return solution, tuple(_beside(one, again, solution) for one, again in lent)


def _lines(solution: Solution, drawn: Pattern, build: Build, written: Plan | None) -> Iterator[int]:
    """The lines of which a person wrote what they are sewn to, or that they are not."""
    if written is not None:
        uses = Again(solution, drawn, build(written)).uses
        yield from (uses[name].line for name in taken_in(written) if name in uses)


def _said(solution: Solution, seam: Seam, name: str) -> None:
    """Let what is asked of two lines, and the seams of copies that follow from one that is lent, say where it is from."""
    solver, classes = solution.solver, solution.classes
    if all(len(side) == 1 for side in seam):
        pair = sorted(classes.root(side[0].line) for side in seam)
        solver.hints[pair[0], pair[1]] = PairingHint(first="", second="", confidence=1.0, why=f"as in {name}")


def _beside(one: Lent, again: Again, solution: Solution) -> Lent:
    """What is lent, beside what the pattern tells of itself.

    A seam that is not sure gives way to a likelier one, and is as sure as that where it is the same; an edge that was free there is not where
    a piece is sewn to it that is new.
    """
    known = {piece.in_file for piece in one.plan.pieces}
    new = {line.index for line in solution.lines if solution.parts[line.piece].name not in known}
    sewn = [(seam, _sides(solution, (seam.first, seam.second))) for seam in solution.seams]
    to_new = {
        line
        for seam, sides in sewn
        for line in frozenset().union(*sides)
        if seam.standing is not Standing.QUESTION and frozenset().union(*sides) & new
    }
    seams = []
    for seam in one.seams:
        names = {use.name for side in seam.seam.sides for use in side}
        lines = {again.uses[name].line for name in names if name in again.uses}
        told = [_sides(solution, one) for one in again.known(Plan(seams=(seam.seam,)))]
        if seam.standing is not Standing.SURE:
            likelier = [
                (other, sides)
                for other, sides in sewn
                if other.confidence > seam.confidence and lines & frozenset().union(*sides)
            ]
            same = next((other for other, sides in likelier if sides in told), None)
            if likelier and same is None:
                continue
            if same is not None:
                why = seam.reasons[:1] if same.standing is Standing.SURE else seam.reasons
                seam = replace(seam, standing=same.standing, confidence=same.confidence, reasons=why)
        seams.append(seam)

    def stays_free(piece: PiecePlan, edge: str) -> bool:
        use = again.uses.get(f"{piece.name}.{edge}")
        return use is None or use.line not in to_new

    pieces = [
        replace(piece, unsewn=tuple(edge for edge in piece.unsewn if stays_free(piece, edge)))
        for piece in one.plan.pieces
    ]
    plan = replace(one.plan, pieces=tuple(pieces), seams=tuple(seam.seam for seam in seams))
    return replace(one, plan=plan, seams=tuple(seams))


def _sewn(seam: Seam) -> frozenset[frozenset[int]]:
    """The lines on either side of a seam."""
    return frozenset(frozenset(use.line for use in side) for side in seam)


def _sides(solution: Solution, seam: Seam) -> frozenset[frozenset[int]]:
    """The classes of the lines on either side of a seam."""
    return frozenset(frozenset(solution.classes.root(use.line) for use in side) for side in seam)


# Pieces


def _matches(memory: Memory, solution: Solution) -> list[LikePiece]:
    """The pieces that answer to those of a memory, in the order of the file."""
    pattern, parts = memory.pattern, solution.parts
    size = solution.size if solution.size in pattern.sizes else pattern.sizes[len(pattern.sizes) // 2]
    known = {piece.name for piece in memory.plan.pieces}
    pieces = [piece for piece in pattern.in_size(size) if piece.name in known and not piece.lost_edges]
    words = [words_of(piece.in_file, piece.texts, piece.labels) for piece in pieces]
    words = [words_of(p.name, (), {}) if one.silent else one for p, one in zip(pieces, words, strict=True)]
    names = np.array(
        [[_by_name(p, one, part) for part in parts] for p, one in zip(pieces, words, strict=True)]
    ).reshape(len(pieces), len(parts))

    def comes_to(k: int, answer: Answering) -> object:
        """The classes of the lines that meet at each corner."""
        ends = [
            {
                (line.start, line.end)[at]: solution.classes.root(line.index)
                for line in map(solution.lines.__getitem__, parts[k].lines)
            }
            for at in ((1, 0) if answer.over else (0, 1))
        ]
        corners = parts[k].piece.corners
        return {name: [own.get(corners[at].name) for own in ends] for name, at in answer.corners.items()}

    others = [part.piece for part in parts]
    return LikePieces(pieces, memory.plan.seams, others, names, (SAME_WORDS, SAME_NAME), comes_to).found()


def _by_name(piece: Piece, words: NameWords, part: Part) -> float:
    """What the names of two pieces tell: inf where they tell that it is another."""
    name = part.name.casefold()
    if name in (piece.name.casefold(), piece.in_file.casefold()):
        return SAME_NAME if re.search(r"[^\W\d_]{3}", name.removeprefix("piece")) else SAME_LETTER
    own, there = part.words.qualities, words.qualities
    if part.words.kind and words.kind and part.words.kind != words.kind:
        return np.inf
    for a, b in (pair for both in HAND_IN_HAND for pair in (both, both[::-1])):
        if a in own and b in there and a not in there and b not in own:
            return OTHER_HAND if "left" in (a, b) else np.inf
    return SAME_WORDS if part.words.kind and part.words.kind == words.kind and own == there else 0.0


# What is lent


def _lent(
    memory: Memory, matches: Sequence[LikePiece], solution: Solution, drawn: Pattern, build: Build, fresh: set[str]
) -> Lent | None:
    """What a memory lends of the pieces that answer to its own; `fresh` are those that no other knows better."""
    on_file = {piece.name: piece for piece in drawn.in_size(solution.size)}
    twins = {index for pair in solution.classes.twins for index in pair}
    planned = {piece.name: piece for piece in memory.plan.pieces}
    pieces = [
        _piece(match, planned[match.piece.name], on_file, solution, twin=match.other in twins) for match in matches
    ]
    plan = _of(memory.plan, pieces)
    pattern = build(plan)
    here = {piece.name: piece for piece in reversed(pattern.in_size(solution.size))}
    kept = []
    for match, piece in zip(matches, pieces, strict=True):
        there = here[piece.name]
        if not piece.edges or any(one.unsure or one.lost_edges for one in pattern.pieces if one.name == piece.name):
            continue
        ratio = Form(there).radius / Form(match.piece).radius
        alike = [
            edge for edge in piece.edges if same_course(match.piece, there, edge, ratio=ratio, over=match.answer.over)
        ]
        kept.append(_only(piece, alike))
    plan = _of(memory.plan, [piece for piece in kept if piece.edges])
    if not plan.pieces:
        return None
    fresh_here = {piece.name for piece in plan.pieces if piece.in_file in fresh}
    seams = []
    for seam in plan.seams:
        one = _seam(seam, memory, pattern)
        if _pieces(one) & fresh_here:
            seams.append(one)
    agreeing = {one.seam.name for one in seams if one.standing is Standing.SURE}
    covered = len(matches) / max(len(memory.plan.pieces), len(solution.parts))
    doubted = {match.piece.name for match in matches if _is_doubtful(match, memory.plan, agreeing, covered)}
    doubted |= {match.piece.name for match in matches if not match.alone}
    seams = [_doubted(one) if _pieces(one) & doubted and one.standing is Standing.SURE else one for one in seams]
    told = {match.piece.name: _told(match, memory, solution.parts[match.other].piece) for match in matches}
    plan = replace(plan, name=drawn.name, seams=tuple(one.seam for one in seams))
    return Lent(plan, tuple(seams), {piece.name: told[piece.name] for piece in plan.pieces})


def _of(plan: Plan, pieces: Sequence[PiecePlan]) -> Plan:
    """The plan of these pieces: its darts, pleats and seams as far as their corners and edges are known."""
    edges = {f"{piece.name}.{edge}" for piece in pieces for edge in piece.edges}
    corners = {(piece.name, corner) for piece in pieces for corner in piece.corners}
    return Plan(
        pieces=tuple(pieces),
        darts=tuple(one for one in plan.darts if corners >= {(one.piece, corner) for corner in one.corners}),
        pleats=tuple(one for one in plan.pleats if corners >= {(one.piece, corner) for corner in one.corners}),
        seams=tuple(seam for seam in plan.seams if edges >= {use.name for side in seam.sides for use in side}),
    )


def _only(piece: PiecePlan, edges: Sequence[str]) -> PiecePlan:
    """A piece with some of its edges alone, and the corners of them and of its darts."""
    return replace(
        piece,
        edges={edge: piece.edges[edge] for edge in edges},
        unsewn=tuple(edge for edge in piece.unsewn if edge in edges),
        fold=piece.fold if piece.fold in edges else None,
        cut="one" if piece.cut == "fold" and piece.fold not in edges else piece.cut,
        allowances={edge: width for edge, width in piece.allowances.items() if edge in edges},
    )


def _piece(
    match: LikePiece, plan: PiecePlan, on_file: Mapping[str, Piece], solution: Solution, *, twin: bool
) -> PiecePlan:
    part, answer = solution.parts[match.other], match.answer
    places = on_file.get(part.name, part.piece)
    if len(places.corners) != len(part.piece.corners) or len(places.edges) != len(part.piece.edges):
        places = part.piece
    corners = {
        name: places.corners[answer.corners[name]].at
        if name in answer.corners
        else _at(places, part.piece, answer.stations[name])
        for name in plan.corners
        if name in answer.stations
    }
    corners = {name: complex(round(at.real, 4), round(at.imag, 4)) for name, at in corners.items()}
    ways_kept = {edge: tuple(corner for corner in way if corner in corners) for edge, way in plan.edges.items()}
    edges = {
        edge: way
        for edge, way in ways_kept.items()
        if len(way) > 1 and (way[0], way[-1]) == (plan.edges[edge][0], plan.edges[edge][-1])
    }
    own = part.piece.line if part.piece.line in ("sew", "cut") else None
    unknown = (own or plan.line) == "cut" and part.piece.outline is part.piece.drawn
    tried = solution.allowance if part.piece.outline is not part.piece.drawn else None
    lent = PiecePlan(
        name=plan.name,
        in_file=part.name,
        cut=_cut(part, plan, twin=twin),
        fold=plan.fold,
        line=own or plan.line,
        allowance=plan.allowance if unknown else tried,
        allowances={
            **({plan.fold: 0.0} if plan.fold and (own or plan.line) == "cut" else {}),
            **(plan.allowances if unknown else {}),
        },
        unsewn=plan.unsewn,
        corners=corners,
        edges=edges,
    )
    return _only(lent, tuple(edges))


def _cut(part: Part, plan: PiecePlan, *, twin: bool) -> Cut:
    """How a piece is cut: as it is lent, where its own words do not say otherwise."""
    words, lent = part.words, plan.cut
    often = lent if isinstance(lent, int) else 2 if lent == "pair" else 1
    if words.copies not in (None, often) and lent != "fold":
        return "pair" if words.paired or (words.copies == 2 and not part.mirror) else words.copies or "one"
    if words.paired or (twin and lent == "pair" and words.copies is None):
        return "pair" if words.paired else "one"  # where both hands are drawn each is cut once
    return lent


def _at(places: Piece, own: Piece, station: float) -> complex:
    """A place between two corners on the piece as the file draws it; `own` is the piece that the station is of."""
    if not own.corners:
        return places.drawn.point(station / own.outline.length * places.drawn.length)
    length = own.outline.length
    ahead = [(station - corner.station) % length for corner in own.corners]
    at = int(np.argmin(np.round(ahead, 6)))
    edge = next(one for one in places.edges if one.start == places.corners[at].name)
    whole = (own.corners[(at + 1) % len(own.corners)].station - own.corners[at].station) % length or length
    return edge.point(min(ahead[at] / whole, 1.0) * edge.length)


def _pieces(one: ProposedSeam) -> set[str]:
    return {use.piece for side in one.seam.sides for use in side}


def _is_doubtful(match: LikePiece, plan: Plan, agreeing: set[str], covered: float) -> bool:
    """Whether half of the seams that the piece has there to other pieces are not so here, or more than half where names tell of it.

    One that is sewn to none is doubtful where less than half of the pieces are `covered`.
    """
    own = [
        seam.name in agreeing
        for seam in plan.seams
        if match.piece.name in (names := {use.piece for side in seam.sides for use in side}) and len(names) > 1
    ]
    missing = own.count(False)
    if not own:
        return covered < 0.5
    return 2 * missing > len(own) if match.named else 2 * missing >= len(own)


def _doubted(one: ProposedSeam) -> ProposedSeam:
    """A seam of a piece of which it is not sure that it is the one."""
    but = Reason(term="memory", weight=-1.0, words="but it is not sure that its pieces are the ones there")
    return replace(one, standing=Standing.GUESS, confidence=DOUBTED, reasons=(*one.reasons, but))


def _seam(seam: SeamPlan, memory: Memory, pattern: Pattern) -> ProposedSeam:
    """A seam that is lent, as it stands here."""
    there, here = lengths_of(seam, memory.pattern), lengths_of(seam, pattern)
    first, second = (" + ".join(use.name for use in side) for side in seam.sides)
    twin = seam.sides[0] == seam.sides[1]
    words = f"as in {memory.name}, where {first} is sewn to {'its mirror twin' if twin else second}"
    off, length = _off(seam, there, here), max(*here, 1.0)
    standing, but = Standing.SURE, ""
    if not twin and off > AGREE:
        standing = Standing.GUESS if off <= max(NEAR[0], NEAR[1] * length) else Standing.QUESTION
        apart = [
            "they are as long as each other" if abs(a - b) < 0.2 else f"they differ by {millimetres(abs(a - b))}"
            for a, b in (there, here)
        ]
        but = f"but there {apart[0]} and here {apart[1]}"
    elif not twin and not _notches_meet(seam, pattern):
        standing, but = Standing.GUESS, "but here its notches do not meet"
    why = [Reason(term="memory", weight=1.0, words=words)]
    why += [Reason(term="memory", weight=-1.0, words=but)] if but else []
    kept = replace(seam, ease_between=None)
    return ProposedSeam(seam=kept, standing=standing, confidence=LIKELY[standing], lengths=here, reasons=tuple(why))


def _off(seam: SeamPlan, there: tuple[float, float], here: tuple[float, float]) -> float:
    """By how many mm a seam differs here from how it is there: from its ease or ratio, where the plan says one."""
    if seam.ratio is not None:
        ratio = here[0] / max(here[1], 1e-9)
        return max(seam.ratio[0] - ratio, ratio - seam.ratio[1], 0.0) * here[1]
    scale = sum(here) / max(sum(there), 1e-9)
    meant = seam.ease or ((there[0] - there[1]) * scale,) * 2
    return max(meant[0] - (here[0] - here[1]), here[0] - here[1] - meant[1], 0.0)


def _notches_meet(seam: SeamPlan, pattern: Pattern) -> bool:
    """Whether the notches of both sides meet, where there are as many on either."""
    edges = {f"{piece.name}.{edge.name}": edge for piece in reversed(pattern.pieces) for edge in piece.edges}
    sides = []
    for side in seam.sides:
        along, found = 0.0, []
        for use in side:
            edge = edges[use.name]
            found += [along + (edge.length - one.station if use.backwards else one.station) for one in edge.notches]
            along += edge.length
        sides.append((sorted(found), along))
    (mine, length), (theirs, other) = sides
    off = MET + abs(length - other)
    return len(mine) != len(theirs) or all(abs(a - b) <= off for a, b in zip(mine, theirs, strict=True))


def _told(match: LikePiece, memory: Memory, own: Piece) -> str:
    """How a piece was told."""
    size = Form(own).radius / Form(match.piece).radius - 1.0
    how = ["by its name" if match.named else "by its form"]
    if abs(size) >= 0.01:
        how.append(f"{abs(size):.0%} {'larger' if size > 0 else 'smaller'}")
    if match.answer.over:
        how.append("turned over")
    if not match.alone:
        how.append("though another is as like it")
    return f"{match.piece.name} of {memory.name}, {', '.join(how)}"

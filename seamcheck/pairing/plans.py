"""From a solution to a plan: names for pieces, corners and edges, seams in those names, and an older plan kept as it is.

Names come from the trade where the evidence carries them, else they are the plain numbers of the file's corners and edges. A
line that is sewn in parts becomes an edge for each part, with corners at the notches between.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from seamcheck.exact import steady
from seamcheck.pairing.behind import behind, completed, unique
from seamcheck.pairing.lines import Line, Part, Use
from seamcheck.pairing.places import PLACES, place_names
from seamcheck.pairing.proposal import Proposal, ProposedSeam, Standing
from seamcheck.pairing.propose import Solution, SolvedSeam
from seamcheck.pattern.model import Pattern, Piece
from seamcheck.pattern.plan import Cut, DartPlan, EdgeUse, PiecePlan, Plan, SeamPlan

if TYPE_CHECKING:
    from seamcheck.pairing.like import Lent

ORDER = (Standing.SURE, Standing.GUESS, Standing.QUESTION)
CAP_EASE = (0.0, 38.0)  # mm: what a sleeve's cap may be longer than its armhole; up to 1 1/2 in is taught
HOLLOW = -12.0  # degrees that a crotch turns into the piece at least
RATIO_BAND = 0.05  # how far a ratio that was only seen may be off


def proposal_of(
    solution: Solution,
    drawn: Pattern,
    build: Callable[[Plan], Pattern],
    written: Plan | None = None,
    lent: Sequence[Lent] = (),
) -> Proposal:
    """The proposal that a solution makes; `drawn` is the pattern on the lines of the file, `build` reads it with a plan.

    What a person wrote in an older plan is kept: its names are used, and its seams stand before all that is proposed. Behind
    it stands what other patterns lend, each before the next.
    """
    plan, seams = _plan_of(solution, drawn)
    unnamed: tuple[str, ...] = ()
    for one in reversed(lent):
        own = completed(one.plan, plan, build)
        plan, new, _ = behind(own, build(own), plan, seams)
        seams = (*one.seams, *new)
    kept: tuple[ProposedSeam, ...] = ()
    if written is not None:
        pattern = build(written)
        kept = tuple(
            ProposedSeam(seam=seam, standing=Standing.WRITTEN, confidence=1.0, lengths=lengths_of(seam, pattern))
            for seam in written.seams
        )
        plan, seams, unnamed = behind(written, pattern, plan, seams)
    pattern = build(plan)
    lost = {piece.name for piece in pattern.pieces if piece.unsure or piece.lost_edges}
    lost -= {piece.name for piece in written.pieces} if written is not None else set()
    if lost:  # never written with corners that are not found again
        plan, seams = _without(plan, seams, lost)
        pattern = build(plan)
    ours = {piece.in_file for piece in plan.pieces} - {piece.in_file for piece in (written.pieces if written else ())}
    told = {piece.in_file: one.told[piece.name] for one in reversed(lent) for piece in one.plan.pieces}
    return Proposal(
        pattern=pattern,
        plan=plan,
        seams=(*kept, *seams),
        open_edges=_open_edges(pattern, plan),
        unnamed=unnamed,
        lent={piece.name: told[piece.in_file] for piece in plan.pieces if piece.in_file in ours & told.keys()},
    )


def sure_plan(proposal: Proposal, *, guesses: bool = False) -> Plan:
    """The plan without its questions: what is walked and judged; with the best guesses too if `guesses`."""
    walked = {Standing.SURE, Standing.WRITTEN} | ({Standing.GUESS} if guesses else set())
    return replace(proposal.plan, seams=tuple(one.seam for one in proposal.seams if one.standing in walked))


def _plan_of(solution: Solution, drawn: Pattern) -> tuple[Plan, tuple[ProposedSeam, ...]]:
    parts, lines = solution.parts, solution.lines
    names = _Names(solution)
    on_file = {piece.name: piece for piece in drawn.in_size(solution.size)}
    hems = _hems(solution)
    pieces, darts = [], []
    for part in parts:
        places = on_file.get(part.name, part.piece)
        if len(places.corners) != len(part.piece.corners):
            places = part.piece
        piece = _piece(part, lines, names, places, hems, solution.allowance)
        own = [DartPlan(piece=piece.name, corners=dart.corners) for dart in part.darts]
        called = _corner_names(piece, own, {corner.name for corner in part.piece.corners if not corner.named})
        pieces.append(_with_corners(piece, called))
        darts += [
            replace(dart, corners=(called[dart.corners[0]], called[dart.corners[1]], called[dart.corners[2]]))
            for dart in own
        ]
    taken: dict[str, int] = {}
    seams = []
    for one in sorted(solution.seams, key=lambda seam: ORDER.index(seam.standing)):
        planned = SeamPlan(
            name=unique(seam_name(one, solution), taken),
            sides=(names.side(one.first), names.side(one.second)),
            ease=ease_of(one, parts, lines),
            ratio=ratio_of(one),
        )
        seams.append(
            ProposedSeam(
                seam=planned,
                standing=one.standing,
                confidence=one.confidence,
                lengths=one.lengths,
                reasons=one.reasons,
                runner_up=_described(one.runner_up, names),
            )
        )
    plan = Plan(
        name=drawn.name, units="mm", pieces=tuple(pieces), darts=tuple(darts), seams=tuple(one.seam for one in seams)
    )
    return plan, tuple(seams)


def _described(sides: tuple[tuple[Use, ...], tuple[Use, ...]] | None, names: _Names) -> str:
    if sides is None:
        return ""
    called = [" + ".join(use.name for use in names.side(side)) for side in sides]
    return " to ".join(called) if all(called) else ""  # of a part of an edge that is not cut there


def _open_edges(pattern: Pattern, plan: Plan) -> tuple[str, ...]:
    used = {use.name for seam in plan.seams for side in seam.sides for use in side}
    for piece in plan.pieces:
        used |= {f"{piece.name}.{edge}" for edge in (*piece.unsewn, *((piece.fold,) if piece.fold else ()))}
    first = {piece.name: piece for piece in reversed(pattern.pieces)}
    return tuple(
        name
        for piece in first.values()
        for edge in piece.edges
        if (name := f"{piece.name}.{edge.name}") not in used and (edge.named or not any(e.named for e in piece.edges))
    )


def _without(plan: Plan, seams: Sequence[ProposedSeam], gone: set[str]) -> tuple[Plan, tuple[ProposedSeam, ...]]:
    """The same without some pieces and their seams."""
    kept = tuple(one for one in seams if not gone & {use.piece for side in one.seam.sides for use in side})
    pieces = tuple(piece for piece in plan.pieces if piece.name not in gone)
    darts = tuple(dart for dart in plan.darts if dart.piece not in gone)
    lost = {one.seam.name for one in seams} - {one.seam.name for one in kept}
    planned = tuple(seam for seam in plan.seams if seam.name not in lost)
    return replace(plan, pieces=pieces, darts=darts, seams=planned), kept


def lengths_of(seam: SeamPlan, pattern: Pattern) -> tuple[float, float]:
    """The lengths of both sides in the middle one of the sizes, in mm."""
    size = pattern.sizes[len(pattern.sizes) // 2] if pattern.sizes else ""
    edges = {(piece.name, edge.name): edge.length for piece in pattern.in_size(size) for edge in piece.edges}
    first, second = (sum(edges.get((use.piece, use.edge), 0.0) for use in side) for side in seam.sides)
    return first, second


class _Names:
    """What pieces and edges are called; the edges of a line that is sewn in parts are numbered."""

    def __init__(self, solution: Solution) -> None:
        self.lines = solution.lines
        self.keys = _keys(solution.parts)
        self.names = _edge_names(solution)
        cuts: dict[int, set[int]] = {}
        for seam in solution.seams:
            for use in (*seam.first, *seam.second):
                if not use.whole:
                    last = len(self.lines[use.line].marks) - 1
                    cuts.setdefault(use.line, {0, last}).update({use.low, last if use.high == -1 else use.high})
        self.cuts = {line: sorted(marks) for line, marks in cuts.items()}

    def edges(self, line: int) -> list[tuple[str, int, int]]:
        """The edges of a line: their names, and the marks they run between."""
        marks = self.cuts.get(line, [0, len(self.lines[line].marks) - 1])
        pairs = list(pairwise(marks))
        if len(pairs) == 1:
            return [(self.names[line], *pairs[0])]
        return [(f"{self.names[line]}-{k}", low, high) for k, (low, high) in enumerate(pairs, 1)]

    def side(self, uses: Sequence[Use]) -> tuple[EdgeUse, ...]:
        """A side in these names."""
        found = []
        for use in uses:
            last = len(self.lines[use.line].marks) - 1
            high = last if use.high == -1 else use.high
            own = [name for name, low, up in self.edges(use.line) if use.low <= low and up <= high]
            piece = self.keys[self.lines[use.line].piece]
            found += [EdgeUse(piece, name, use.backwards) for name in (reversed(own) if use.backwards else own)]
        return tuple(found)


def _keys(parts: Iterable[Part]) -> dict[int, str]:
    taken: dict[str, int] = {}
    keys = {}
    for part in parts:
        key = "-".join(re.findall(r"\w+", part.name.casefold())) or "piece"
        keys[part.index] = unique(key, taken, "-")
    return keys


def _piece(
    part: Part,
    lines: Sequence[Line],
    names: _Names,
    places: Piece,
    hems: set[int],
    allowance: float | None,
) -> PiecePlan:
    corners = {
        corner.name: _rounded(place.at) for corner, place in zip(part.piece.corners, places.corners, strict=True)
    }
    edges: dict[str, tuple[str, ...]] = {}
    for k in part.lines:
        line = lines[k]
        way = line.way
        if not part.piece.corners:
            corners[line.start] = _rounded(places.drawn.start)
        elif len(part.piece.corners) == 2 and not line.closed and len(way) == 2:
            # Between two corners both ways round are open; a third name says which is meant.
            between = f"{names.names[k]}-middle"
            corners[between] = _rounded(_half_way(places, line, part.piece))
            way = (way[0], between, way[-1])
        own = names.edges(k)
        if len(own) == 1:
            edges[own[0][0]] = way
            continue
        for name, low, high in own:
            ends = []
            for mark in (low, high):
                if mark == 0:
                    ends.append(way[0])
                elif mark == len(line.marks) - 1:
                    ends.append(way[-1])
                else:
                    corner = f"{names.names[k]}-notch-{mark}"
                    corners[corner] = _rounded(at_mark(places, line, mark, part.piece))
                    ends.append(corner)
            edges[name] = (ends[0], ends[1])
    fold = next((names.names[k] for k in part.lines if lines[k].fold), None)
    cut_line = allowance is not None and part.piece.outline is not part.piece.drawn
    return PiecePlan(
        name=names.keys[part.index],
        in_file=part.name,
        cut=_cut(part, fold),
        fold=fold,
        line="cut" if cut_line else part.piece.line if part.piece.line in ("sew", "cut") else None,
        allowance=allowance if cut_line else None,
        unsewn=tuple(name for k in part.lines if k in hems for name, _, _ in names.edges(k)),
        corners=corners,
        edges=edges,
    )


def _corner_names(piece: PiecePlan, darts: Sequence[DartPlan], numbered: set[str]) -> dict[str, str]:
    """What each corner is called: by its place on a dart, else by the edges that meet there, where it is only numbered."""
    ends: dict[str, list[str]] = {corner: [] for corner in piece.corners}
    for edge, way in piece.edges.items():
        for corner in (way[0], way[-1]):
            ends[corner].append(edge)
    words = {
        corner: f"{'dart' if len(darts) == 1 else f'dart-{k}'}-{place}"
        for k, dart in enumerate(darts, 1)
        for corner, place in zip(dart.corners, ("in", "tip", "out"), strict=True)
    }
    for corner, edges in ends.items():
        # The edges that the trade has a word for go first, so that a corner and its mate across a seam are called alike.
        two = sorted(dict.fromkeys(edges), key=lambda edge: (edge.partition("-")[0] in PLACES, edge))
        words.setdefault(corner, "-".join(two) or corner)
    taken = {corner: 1 for corner in piece.corners if corner not in numbered}
    return {corner: unique(words[corner], taken, "-") if corner in numbered else corner for corner in piece.corners}


def _with_corners(piece: PiecePlan, called: Mapping[str, str]) -> PiecePlan:
    """The same with its corners called so."""
    return replace(
        piece,
        corners={called[corner]: at for corner, at in piece.corners.items()},
        edges={edge: tuple(called[corner] for corner in way) for edge, way in piece.edges.items()},
    )


def _on_file(places: Piece, line: Line, own: Piece) -> int:
    """The number of a line's first edge on the piece, the same for the piece as it is drawn."""
    return next(k for k, edge in enumerate(own.edges) if edge.name == line.edges[0]) % max(len(places.edges), 1)


def _half_way(places: Piece, line: Line, own: Piece) -> complex:
    edge = places.edges[_on_file(places, line, own)]
    return edge.point(edge.length / 2.0)


def at_mark(places: Piece, line: Line, mark: int, own: Piece) -> complex:
    """Where a notch or a cut of a line that one edge makes lies on the piece as the file draws it; `own` is the piece of the line."""
    edge = places.edges[_on_file(places, line, own)]
    if len(edge.notches) == len(line.notches) and line.marks[mark] not in line.cuts:
        return edge.point(edge.notches[mark - 1 - sum(at < line.marks[mark] for at in line.cuts)].station)
    return edge.point(line.marks[mark] / line.length * edge.length)


def _rounded(at: complex) -> complex:
    return complex(round(steady(at.real), 4) + 0.0, round(steady(at.imag), 4) + 0.0)


def _cut(part: Part, fold: str | None) -> Cut:
    words = part.words
    if fold is not None:
        return "fold"
    if words.paired or (words.copies == 2 and not part.mirror):
        return "pair"
    return words.copies if words.copies is not None and words.copies > 1 else "one"


def ease_of(seam: SolvedSeam, parts: Sequence[Part], lines: Sequence[Line]) -> tuple[float, float] | None:
    """The ease that a seam usually has: that of a sleeve's cap in its armhole."""
    kinds = [{parts[lines[use.line].piece].words.kind for use in side} for side in (seam.first, seam.second)]
    caps = [k for k, side in enumerate(kinds) if side == {"sleeve"}]
    bent = min(sum(lines[use.line].bend for use in side) for side in (seam.first, seam.second))
    if len(caps) != 1 or bent > -15.0 or seam.ratio is not None:
        return None
    first_is_sleeve = caps[0] == 0
    return CAP_EASE if first_is_sleeve else (-CAP_EASE[1], 0.0)


def ratio_of(seam: SolvedSeam) -> tuple[float, float] | None:
    """The range of ratios about the one that was seen; None where neither side is gathered."""
    if seam.ratio is None:
        return None
    return (round(steady(seam.ratio - RATIO_BAND), 2), round(steady(seam.ratio + RATIO_BAND), 2))


# Names


def _kind(solution: Solution, line: int) -> str:
    return solution.parts[solution.lines[line].piece].words.kind


def _hems(solution: Solution) -> set[int]:
    """Lower edges across the grain of pieces whose kind is known, beside seams that are sure: they hang free."""
    sure = {use.line for seam in _named(solution) for use in (*seam.first, *seam.second)}
    asked = {use.line for seam in solution.seams for use in (*seam.first, *seam.second)}
    hems = set()
    for part in solution.parts:
        count = len(part.lines)
        if part.words.kind not in ("body", "gore", "sleeve"):
            continue
        for at, k in enumerate(part.lines):
            line = solution.lines[k]
            beside = part.lines[at - 1], part.lines[(at + 1) % count]
            low = line.level is not None and line.level < 0.12 and (line.slant or 0.0) > 75.0
            if low and k not in asked and all(b in sure or solution.lines[b].fold for b in beside):
                hems.add(k)
    return hems


def _named(solution: Solution) -> list[SolvedSeam]:
    """The seams that edges are named by: those that are likely."""
    return [seam for seam in solution.seams if seam.standing is not Standing.QUESTION]


def _is_crotch(seam: SolvedSeam, solution: Solution) -> bool:
    """Whether a piece is sewn to its mirror twin along a hollow line: front to front, back to back, through the legs."""
    line = solution.lines[seam.first[0].line]
    words = solution.parts[line.piece].words
    return seam.twin and line.bend < HOLLOW and (words.trousers or not words.top) and words.kind in ("", "body")


def _edge_names(solution: Solution) -> dict[int, str]:
    """A name for every line: of the trade where the likely seams tell it, else its place on the piece."""
    names = place_names(solution.classes)
    wanted: list[tuple[int, str]] = [(k, "hem") for k in sorted(_hems(solution))]
    for line in solution.lines:
        if line.fold:
            qualities = solution.parts[line.piece].words.qualities
            end = [word for word in ("front", "back") if word in qualities]
            wanted.append((line.index, f"centre-{end[0]}" if len(end) == 1 else "fold"))
    for seam in _named(solution):
        wanted += _edge_words(seam, solution)
    for part in solution.parts:
        mine = [(k, word) for k, word in wanted if k in part.lines]
        names |= {k: word for k, word in mine if sum(other == word for _, other in mine) == 1}
    return names


def _edge_words(seam: SolvedSeam, solution: Solution) -> list[tuple[int, str]]:
    kinds = {use.line: _kind(solution, use.line) for use in (*seam.first, *seam.second)}
    word = _trade_word(seam, solution)
    if not word:
        return []
    own = {"armhole": {"sleeve": "cap"}, "waist": {"band": "lower"}, "cuff": {"cuff": "upper", "sleeve": "wrist"}}
    return [(line, own.get(word, {}).get(kind, word)) for line, kind in kinds.items()]


def _trade_word(seam: SolvedSeam, solution: Solution) -> str:
    """The trade's word for a seam, "" where the evidence does not carry one."""
    kinds = {_kind(solution, use.line) for use in (*seam.first, *seam.second)}
    lines = [solution.lines[use.line] for use in (*seam.first, *seam.second)]
    if seam.twin:
        qualities = solution.parts[lines[0].piece].words.qualities
        if _is_crotch(seam, solution):
            return "crotch"
        end = [word for word in ("front", "back") if word in qualities]
        return f"centre-{end[0]}" if len(end) == 1 and kinds == {"body"} else ""
    if "sleeve" in kinds and kinds & {"body", "yoke"}:
        return (
            "armhole"
            if any(
                _kind(solution, line.index) == "sleeve" and line.bend > -20.0 and (line.slant or 0) > 60.0
                for line in lines
            )
            else ""
        )
    for pair, word in (({"body", "band"}, "waist"), ({"sleeve", "cuff"}, "cuff"), ({"body", "collar"}, "neckline"),
                       ({"body", "stand"}, "neckline"), ({"body", "yoke", "stand"}, "neckline"), ({"body", "hood"}, "neckline"),
                       ({"gore", "band"}, "waist"), ({"yoke", "band"}, "waist")):  # fmt: skip
        if kinds == pair:
            return word
    if kinds == {"sleeve"}:
        return "underarm"
    ends = [solution.parts[line.piece].words.qualities for line in lines]
    if kinds == {"body"} and len(lines) == 2 and any("front" in q for q in ends) and any("back" in q for q in ends):
        slants = [line.slant for line in lines if line.slant is not None]
        if len(slants) == 2 and min(slants) > 55.0:
            return "shoulder"
        if slants and max(slants) < 35.0:
            crotches = {u.line for one in solution.seams if _is_crotch(one, solution) for u in one.first}
            if not crotches:
                return "side"
            return "inseam" if any(_touch(solution, line, crotches) for line in lines) else "outseam"
    return ""


def _touch(solution: Solution, line: Line, others: set[int]) -> bool:
    own = solution.parts[line.piece].lines
    at = own.index(line.index)
    return bool({own[at - 1], own[(at + 1) % len(own)]} & others)


def seam_name(seam: SolvedSeam, solution: Solution) -> str:
    """What a seam is called: by the trade's word, else by its pieces."""
    word = _trade_word(seam, solution)
    pieces = list(
        dict.fromkeys(
            solution.parts[solution.lines[use.line].piece].name.casefold() for use in (*seam.first, *seam.second)
        )
    )
    if word in ("crotch", "waist") and len(pieces) == 1:
        return f"{pieces[0]} {word}"
    if word:
        return word.replace("-", " ")
    if seam.twin:
        return f"{pieces[0]} to its twin"
    return " to ".join(pieces) if len(pieces) > 1 else f"{pieces[0]} closed"

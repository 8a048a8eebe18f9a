"""Lines that are sewn to themselves: to the same line of the mirrored or next copy of their piece, or of its other half.

twin    a line and its like: a centre back, the ends of a strip that is cut on the fold
crotch  two hollow lines that a seam brings together in one sweep, each its own twin
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from seamcheck.pairing import evidence
from seamcheck.pairing.candidates import RIB_CLOSES, TWIN_PRICE, Candidate, Field
from seamcheck.pairing.evidence import Term
from seamcheck.pairing.lines import Line, Use

HALVES = frozenset(["half", "halfte", "halb", "moitie", "demi", "mitad", "medio", "meta", "mezzo", "helft", "halve"])
RINGS = frozenset(["band", "strip", "frill", "brim", "crown", "cuff"])  # what runs round something
MOST_OF_A_CROTCH = 172.0  # degrees that a crotch turns in all; armholes turn further, back towards the shoulder


def twins(field: Field, pairs: Iterable[Candidate]) -> Iterator[Candidate]:
    """Lines that may be sewn to the same line of another copy, or of the other half of a piece on the fold."""
    mated_notches = {
        use.line
        for one in pairs
        if sum(term.points for term in one.terms if term.kind == "notches") > 0.0
        for use in (*one.first, *one.second)
    }
    for line in field.lines:
        part = field.part(line)
        words = part.words
        folded = words.on_fold or any(field.lines[k].fold for k in part.lines)
        if line.fold or line.closed or (words.copies == 1 and not words.paired and not folded):
            continue
        terms = [Term(-TWIN_PRICE)]
        if words.paired or (words.copies or 0) >= 2:
            terms.append(Term(1.0, "it is cut twice", "names"))
        if folded and _opposite_fold(field, line):
            terms.append(Term(1.5, "it lies opposite the fold, where the two halves meet", "shape"))
            if words.ribbed and not words.qualities & {"front", "back"}:
                terms.append(Term(RIB_CLOSES - 2.0, "ribbing closes to a ring", "names"))
            elif words.kind in RINGS and words.copies == 1:
                terms.append(Term(2.2, f"a {words.kind} mostly closes to a ring", "names"))
        elif folded and not words.paired and (words.copies or 1) <= 1:
            continue
        mated = any(
            line.index in pair and any(field.lines[k].piece != line.piece for k in pair) for pair in field.copies
        )
        if words.own & evidence.BAGS and words.copies == 2 and not mated:
            terms.append(Term(2.0, "the two sides of a bag", "names"))
        along = line.slant is not None and line.slant < 15.0 and line.sagitta < 0.04 * line.length
        if "back" in words.qualities and along and words.copies == 2 and not folded and not part.mirror:
            terms.append(Term(2.5, "a back that is cut twice is joined along its centre", "names"))
        if words.copies == 2 and not folded:
            if words.own & HALVES and (along or line.notches):
                terms.append(Term(2.0, "the two halves are joined", "names"))
            if words.kind == "hood" and line.bend > 30.0:
                terms.append(Term(2.5, "the two sides of a hood are joined over the crown", "names"))
        if line.notches and line.index not in mated_notches:
            across = line.slant is not None and line.slant > 60.0 and not words.own & evidence.BAGS
            points = 0.8 if across or (words.copies or 2) > 2 else 2.8
            terms.append(Term(points, "its notches can have their mates only there", "notches"))
        if line.bend < -35.0:
            terms.append(Term(-1.5))
        if (
            line.level is not None
            and line.slant is not None
            and line.slant > 60.0
            and line.level < 0.2
            and line.straight
        ):
            terms.append(Term(-2.0, "it may be the hem"))
        use = Use(line.index)
        yield field.candidate("twin", [((use,), (use,))], terms)


def _opposite_fold(field: Field, line: Line) -> bool:
    own = field.part(line).lines
    at = [k for k, one in enumerate(own) if field.lines[one].fold]
    return any(abs(own.index(line.index) - k) * 2 == len(own) for k in at)


def crotches(field: Field, pairs: Sequence[Candidate]) -> Iterator[Candidate]:
    """Two hollow lines that a seam brings together in one sweep, each sewn to its own mirror twin.

    Armholes run on into one another like that too, but where they end their pieces are sewn again, at the shoulder.
    """
    likely = {one.lines for one in pairs if one.score > 0.5}
    for one in pairs:
        if one.kind != "pair" or one.score < -1.0 or one.ratio is not None:
            continue
        a, b = one.first[0], one.second[0]
        if not (a.whole and b.whole):
            continue
        for last in (False, True):
            hollow, beyond, angles = [], [], []
            for use in (a, b):
                at_end = last != use.backwards
                before, after = field.beside(use.line)
                hollow.append(after if at_end else before)
                beyond.append(field.beside(hollow[-1])[1 if at_end else 0])
                angles.append(field.lines[use.line].angles[at_end])
            lines = [field.lines[k] for k in hollow]
            if hollow[0] == hollow[1] or any(line.fold or line.bend > -25.0 for line in lines):
                continue
            parts = [field.part(line) for line in lines]
            if any(part.words.copies == 1 or part.words.on_fold or part.mirror for part in parts):
                continue
            if beyond[0] != beyond[1] and frozenset(beyond) in likely:
                continue
            slants = [field.lines[k].slant for k in beyond]
            if all(slant is not None and slant < 40.0 for slant in slants):
                continue  # behind a crotch comes the waist, behind a neck or an armhole an edge along the grain
            terms = [
                Term(-TWIN_PRICE - 1.0),
                Term(4.5, "two hollow lines run on into one another and end at the waist: a crotch", "shape"),
            ]
            off = abs(sum(angles) - 180.0)
            square = all(abs(angle - 90.0) < 1.0 for angle in angles)
            told = "" if square else "their corners make a straight line"
            terms.append(Term(1.0 if square else 2.6 if off < 1.0 else 1.0 if off < 4.0 else -1.5, told, "corners"))
            if sum(-line.bend for line in lines) > MOST_OF_A_CROTCH:
                continue
            if all(part.words.paired or part.words.copies == 2 for part in parts):
                terms.append(Term(1.2, "they are cut twice", "names"))
            if all(part.words.kind in ("body", "gore") for part in parts):
                terms.append(Term(0.8, "", "names"))
            if all(part.words.trousers for part in parts):
                terms.append(Term(1.5, "they are parts of trousers", "names"))
            elif any(part.words.kind == "sleeve" or part.words.top for part in field.parts):
                terms.append(Term(-3.0, "hollow lines of such pieces are armholes and necks", "names"))
            seams = [((Use(k),), (Use(k),)) for k in hollow]
            yield field.candidate("crotch", seams, terms, leans_on=one.seams)

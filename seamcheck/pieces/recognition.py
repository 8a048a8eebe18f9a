"""Marks of one piece that no label tells, by how they are drawn and by the words beside them.

grain arrow   a straight line with a drawn head, in one path or in several strokes, or with the word "grain" on it or beside it
notch         a small V, triangle, diamond or slit that stands on the outline
fold          the straight stretch of the outline that "place on fold" is written along

A mark that is taken for something is made anew with its role; the strokes that it was made of go with it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product

import numpy as np

from seamcheck.exact import EXACT, least
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.end_directions import straight
from seamcheck.pattern.drawing import LineMark, Role, TextMark
from seamcheck.pattern.names import is_amount
from seamcheck.pattern.words import role_in
from seamcheck.pieces.markings import TICK, wedge_at

SHORTEST_SHAFT = 30.0  # mm
LONGEST_BARB = 15.0  # mm: of any shaft ...
BARB_SHARE = 1 / 8  # ... or so much of a longer one
LEAST_LEAN = 0.5  # the cosine between a barb and its shaft
MEETS = 0.05  # mm: how near the parts of a bent arrow, or the sides of a V, meet
MOST_MEETING = 8  # short strokes that meet one of them: where more do, it is no side of a V
NEARLY_STRAIGHT = 0.98  # of its length: so far apart lie the ends of an arrow that an overlap has bent
WORD_BESIDE = 20.0  # mm from a line: how far a word that says what it is may stand
AMOUNT_BESIDE = 12.0  # mm from a line: an amount so near is what it measures
FOLD_BESIDE = 30.0  # mm from the outline: how far "place on fold" may stand
SHORTEST_FOLD = 30.0  # mm
CLEARLY = 1.5  # times as long as the next: the arrow of a piece with several
ON_OUTLINE = 1.0  # mm


def recognised(
    outline: Curve,
    cut: Curve | None,
    corners: Sequence[float],
    lines: Sequence[LineMark],
    texts: Sequence[TextMark],
) -> list[LineMark]:
    """The lines of a piece with those that are recognised in place of what they were."""
    lines = _with_wedges(lines, outline, cut)
    read_as = {id(old): new for old, new in grain_arrows(outline, lines, texts)}
    gone = {id(part) for new in read_as.values() for part in new.strokes}
    found = []
    for line in lines:
        if id(line) in gone and id(line) not in read_as:
            continue
        new = read_as.get(id(line), line)
        parts = new.strokes or (line,)
        places = {part.place for part in parts}
        heads = tuple(one for one in lines if one.head_of in places) if new.role is Role.GRAIN else ()
        if new is line and line.role is None and wedge_at(line.curve, outline, cut) is not None:
            new = replace(line, role=Role.NOTCH, why="a small V or triangle on the outline")
        found.append(new if new is line and not heads else replace(new, strokes=(*parts, *heads)))
    for stretch, text in folded_edges(outline, corners, lines, texts):
        words = " ".join(text.text.split())
        fold = LineMark(
            curve=stretch,
            closed=False,
            place=text.place,
            role=Role.FOLD,
            why=f'text "{words}" beside a straight edge',
        )
        found.append(fold)
    return found


def _with_wedges(lines: Sequence[LineMark], outline: Curve, cut: Curve | None) -> list[LineMark]:
    """The lines with one V in place of every two strokes that are its sides: a notch on the outline, and not two."""
    short = [line for line in lines if line.role is None and not line.closed and line.curve.length <= TICK + EXACT]
    short = [line for line in short if len(line.curve.segments) == 1]
    wedges: dict[int, LineMark] = {}
    gone: set[int] = set()
    for one, other in _touching(short):
        if {id(one), id(other)} & gone:
            continue
        a, b = one.curve, other.curve
        first, second = min(
            product((a, a.reversed()), (b, b.reversed())), key=lambda way: round(abs(way[0].end - way[1].start), 6)
        )
        if abs(first.end - second.start) <= MEETS:
            sides = Curve.polyline([first.start, first.end, second.end])
            if wedge_at(sides, outline, cut) is not None:
                wedges[id(one)] = replace(one, curve=sides, strokes=(one, other))
                gone |= {id(one), id(other)}
    return [wedges.get(id(line), line) for line in lines if id(line) in wedges or id(line) not in gone]


def _touching(lines: Sequence[LineMark]) -> Iterator[tuple[LineMark, LineMark]]:
    """Every two lines of which an end of one lies at an end of the other, in their order; where many meet, none is the side of a V."""
    ends = np.array([(line.curve.start, line.curve.end) for line in lines]).reshape(-1, 2)
    for k, mine in enumerate(ends):
        met = np.flatnonzero(np.abs(ends[:, :, None] - mine).min(axis=(1, 2)) <= MEETS + EXACT)
        for other in met[met > k].tolist() if len(met) <= MOST_MEETING + 1 else ():
            yield lines[k], lines[other]


def grain_arrows(
    outline: Curve, lines: Sequence[LineMark], texts: Sequence[TextMark]
) -> list[tuple[LineMark, LineMark]]:
    """The line that is the grain arrow of a piece where none is called so, as it was and as it is read; none or one."""
    if any(line.role is Role.GRAIN for line in lines):
        return []
    shafts = [(line, shaft) for line in lines if (shaft := _shaft(line)) is not None]
    words = [text for text in texts if role_in(text.text) is Role.GRAIN]
    for text in words:
        near = [(line, shaft) for line, shaft in shafts if shaft.nearest(text.at).distance <= WORD_BESIDE + EXACT]
        if near:
            line, shaft = least(near, key=lambda one: one[1].nearest(text.at).distance)
            return [(line, _grain(line, shaft, lines, f'text "{" ".join(text.text.split())}" beside it'))]
    arrows = [
        (line, shaft)
        for line, shaft in shafts
        if (line.arrow or shaft is not line.curve) and not _measures(shaft, outline, texts)
    ]
    arrows.sort(key=lambda one: -round(one[1].length, 6))
    if not arrows or (len(arrows) > 1 and arrows[0][1].length < CLEARLY * arrows[1][1].length):
        return []
    line, shaft = arrows[0]
    return [(line, _grain(line, shaft, lines, "a straight line with a drawn arrowhead"))]


def _grain(line: LineMark, shaft: Curve, lines: Sequence[LineMark], why: str) -> LineMark:
    """The line as a grain arrow, with the straight lines that it runs on into: the other parts of one that was bent."""
    parts, whole = [line], shaft
    while True:
        found = next((one for one in lines if all(one is not part for part in parts) and _runs_on(whole, one)), None)
        if found is None:
            break
        parts.append(found)
        on = min(abs(found.curve.start - whole.end), abs(found.curve.end - whole.end)) <= MEETS
        forward = abs(found.curve.start - whole.end) <= MEETS if on else abs(found.curve.end - whole.start) <= MEETS
        way = found.curve if forward else found.curve.reversed()
        whole = _together(whole, way) if on else _together(way, whole)
    if shaft is not line.curve:  # one barb is drawn with it, the other may be a stroke of its own
        parts += [one for one in lines if all(one is not part for part in parts) and _is_barb(shaft, one)]
    strokes = tuple(parts) if len(parts) > 1 else ()
    return replace(line, curve=whole, role=Role.GRAIN, why=why, strokes=strokes)


def _is_barb(shaft: Curve, line: LineMark) -> bool:
    """Whether a short straight line lies back along a shaft from one of its ends."""
    curve = line.curve
    longest = max(LONGEST_BARB, BARB_SHARE * shaft.length)
    if line.role is not None or line.closed or curve.length > longest + EXACT or not curve.is_straight(0.01):
        return False
    for tip, other in ((shaft.start, shaft.end), (shaft.end, shaft.start)):
        near, far = sorted((curve.start, curve.end), key=lambda end: round(abs(end - tip), 6))
        back = ((far - near) * (other - tip).conjugate()).real / abs(other - tip)
        if abs(near - tip) <= ON_OUTLINE + EXACT and back >= LEAST_LEAN * curve.length:
            return True
    return False


def _together(first: Curve, second: Curve) -> Curve:
    rows = np.concatenate([first.segments, second.segments])
    rows[len(first.segments), 0] = first.end
    return Curve(rows)


def _runs_on(shaft: Curve, line: LineMark) -> bool:
    """Whether a line without a role is straight and goes on where an arrow ends, about as it does."""
    curve = line.curve
    if line.role is not None or line.closed or curve.length < SHORTEST_SHAFT or not curve.is_straight(0.01):
        return False
    ends = ((shaft.end, shaft.tangent(shaft.length)), (shaft.start, -shaft.tangent(0.0)))
    for at, way in ends:
        near = [end for end in (curve.start, curve.end) if abs(end - at) <= MEETS]
        if near:
            far = curve.end if near[0] == curve.start else curve.start
            return bool(((far - near[0]) * way.conjugate()).real >= NEARLY_STRAIGHT * curve.length)
    return False


def _shaft(line: LineMark) -> Curve | None:
    """The shaft of what may be an arrow, without the head that is drawn with it; None for any other line."""
    if line.role is not None or line.closed:
        return None
    curve = line.curve
    if curve.length >= SHORTEST_SHAFT and curve.chord >= NEARLY_STRAIGHT * curve.length:
        return curve
    segments = curve.segments
    if not 1 < len(segments) <= 12 or not straight(segments).all():
        return None
    ways = segments[:, 3] - segments[:, 0]
    steps = np.abs(ways)
    k = int(steps.argmax())
    others = np.delete(steps, k)
    longest = max(LONGEST_BARB, BARB_SHARE * float(steps[k]))
    if steps[k] < SHORTEST_SHAFT or others.max() > longest + EXACT or others.min() < EXACT:
        return None
    # Barbs lie back along the shaft, at its ends and nowhere else: a bracket is no arrow.
    along = np.abs((np.delete(ways, k) * np.conj(ways[k])).real) / (others * steps[k])
    if along.min() < LEAST_LEAN:
        return None
    ends = segments[k, [0, 3]]
    corners = np.append(segments[:, 0], segments[-1, 3])
    near = np.abs(corners[:, None] - ends[None, :]).min(axis=1)
    return Curve(segments[k : k + 1].copy()) if near.max() <= longest + EXACT else None


def _measures(shaft: Curve, outline: Curve, texts: Sequence[TextMark]) -> bool:
    """Whether an arrow is a dimension: it runs from outline to outline, or an amount stands beside it."""
    reaches = all(outline.nearest(end).distance <= ON_OUTLINE + EXACT for end in (shaft.start, shaft.end))
    return reaches or any(
        is_amount(text.text) and shaft.nearest(text.at).distance <= AMOUNT_BESIDE + EXACT for text in texts
    )


def folded_edges(
    outline: Curve, corners: Sequence[float], lines: Sequence[LineMark], texts: Sequence[TextMark]
) -> list[tuple[Curve, TextMark]]:
    """The straight stretches of an outline that words call the fold, where no line is called so."""
    if any(line.role is Role.FOLD for line in lines):
        return []
    stretches = _straight_stretches(outline, corners)
    found = []
    for text in texts:
        if role_in(text.text) is not Role.FOLD or not stretches:
            continue
        nearest = least(stretches, key=lambda one: one.nearest(text.at).distance)
        apart = sorted(one.nearest(text.at).distance for one in stretches)
        # Words in the middle of a piece tell that there is a fold, and not where.
        alone = len(apart) == 1 or apart[1] > 2.0 * apart[0] + EXACT
        if apart[0] <= FOLD_BESIDE + EXACT and alone:
            found.append((nearest, text))
    return found


def _straight_stretches(outline: Curve, corners: Sequence[float]) -> list[Curve]:
    if len(corners) < 2:
        return []
    ends = [*corners[1:], corners[0] + outline.length]
    runs = [outline.between(a, b % outline.length) for a, b in zip(corners, ends, strict=True)]
    return [run for run in runs if run.length >= SHORTEST_FOLD and run.is_straight(0.1)]

"""What an alteration changed, in the words of a sewist."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from seamcheck import amounts
from seamcheck.amounts import count
from seamcheck.engine.report_format import RenderOptions
from seamcheck.exact import steady
from seamcheck.report.comparison import json
from seamcheck.report.layout import headline, printable, wrap

if TYPE_CHECKING:
    from seamcheck.comparison.changes import (
        Break,
        Comparison,
        Cut,
        DartChange,
        EdgeChange,
        NotchChange,
        OutlinePlace,
        PieceChange,
        Redrawn,
    )
    from seamcheck.comparison.consequences import Consequences, JunctionEffect, SeamEffect, SideChange

SEEN = 0.1  # mm and degrees: smaller changes are not worth a sentence
SEEN_NOTCH = 0.8  # mm: half of what notches may miss each other by
SEEN_KINK = 0.5  # degrees
MOST_CORNERS = 3  # a part that holds more is named by the first and the last


def render_text(comparison: Comparison, effects: Consequences, options: RenderOptions) -> str:
    """The pieces that changed, what hangs on them, and what stayed as it was."""
    changed = [piece for piece in comparison.pieces if not piece.unchanged]
    parts = [headline(_verdict(comparison, changed, effects), "strong", options)]
    several = len({piece.after.size for piece in comparison.pieces}) > 1
    parts += ["\n".join(_paragraph(piece, several, options)) for piece in changed]
    told = [*_left(effects, several), *_carried(effects, several), *_loose(effects, changed)]
    if told:
        parts.append(
            "\n".join(
                ["What hangs on it:", *(wrap(sentence, options, indent="  ", hanging="    ") for sentence in told)]
            )
        )
    rest = [wrap(sentence, options, hanging="  ") for sentence in _rest(comparison, several)]
    if rest:
        parts.append("\n".join(rest))
    return "\n\n".join(parts) + "\n"


def _verdict(comparison: Comparison, changed: Sequence[PieceChange], effects: Consequences) -> str:
    left = [one.seam for one in effects.seams if one.outcome == "left"]
    left += [one.corners[0] for one in effects.junctions if one.outcome == "left"]
    names = list(dict.fromkeys(piece.name for piece in changed))
    what = f"{amounts.listed(names)} changed" if names else "nothing changed"
    if names:
        what += f", {count(len(left), 'place')} left behind" if left else ", nothing left behind"
    for only, which in ((comparison.added, "later"), (comparison.removed, "earlier")):
        if only:
            what += f"; {amounts.listed(only)} only in the {which} file"
    if any(piece.lost_corners for piece in comparison.pieces):
        what += "; not everything compared"
    for pattern in (comparison.before, comparison.after):
        if pattern.open_outlines:
            what += f"; {amounts.listed([line.name for line in pattern.open_outlines])} not compared"
    return f"{comparison.after.path} against {comparison.before.path}: {what}"


# One piece


def _paragraph(change: PieceChange, several: bool, options: RenderOptions) -> Iterator[str]:
    size = f", size {change.after.size}" if several and change.after.size else ""
    yield printable(f"{change.name}{size}:")
    for sentence in sentences(change):
        yield wrap(sentence, options, indent="  ", hanging="    ")


def sentences(change: PieceChange) -> Iterator[str]:
    """What happened to a piece: cuts and hinges, lines drawn anew, darts, lengths, angles, notches, grain."""
    if not change.parts:
        yield "No part of the outline is as it was: the piece was drawn anew, or is another one."
    yield from _cuts(change)
    for end in change.ends:
        if not _of_dart(change, end.corner):
            verb = "was extended by" if end.amount > 0 else "ends sooner by"
            yield f"The {end.edge} {verb} {_length(end.amount)} at {end.corner}."
    for line in change.redrawn:
        yield _redrawn(line)
    for dart in change.darts:
        yield from _dart(dart)
    yield from _lengths(change)
    yield from _angles(change)
    for edge in change.edges:
        yield from _notches(edge, change)
    yield from _grain(change)


def _of_dart(change: PieceChange, corner: str) -> bool:
    return any(corner in dart.corners for dart in change.before.darts)


def _cuts(change: PieceChange) -> Iterator[str]:
    star = len(change.cuts) >= 3 and all(len(cut.breaks) == 1 for cut in change.cuts)
    if star:
        yield f"{count(len(change.cuts), 'slash', 'slashes').capitalize()} that meet inside the piece part it."
    for cut in change.cuts:
        if (dart := _moved_dart(change, cut)) is not None:
            yield f"The dart at {dart} moved by {_length(cut.shift)} along the {cut.breaks[0].before.edge}."
            continue
        taped = len(cut.breaks) == 2 and all(one.sharp for one in cut.breaks)
        yield _two_breaks(change, cut) if taped else _other_cut(change, cut)
    kinks = [
        f"the {one.after.edge} {_from(one.after)} ({_degrees(cut.turn)})"
        for cut in change.cuts
        if abs(cut.turn) >= SEEN_KINK
        for one in cut.breaks
        if one.after.edge and one.sharp
    ]
    if kinks:
        yield f"To blend, because the line turns there: {amounts.listed(kinks)}."


def _moved_dart(change: PieceChange, cut: Cut) -> str | None:
    """The tip of a dart that moved along its edge and took no more of the piece with it."""
    tips = [
        dart.corners[1] for dart in change.before.darts if set(change.parts[cut.moved].corners) == set(dart.corners)
    ]
    one_edge = len({one.before.edge for one in cut.breaks}) == 1
    balanced = len(cut.breaks) == 2 and abs(sum(one.amount for one in cut.breaks)) <= SEEN
    return tips[0] if tips and one_edge and balanced and cut.centre is None else None


def _two_breaks(change: PieceChange, cut: Cut) -> str:
    one, two = sorted(cut.breaks, key=lambda break_: -round(abs(break_.amount), 6))
    line = f"a line from {_on(one.before)} to {_on(two.before)}"
    return f"The part {_side(change, cut, one, two)} {line} {_moved(cut)}; {_amounts(cut, one, two)}."


def _other_cut(change: PieceChange, cut: Cut) -> str:
    told = f"{_part(change, cut.moved)} {_moved(cut)} against {_part(change, cut.fixed)}"
    for one in cut.breaks:
        if not one.sharp:
            grown = (
                f"{_length(one.amount)} {'longer' if one.amount > 0 else 'shorter'}"
                if one.amount
                else "as long as it was"
            )
            told += f"; {_line(one.before)} is {grown} between them"
        elif one.amount:
            told += f"; {_amount(one)} at {_on(one.before)}"
        elif cut.hinge is not None and cut.hinge == one:
            told += f", hinged at {_on(one.before)}"
        else:
            told += f"; nothing at {_on(one.before)}"
    return f"{told[0].upper()}{told[1:]}."


def _moved(cut: Cut) -> str:
    if cut.centre is None:
        return f"moved by {_length(cut.shift)} without turning"
    return f"turned {_degrees(cut.turn)} {'anticlockwise' if cut.turn > 0 else 'clockwise'}"


def _amounts(cut: Cut, one: Break, two: Break) -> str:
    if not one.amount:
        return f"nothing overlapped or spread at {_line(one.before)} or {_line(two.before)}"
    if not two.amount:
        hinge = ", the hinge" if cut.hinge == two else ""
        return f"{_amount(one)} at {_line(one.before)}, nothing at {_line(two.before)}{hinge}"
    return f"{_amount(one)} at {_line(one.before)}, {_amount(two)} at {_line(two.before)}"


def _amount(one: Break) -> str:
    return f"{_length(one.amount)} {'spread' if one.amount > 0 else 'overlapped'}"


def _side(change: PieceChange, cut: Cut, one: Break, two: Break) -> str:
    """On which side of the cut the part lies that moved, as the earlier file is seen."""
    middle = change.parts[cut.moved].middle
    along = two.before.at - one.before.at
    if abs(along.real) >= abs(along.imag):
        share = (middle.real - one.before.at.real) / along.real if along.real else 0.5
        lower = middle.imag - (one.before.at.imag + share * along.imag)
        return "below" if (lower > 0) == change.before.y_down else "above"
    share = (middle.imag - one.before.at.imag) / along.imag
    return "to the right of" if middle.real > one.before.at.real + share * along.real else "to the left of"


def _part(change: PieceChange, index: int) -> str:
    part = change.parts[index]
    darts = {corner for dart in change.before.darts for corner in dart.corners}
    corners = [name for name in part.corners if name not in darts]
    if not corners:
        return f"the part round {_on(part.amid)}"
    if len(corners) > MOST_CORNERS:
        corners = [corners[0], corners[-1]]
    return f"the part with {amounts.listed(corners)}"


def _on(place: OutlinePlace) -> str:
    return f"{_line(place)} {_from(place)}" if place.edge else "the dart"


def _line(place: OutlinePlace) -> str:
    return f"the {place.edge}" if place.edge else "the dart"


def _from(place: OutlinePlace) -> str:
    if place.distance < SEEN:
        return f"at {place.corner}"
    return f"{_mm(place.distance)} from {place.corner}"


def _length(mm: float) -> str:
    """An amount without its sign; what is drawn as exactly a half is not pushed under it by the last bit of a float."""
    return amounts.length(round(abs(mm), 3) + 1e-6)


def _mm(mm: float) -> str:
    """A distance along an edge: to the millimetre, for a ruler."""
    return f"{steady(mm):.0f} mm" if mm >= 10 else amounts.millimetres(mm)


def _degrees(turn: float) -> str:
    return amounts.angle(abs(turn)) if abs(turn) >= 0.95 else f"{abs(turn):.2f}°"


def _redrawn(line: Redrawn) -> str:
    edge, depth = line.edge or "line", _length(line.depth)
    stretch = f"from {_reach(line.ends[0])} to {_reach(line.ends[1])}"
    if line.kind == "blended":
        return f"The {edge} was redrawn across the cut {stretch}, at most {depth} off the lines that lay there."
    if line.kind in ("scooped", "filled"):
        how = "scooped deeper" if line.kind == "scooped" else "filled out"
        return (
            f"The {edge} was {how} by up to {depth}, {_from(line.deepest)} ({amounts.millimetres(abs(line.at_middle))} in "
            f"the middle); it was redrawn {stretch}."
        )
    ends = sorted(zip(line.offsets, line.ends, strict=True), key=lambda end: -round(abs(end[0]), 6))
    (most, here), (least, there) = ends
    verb = "taken in" if most < 0 else "let out"
    if abs(least) < SEEN and abs(most) >= SEEN:
        apart = abs(there.along - here.along)
        return (
            f"The {edge} was tapered: {_length(most)} {verb} {_at(here)}, running out to nothing "
            f"{_mm(apart)} from there."
        )
    if line.kind == "redrawn" or abs(most) < SEEN:
        return f"The {edge} was redrawn {stretch}, at most {depth} off the old line, {_from(line.deepest)}."
    return f"The {edge} was {verb} {stretch}: {_length(most)} {_at(here)}, {_length(least)} {_at(there)}."


def _reach(place: OutlinePlace) -> str:
    return place.corner if place.distance < SEEN else _from(place)


def _at(place: OutlinePlace) -> str:
    return f"at {place.corner}" if place.distance < SEEN else _from(place)


def _dart(dart: DartChange) -> Iterator[str]:
    name = f"The dart at {dart.corners[1]}"
    more = dart.intake_after - dart.intake_before
    if abs(more) > SEEN:
        yield (
            f"{name} takes {_length(more)} {'more' if more > 0 else 'less'}: "
            f"{dart.intake_before:.1f} mm before, {dart.intake_after:.1f} mm now."
        )
    for leg, (before, after) in enumerate(zip(dart.legs_before, dart.legs_after, strict=True)):
        if abs(after - before) > SEEN:
            grown = f"{_length(after - before)} {'longer' if after > before else 'shorter'}"
            yield f"{name}: its leg from {dart.corners[2 * leg]} is {grown}."
    if abs(dart.turn) > SEEN:
        yield f"{name} turned {_degrees(dart.turn)} {'anticlockwise' if dart.turn > 0 else 'clockwise'}."


def _lengths(change: PieceChange) -> Iterator[str]:
    told = [
        f"{edge.name} {_length(edge.change)} {'longer' if edge.change > 0 else 'shorter'} "
        f"({edge.before:.1f} mm before, {edge.after:.1f} mm now)"
        for edge in change.edges
        if abs(edge.change) > change.length_tolerance
    ]
    if told:
        yield f"Lengths: {'; '.join(told)}."
    elif change.edges and change.parts and not change.same_outline:
        yield "Lengths: every edge is as long as it was."


def _angles(change: PieceChange) -> Iterator[str]:
    corners: dict[str, tuple[float, float]] = {}
    for edge in change.edges:
        whole = change.after.edge(edge.name)
        for name, before, after in zip((whole.start, whole.end), edge.angles_before, edge.angles_after, strict=True):
            if abs(after - before) > SEEN:
                corners.setdefault(name, (before, after))
    if corners:
        told = [f"{name} {before:.1f}° before, {after:.1f}° now" for name, (before, after) in corners.items()]
        yield f"Angles: {'; '.join(told)}."


def _notches(edge: EdgeChange, change: PieceChange) -> Iterator[str]:
    whole = change.after.edge(edge.name)
    for notch in edge.notches:
        if notch.kind != "kept" and max(abs(notch.from_start), abs(notch.drift)) >= SEEN_NOTCH:
            yield _notch(notch, whole.start, whole.end)
        if notch.before.count != notch.after.count:
            yield (
                f"The notch on {edge.name} {_mm(notch.after.station)} from {whole.start} has {notch.after.count} ticks "
                f"now, {notch.before.count} before."
            )
    for notches, words in ((edge.lost, "is gone"), (edge.new, "is new")):
        for one in notches:
            yield f"A notch on {edge.name}, {_mm(one.station)} from {whole.start}, {words}."


def _notch(notch: NotchChange, start: str, end: str) -> str:
    """How far a notch is from both ends against before, and what that looks like."""
    from_start = f"{_length(notch.from_start)} {'farther from' if notch.from_start > 0 else 'nearer to'} {start}"
    from_end = f"{_length(notch.from_end)} {'nearer to' if notch.from_end > 0 else 'farther from'} {end}"
    if abs(notch.from_end) <= SEEN:
        from_end = f"as far from {end} as it was"
    why = {
        "step": "a step: it lies where its part took it",
        "linear": "in proportion with the whole edge",
        "outlier": f"by itself: {_length(notch.after.station - notch.expected)} off the place to which its line took it",
    }[notch.kind]
    return f"The notch on {notch.edge} is {from_start} and {from_end} ({why})."


def _grain(change: PieceChange) -> Iterator[str]:
    if change.grain is None or abs(change.grain.turn) <= SEEN:
        return
    turned = [turn for turn in change.grain.turns if abs(turn) > SEEN]
    way = "anticlockwise" if change.grain.turn > 0 else "clockwise"
    which = "The grain arrow" if len(turned) == len(change.grain.turns) else "One end of the grain arrow"
    yield f"{which} turned {_degrees(change.grain.turn)} {way} against the part that was left as it was."


# What hangs on it


def _left(effects: Consequences, several: bool) -> Iterator[str]:
    for one in effects.seams:
        if one.outcome == "left":
            yield _left_seam(one, several)
    for junction in effects.junctions:
        if junction.outcome == "left":
            yield _left_junction(junction, several)


def _left_seam(one: SeamEffect, several: bool) -> str:
    size = f" (size {one.size})" if several else ""
    told = f"Seam {one.seam}{size}: {_side_change(one.first)}, {_side_change(one.second)}; they no longer match"
    told += f", by {_length(one.deviation)}."
    if one.left is not None and one.hanging:
        told += f" What follows takes along what is sewn to it: {amounts.listed(one.hanging)}."
    return told


def _side_change(side: SideChange) -> str:
    name = amounts.listed([edge.removeprefix("-") for edge in side.edges])
    if abs(side.change) <= SEEN:
        return f"{name} {'is' if len(side.edges) == 1 else 'are'} as before"
    return f"{name} {_length(side.change)} {'longer' if side.change > 0 else 'shorter'}"


def _left_junction(one: JunctionEffect, several: bool) -> str:
    size = f" (size {one.size})" if several else ""
    meet = f"Where {amounts.listed(one.corners)} meet{size}" if len(one.corners) > 1 else f"At {one.corners[0]}{size}"
    return (
        f"{meet} the line no longer runs on: {one.after:.1f}° instead of {one.expected:.0f}° "
        f"({amounts.listed(one.changed)} changed)."
    )


def _carried(effects: Consequences, several: bool) -> Iterator[str]:
    for one in effects.seams:
        if one.outcome != "carried":
            continue
        size = f" (size {one.size})" if several else ""
        if one.twin:
            grown = f"{_length(one.first.change)} {'longer' if one.first.change > 0 else 'shorter'}"
            yield f"Carried over: seam {one.seam}{size} joins {one.first.edges[0]} to its own mirror image, both {grown}."
        else:
            yield f"Carried over: seam {one.seam}{size} still matches ({_side_change(one.first)}, {_side_change(one.second)})."
    still = [one for one in effects.junctions if one.outcome == "carried"]
    if still:
        where = [amounts.listed(one.corners) for one in still]
        yield f"Carried over: the line still runs on at {'; at '.join(dict.fromkeys(where))}."


def _loose(effects: Consequences, changed: Sequence[PieceChange]) -> Iterator[str]:
    if effects.loose and any(not piece.same_outline for piece in changed):
        names = amounts.listed(effects.loose)
        yield f"In no seam of the plan, so see by hand whether it lies on a changed line: {names}."


# The rest


def _rest(comparison: Comparison, several: bool) -> Iterator[str]:
    same = [piece for piece in comparison.pieces if piece.unchanged]
    if same:
        groups: dict[str, dict[str, list[str]]] = {}
        for piece in same:
            groups.setdefault(_where_it_lies(piece), {}).setdefault(piece.name, []).append(piece.after.size)
        within = max(piece.tolerance for piece in same)
        told = [
            f"{sentence}{where}"
            for where, sizes in groups.items()
            for sentence in ([amounts.listed(list(sizes))] if not several else _by_sizes(comparison, sizes))
        ]
        yield f"As before, within {within:.2f} mm: {'; '.join(told)}."
        noise = max(piece.noise for piece in comparison.pieces)
        if noise > 0.01:
            yield f"The two drawings differ by some {noise:.2f} mm where nothing changed."
    for now, before in comparison.renamed.items():
        yield f"{now} is taken for {before} of the earlier file, by its shape and size."
    for names, words in (
        (comparison.added, "Only in the later file"),
        (comparison.removed, "Only in the earlier file"),
    ):
        if names:
            yield f"{words}: {amounts.listed(names)}."
    for sizes, words in ((comparison.sizes_before, "earlier"), (comparison.sizes_after, "later")):
        if sizes:
            yield f"Only in the {words} file: {'size' if len(sizes) == 1 else 'sizes'} {amounts.listed(sizes)}."
    for pattern, which in ((comparison.before, "earlier"), (comparison.after, "later")):
        for line in pattern.open_outlines:
            yield f"Not compared: {line.name}, whose outline is open by {_length(line.gap)} in the {which} file."
    for piece in comparison.pieces:
        if piece.lost_corners:
            yield (
                f"Not compared: {piece.name} at {amounts.listed(piece.lost_corners)}, which "
                f"{'was' if len(piece.lost_corners) == 1 else 'were'} not found again in the later file."
            )


def _by_sizes(comparison: Comparison, pieces: Mapping[str, Sequence[str]]) -> Iterator[str]:
    """Pieces with their sizes, those together that are named in the same sizes."""
    together: dict[tuple[str, ...], list[str]] = {}
    for name, sizes in pieces.items():
        together.setdefault(tuple(sizes), []).append(name)
    for sizes, names in together.items():
        every = [one.after.size for one in comparison.pieces if one.name == names[0]]
        if len(sizes) == len(every):
            where = "every size" if len(sizes) > 1 else ""
        else:
            where = f"{'size' if len(sizes) == 1 else 'sizes'} {amounts.listed(sizes)}"
        yield f"{amounts.listed(names)} in {where}" if where else amounts.listed(names)


def _where_it_lies(piece: PieceChange) -> str:
    """Where a piece was moved to on the sheet, in words; "" where it lies as it lay or that means nothing."""
    if piece.mirrored:
        return ", turned over"
    if piece.before.y_down != piece.after.y_down:
        return ""
    turn = piece.parts[0].motion.a
    middle = sum(piece.before.outline.segments[:, 0]) / len(piece.before.outline.segments)
    moved = abs(piece.placement.apply(complex(middle)) - middle)
    degrees = abs(_angle_of(turn))
    if degrees > SEEN:
        return f", turned by {degrees:.1f}° on the sheet"
    return f", moved by {moved:.0f} mm on the sheet" if moved >= 1.0 else ""


def _angle_of(turn: complex) -> float:
    from cmath import phase
    from math import degrees

    return degrees(phase(turn))


RENDERERS: Mapping[str, Callable[[Comparison, Consequences, RenderOptions], str]] = {
    "text": render_text,
    "json": json.render_json,
}

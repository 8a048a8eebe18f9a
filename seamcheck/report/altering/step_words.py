"""A step of an alteration as a person does it with paper, ruler and tape: sentences over its lettered marks."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from seamcheck import amounts
from seamcheck.pattern.recipe import AtCorner, DartMove, Extend, Hinge, Parallel, Scoop, Taper, Wedge
from seamcheck.report.altering.marks import Mark

if TYPE_CHECKING:
    from seamcheck.altering.run import DoneStep
    from seamcheck.altering.turning import Turned

LEAST_GAP = 0.2  # mm: what opens by less lies flat


def title(done: DoneStep) -> str:
    """What a step does, in one line."""
    step = done.step
    piece, amount = step.piece, amounts.length(abs(getattr(step, "amount", 0.0)))
    if isinstance(step, Hinge):
        return f"{piece}: cut from A to a hinge at B, and {_verb(step.amount)} by {amount} at A"
    if isinstance(step, Parallel):
        how = "part it by" if step.amount > 0 else "lap it over by"
        return f"{piece}: cut across from A to B, and {how} {amount}"
    if isinstance(step, Scoop):
        return f"{piece}: redraw {step.edge} between A and B, {amount} {_deeper(step.amount)}"
    if isinstance(step, Extend):
        how = "lead" if step.amount > 0 else "cut"
        back = "on" if step.amount > 0 else "back"
        return f"{piece}: {how} {step.along} {back} by {amount} at A, the corner {step.corner}"
    if isinstance(step, Taper):
        return f"{piece}: {_set(step.amount)} {step.edge} by {amount} at B"
    if isinstance(step, Wedge):
        how = "add a wedge outside" if step.amount > 0 else "take a wedge off"
        return f"{piece}: {how} {step.edge}, nothing at A and {amount} at B"
    assert isinstance(step, DartMove)
    told = [
        f"{amounts.length(abs(by))} {words[by < 0]}"
        for by, words in (
            (step.deeper, ("deeper", "less deep")),
            (step.longer, ("longer", "shorter")),
            (step.moved, (f"nearer to {step.towards}", f"farther from {step.towards}")),
        )
        if by
    ]
    drawn = [f"draw the dart of {step.dart} {amounts.listed(told)}"] if told else []
    if step.into is not None:
        drawn.append(f"close the dart of {step.dart}, and open it at D")
    return f"{piece}: {', and '.join(drawn)}"


def lines(done: DoneStep, marks: Sequence[Mark]) -> Iterator[str]:
    """What to do, a sentence or two each."""
    yield from (f"{mark.letter}: {mark.words}." for mark in marks)
    step = done.step
    if isinstance(step, Hinge):
        yield from _hinge(step, done.turned, marks)
    elif isinstance(step, Parallel):
        yield from _parallel(step)
    elif isinstance(step, Scoop):
        side = "into" if step.amount > 0 else "out of"
        yield (
            f"Half-way between A and B mark {amounts.length(abs(step.amount))} square to the old line, {side} the piece. Draw the new "
            "line through it, leaving A and B in the direction of the old one."
        )
    elif isinstance(step, Extend):
        yield from _extend(step, marks)
    elif isinstance(step, Taper):
        yield _taper(step)
    elif isinstance(step, Wedge):
        yield (
            f"Trace {step.edge} from A to B with all its marks. Pin the tracing at A, and turn it until B has gone "
            f"{amounts.length(abs(step.amount))} {'out of' if step.amount > 0 else 'into'} the piece, on the line of the edge that meets "
            "it there. Draw it through."
        )
    else:
        assert isinstance(step, DartMove)
        yield from _dart(step)


def _hinge(step: Hinge, turned: Turned | None, marks: Sequence[Mark]) -> Iterator[str]:
    reliefs = [(marks[k].letter, marks[k + 1].letter) for k in range(2, len(marks) - 1, 2)]
    yield (
        "Rule a line from A to B. Cut along it from A, and stop a thread short of B: that is the hinge. Where there is an allowance "
        "outside the sew line at B, snip into it from outside, so that the paper turns on the sew line."
    )
    for start, hinge in reliefs:
        yield f"Rule a line from {start} to {hinge}, cut along it from {start}, and stop a thread short of {hinge} likewise."
    yield f"Tape down {_still(step.stays)}."
    how = "Open the cut" if step.amount > 0 else "Lap the other part over it"
    amount = amounts.length(abs(step.amount))
    yield f"{how} until {_edge_at(step)} is {amount} {'longer' if step.amount > 0 else 'shorter'} at A, measured on the sew line. {_flat(bool(reliefs))}"
    if turned is not None:
        yield from _opened(turned, reliefs)
    yield "Tape all down, with paper under what is open."


def _verb(amount: float) -> str:
    return "spread" if amount > 0 else "overlap"


def _deeper(amount: float) -> str:
    return "deeper" if amount > 0 else "fuller"


def _set(amount: float) -> str:
    return "set out" if amount > 0 else "take in"


def _still(stays: str) -> str:
    return (
        f"the part with {stays}: it stays"
        if stays
        else "the part that most of the grain arrow runs through: it stays"
    )


def _edge_at(step: Hinge) -> str:
    return str(getattr(step.opens, "edge", "the edge"))


def _flat(relief: bool) -> str:
    return (
        "Let the other cut open as it will: so the paper lies flat." if relief else "Nothing is gained or lost at B."
    )


def _opened(turned: Turned, reliefs: Sequence[tuple[str, str]]) -> Iterator[str]:
    """How far the part turns, and how wide relief cuts stand open: what to check the tape by."""
    yield f"To check it: the part at B has turned by {amounts.angle(abs(turned.turns[0]))}."
    turns = zip(turned.turns, turned.turns[1:], strict=False)
    for (start, hinge), line, (before, after) in zip(reliefs, turned.reliefs, turns, strict=False):
        gap = 2 * line.length * math.sin(math.radians(abs(after - before)) / 2)
        if gap > LEAST_GAP:
            yield f"The cut from {start} to {hinge} stands open by {amounts.length(gap)} at {start}."


def _parallel(step: Parallel) -> Iterator[str]:
    if step.by_grain:
        yield "Lead the grain arrow on through the cut first, right across A to B, so that both parts can be laid in line again."
    yield "Rule a line from A to B, and cut the piece in two along it."
    yield f"Tape down {_still(step.stays)}."
    along = "along the grain" if step.by_grain else "square to the cut"
    amount = amounts.length(abs(step.amount))
    if step.amount > 0:
        yield f"Lay the other part {amount} away from it, {along}, on paper that fills the gap, and tape it down."
    else:
        yield f"Lay the other part over it by {amount}, {along}, and tape it down."


def _extend(step: Extend, marks: Sequence[Mark]) -> Iterator[str]:
    amount = amounts.length(abs(step.amount))
    if step.square:
        yield f"Mark the new corner {amount} square to {step.along}, {'out of' if step.amount > 0 else 'into'} the piece."
    elif step.amount > 0:
        yield f"Lead {step.along} on straight past A by {amount}, and mark the new corner there."
    else:
        yield f"Measure {amount} back along {step.along} from A, and mark the new corner there."
    yield (
        "Blend the other edge from there, to nothing at B."
        if len(marks) > 1
        else "Blend the other edge from there, to its next mark."
    )


def _taper(step: Taper) -> str:
    amount, way = amounts.length(abs(step.amount)), "out of" if step.amount > 0 else "into"
    end = ""
    if step.end is not None:
        end = ", and to nothing again at C"
    elif not isinstance(step.peak, AtCorner):
        end = ", and as much from there to the end of the edge"
    return f"Draw {step.edge} anew: from nothing at A to {amount} {way} the piece at B{end}."


def _dart(step: DartMove) -> Iterator[str]:
    inner, tip, outer = "ABC"
    if step.deeper:
        way = "outside" if step.deeper > 0 else "inside"
        yield (
            f"Mark the edge {amounts.length(abs(step.deeper) / 2)} {way} of the dart at {inner}, and as much at {outer}; rule both legs "
            f"from there to {tip}."
        )
    if step.longer:
        way = "farther from" if step.longer > 0 else "nearer to"
        yield f"Mark the tip {amounts.length(abs(step.longer))} {way} the edge, on the line half-way between the legs; rule the legs to it."
    if step.moved:
        yield (
            f"Trace the dart, and move it {amounts.length(abs(step.moved))} along the edge towards {step.towards}, with its legs as they "
            "are."
        )
    if step.into is not None:
        yield (
            f"Rule a line from D to {tip}, cut along it from D, and stop a thread short of {tip}: that is the hinge. Cut out the dart, or "
            f"cut along one of its legs to {tip}, stopping short of it likewise."
        )
        yield f"Tape down {_still(step.stays)}."
        yield f"Turn the other part about {tip} until {inner} lies on {outer}, and tape the legs on one another: the cut at D opens by itself."
        yield f"The new legs run from {tip} to both ends of the opening at D, and are as long as one another."
    yield "Fold the dart as it is pressed, and draw the edge across it in one line; cut it so before you unfold it."

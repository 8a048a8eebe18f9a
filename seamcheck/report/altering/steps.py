"""The moves of an alteration in words, as one person tells another at the table."""

from __future__ import annotations

from collections.abc import Iterator

from seamcheck.altering.rehearse import StepFacts
from seamcheck.amounts import angle, count, length
from seamcheck.pattern.recipe import (
    AlongCut,
    AlongEdge,
    AtCorner,
    AtNotch,
    DartMove,
    Extend,
    Hinge,
    Parallel,
    Scoop,
    Spot,
    Step,
    Taper,
    Wedge,
)


def place(spot: Spot) -> str:
    """Where a spot is, with the amount as a ruler has it."""
    if isinstance(spot, AlongEdge):
        amount = f"{100 * spot.amount:.0f} % of it" if spot.share else length(spot.amount)
        return f"{spot.edge}, {amount} from {spot.corner}"
    if isinstance(spot, AtNotch):
        return f"notch {spot.number} of {spot.edge}"
    if isinstance(spot, AlongCut):
        return f"{100 * spot.share:.0f} % of the cut"
    assert isinstance(spot, AtCorner)
    return spot.corner


def move(step: Step) -> str:
    """One move in a sentence."""
    teller = {
        Hinge: _hinge,
        Parallel: _parallel,
        Scoop: _scoop,
        Extend: _extend,
        Taper: _taper,
        DartMove: _dart,
        Wedge: _wedge,
    }[type(step)]
    return f"{step.piece}: {teller(step)}"  # type: ignore[operator]


def _hinge(step: Hinge) -> str:
    way = "spread" if step.amount > 0 else "overlap"
    reliefs = "".join(
        f" Cut from {place(one.start)} to a hinge at {place(one.hinge)} too; there it opens, so that the paper lies flat."
        for one in step.reliefs
    )
    return (
        f"cut from {place(step.opens)}, to a hinge at {place(step.hinge)}; {way} {length(abs(step.amount))}.{reliefs}"
    )


def _parallel(step: Parallel) -> str:
    amount, along = length(abs(step.amount)), "along the grain" if step.by_grain else "square to the cut"
    way = f"lay both parts {amount} apart" if step.amount > 0 else f"lap one part over the other by {amount}"
    return f"cut across from {place(step.cut[0])}, to {place(step.cut[1])}; {way}, {along}."


def _scoop(step: Scoop) -> str:
    way = "deeper" if step.amount > 0 else "fuller"
    return f"redraw {step.edge} from {place(step.start)}, to {place(step.end)}, {length(abs(step.amount))} {way} half-way."


def _extend(step: Extend) -> str:
    blend = "to its next mark" if step.blend is None else f"to {place(step.blend)}"
    if step.square:
        way = "out of" if step.amount > 0 else "in from"
        return f"move {step.corner} {length(abs(step.amount))} square {way} {step.along}, and blend both edges to it."
    way = (
        "lead {edge} on past its end at {corner} by {amount}"
        if step.amount > 0
        else "cut {edge} back at {corner} by {amount}"
    )
    told = way.format(edge=step.along, corner=step.corner, amount=length(abs(step.amount)))
    return f"{told}, and blend the other edge there from the new corner {blend}."


def _taper(step: Taper) -> str:
    way = "set out" if step.amount > 0 else "take in"
    end = "" if step.end is None else f", running out to nothing at {place(step.end)}"
    return f"{way} {step.edge} from nothing at {place(step.start)}, to {length(abs(step.amount))} at {place(step.peak)}{end}."


def _dart(step: DartMove) -> str:
    told = []
    if step.deeper:
        told.append(f"{length(abs(step.deeper))} {'deeper' if step.deeper > 0 else 'less deep'}")
    if step.longer:
        told.append(f"{length(abs(step.longer))} {'longer' if step.longer > 0 else 'shorter'}")
    if step.moved:
        told.append(f"moved {length(abs(step.moved))} {'towards' if step.moved > 0 else 'away from'} {step.towards}")
    drawn = [f"draw the dart {step.dart} {', '.join(told)}"] if told else []
    if step.into is not None:
        drawn.append(
            f"cut from {place(step.into)}, to its tip, and close the dart {step.dart}, so that it opens there"
        )
    return "; ".join(drawn) + "."


def _wedge(step: Wedge) -> str:
    way = "out" if step.amount > 0 else "in"
    return f"turn {step.edge} as it is about {place(step.start)}, so that {step.corner} goes {way} by {length(abs(step.amount))}."


def outcome(facts: StepFacts) -> Iterator[str]:
    """What came of one move, a sentence each."""
    done = facts.done
    if facts.radius is not None and done.turned is not None:
        turns = done.turned.turns
        amount = length(abs(done.step.amount))  # type: ignore[attr-defined]
        told = " and ".join(angle(abs(turn)) for turn in turns)
        parts = "the part beyond turns" if len(turns) == 1 else f"the {count(len(turns), 'part')} beyond turn"
        yield f"{amount} over {length(facts.radius)} to the hinge is {angle(facts.angle or 0.0)}; {parts} {told}."
    for given in done.given:
        way = "longer" if given.amount > 0 else "shorter"
        yield f"Given back: {given.edge} is drawn {length(abs(given.amount))} {way} at {given.end}."

"""Checks against an earlier file of the same pattern: notches that drifted, grain that turned.

A notch is right against the earlier file if it kept its distance from one end, or meets its mate; what only moved
with its part is told by `compare`, not found fault with.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from seamcheck.amounts import Angle, Fact, Length, Name, Unit, phrase
from seamcheck.checks.base import Check, Code, Context, Observation, Severity, Skip
from seamcheck.checks.places import corner_of
from seamcheck.pattern.subject import Subject

if TYPE_CHECKING:
    from seamcheck.comparison.changes import NotchChange, PieceChange
    from seamcheck.pattern.model import Edge

MET = 0.8  # mm: a notch that meets its mate this nearly is where it should be, wherever it was


def _compared(context: Context) -> Iterator[PieceChange | Skip]:
    """The changes of every piece of this size, or why there are none."""
    if context.before is None:
        yield Skip(reason="no-earlier-file", why="no earlier file to compare with")
        return
    for name in context.pieces:
        change = context.before.piece(name, context.size)
        yield (
            change
            if change is not None
            else Skip(reason="new-piece", why="the earlier file has no such piece", piece=name)
        )


def _notch_drift(context: Context) -> Iterator[Observation | Skip]:
    met = _met(context)
    for change in _compared(context):
        if isinstance(change, Skip):
            yield change
            continue
        for edge in change.edges:
            name = f"{change.name}.{edge.name}"
            for notch in edge.notches:
                drift = 0.0 if (name, notch.after.at) in met else notch.drift
                yield Observation(
                    code=notch.kind if notch.kind != "kept" else "outlier",
                    deviation=drift,
                    allowed=(0.0, 0.0),
                    at=notch.after.at,
                    subject=Subject.notch(change.after, change.after.edge(edge.name), notch.after),
                    pieces=(change.name,),
                    edges=(name,),
                    facts=_drift_facts(change, notch, drift),
                )
            whole = change.after.edge(edge.name)
            for lost in edge.lost:
                yield Observation(
                    code="lost",
                    at=whole.point(lost.station),
                    pieces=(change.name,),
                    edges=(name,),
                    facts={
                        "edge": Name(name),
                        "notch": _kind(lost.count),
                        "was": Length(lost.station),
                        "corner": corner_of(change.after, whole.start),
                    },
                )


def _met(context: Context) -> set[tuple[str, complex]]:
    """The notches that meet their mates, by edge and place."""
    return {
        (mark.edge, mark.at)
        for walk in context.walks
        for match in walk.matches
        if abs(match.off) <= MET
        for mark in (match.first, match.second)
    }


def _drift_facts(change: PieceChange, notch: NotchChange, drift: float) -> dict[str, Fact]:
    edge: Edge = change.after.edge(notch.edge)
    return {
        "edge": Name(f"{change.name}.{notch.edge}"),
        "notch": _kind(notch.before.count),
        "corner": corner_of(change.after, edge.start),
        "was": Length(notch.before.station),
        "now": Length(notch.after.station),
        "amount": Length(abs(drift)),
        "way": phrase("towards {end}", end=corner_of(change.after, edge.end if drift > 0 else edge.start)),
    }


def _kind(count: int) -> str:
    return {1: "notch", 2: "double notch", 3: "triple notch"}.get(count, "notch")


NOTCH_DRIFT = Check(
    name="notch-drift",
    family="earlier",
    meaning="against the file before the alteration, every notch kept its station or meets its mate",
    why="A notch that moved with a part of the paper no longer says where the mate's notch goes: one stretch of the seam is stretched "
    "on, the next is eased in.",
    remedy="Put the notch back at its old distance from the end that was not altered, or move its mate by as much.",
    source="a change of length moves every later notch by as much, a change of scale each in proportion to its station, and a slip of the "
    "hand one alone: by geometry; that stations must agree on both sides: fashion-incubator.com, How to check the accuracy of graded "
    "patterns; the tolerance is that of seam lengths",
    tolerance=1.6,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="step",
            meaning="a notch moved with the part that it lies on, by an alteration between it and either end",
            message="{edge}: the {notch} that was {was} from {corner} is now {now} from it; an alteration above it took it along "
            "{way}, and from the other end it is off too, by at least {amount}.",
            advice="Put the notch back at {was} from {corner}, or move the notch of its mate by {amount}.",
            facts=("edge", "notch", "was", "corner", "now", "way", "amount"),
        ),
        Code(
            name="linear",
            meaning="all notches of an edge moved in proportion to their stations",
            message="{edge}: all its notches moved in proportion to their distance from {corner}; the {notch} that was {was} from it is "
            "now {now} from it.",
            advice="See whether the piece was printed, scanned or drawn at another scale. If the edge was made longer on purpose, move the "
            "notches of its mate in the same proportion.",
            facts=("edge", "corner", "notch", "was", "now"),
        ),
        Code(
            name="outlier",
            meaning="a notch moved by itself",
            message="{edge}: the {notch} that was {was} from {corner} is now {now} from it; it slipped by {amount} {way} while the line "
            "round it did not.",
            advice="Put the notch back by {amount}, to where it was on the line.",
            facts=("edge", "notch", "was", "corner", "now", "amount", "way"),
        ),
        Code(
            name="lost",
            meaning="a notch of the earlier file is gone",
            message="{edge}: the {notch} that was {was} from {corner} in the earlier file is gone.",
            advice="Mark it again where it was, unless its mate lost it too.",
            facts=("edge", "notch", "was", "corner"),
            severity=Severity.WARNING,
        ),
    ),
    run=_notch_drift,
)


def _grain_turned(context: Context) -> Iterator[Observation | Skip]:
    for change in _compared(context):
        if isinstance(change, Skip):
            yield change
            continue
        if change.grain is None:
            yield Skip(
                reason="no-grain",
                why="the piece has no grain arrow in one of the two files",
                piece=change.name,
            )
            continue
        if not change.parts:
            yield Skip(
                reason="redrawn",
                why="the outline is too different from the earlier one to tell how it lies",
                piece=change.name,
            )
            continue
        turn = change.grain.turn
        bent = len(change.grain.turns) > 1 and max(change.grain.turns) - min(change.grain.turns) > 0.2
        yield Observation(
            code="turned",
            deviation=turn,
            allowed=(0.0, 0.0),
            at=change.grain.at,
            subject=Subject.grain(change.after, max(change.after.grainlines, key=lambda grain: grain.length)),
            pieces=(change.name,),
            facts={
                "piece": Name(change.name),
                "turn": Angle(abs(turn)),
                "way": "anticlockwise" if turn > 0 else "clockwise",
            },
            clauses=("half",) if bent else (),
        )


GRAIN_TURNED = Check(
    name="grain-turned",
    family="earlier",
    meaning="against the file before the alteration, the grain arrow kept its direction in the part that did not turn",
    why="Beyond a slash the paper has turned, and an arrow that turned with it lays the whole piece askew on the cloth: the leg "
    "twists round the wearer's leg.",
    remedy="Draw the arrow anew through the part that did not turn (on trousers through the middle of knee and hem), straight through the "
    "whole piece.",
    source="below the knee the leg is symmetrical about the grain, and a new arrow is drawn through the knee centre parallel to the old: "
    "HGTV, Balancing the leg around the grainline; the tolerance is ours (1.6 mm over 100 mm are 0.9°)",
    tolerance=1.0,
    unit=Unit.ANGLE,
    codes=(
        Code(
            name="turned",
            meaning="the arrow turned against the part that was left as it was",
            message="{piece}: the grain arrow turned by {turn} {way} against the part that was left as it was.",
            advice="Draw the arrow anew through the part that did not turn, straight through the whole piece, and cross out the old one.",
            clauses={"half": "Only one of its ends did: it crosses the cut."},
            facts=("piece", "turn", "way"),
        ),
    ),
    run=_grain_turned,
)

CHECKS = (NOTCH_DRIFT, GRAIN_TURNED)

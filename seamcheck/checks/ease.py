"""Checks on ease: on the side that the body needs it, where the notches put it, and no more than cloth takes.

Usual ease is no fault where nobody planned it. Where seams were inferred nobody could write ease down, and up to
what is customary it is at most a note. So it is always with the turn of the cloth, by which a facing is up to 1/8
in shorter than what it faces.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from seamcheck.amounts import Fact, Length, Unit
from seamcheck.checks.base import Check, Code, Context, Observation, Repetition, Severity, Skip
from seamcheck.checks.seam_bands import SIXTEENTH, band, edges_of, pieces_of, seam_tolerance, sides_of
from seamcheck.checks.seam_kinds import Customary, customary, is_hem
from seamcheck.checks.seams import walk_end
from seamcheck.exact import most

if TYPE_CHECKING:
    from seamcheck.pattern.walk import Span, Walk

HOPELESS = 0.125  # of the length: 3/4 in over 6 in


def _ease(context: Context) -> Iterator[Observation | Skip]:
    eased = [walk for walk in context.walks if walk.seam.plan.ease is not None and not walk.seam.twin]
    if not eased:
        yield Skip(reason="no-ease", why="the plan gives no seam ease")
    for walk in eased:
        tolerance = band(context, walk)
        if abs(walk.deviation) > tolerance / 2:
            yield Skip(reason="not-true", why="the seam is not true, so its ease cannot be judged", seam=walk.name)
            continue
        kind = customary(walk.seam)
        if kind is None or kind.kind.turn_of_cloth:
            yield Skip(
                reason="names-say-nothing",
                why="its names do not say which side should be the longer one",
                seam=walk.name,
            )
        else:
            yield _side(context, walk, kind)
            if walk.seam.plan.ease_between is None:
                yield from (_outside(context, walk, kind, span) for span in _free_of_ease(walk, kind))
        yield from _too_much(walk, tolerance)


def _side(context: Context, walk: Walk, kind: Customary) -> Observation:
    """How much longer the side is that should be the shorter one; nothing where it is not."""
    wrong = max(-walk.difference * kind.sign, 0.0)
    short, long = sides_of(walk, first_is_short=kind.sign > 0)
    return Observation(
        code="wrong-side",
        deviation=wrong,
        tolerance=seam_tolerance(context, walk),
        allowed=(0.0, 0.0),
        at=walk.seam.first.place(walk.seam.first.length / 2),
        seam=walk.name,
        pieces=pieces_of(walk),
        edges=edges_of(walk),
        facts={
            "amount": Length(wrong),
            "short": short,
            "long": long,
            "wrong": kind.kind.wrong,
            "eased": kind.kind.eased,
        },
    )


def _free_of_ease(walk: Walk, kind: Customary) -> list[Span]:
    """The stretches that are sewn without ease: outside the notches of a cap, below the knee of an inseam."""
    if len(walk.spans) < 2:
        return []
    free = []
    for span, which in ((walk.spans[0], 0), (walk.spans[-1], -1)):
        at_hem = all(is_hem(name) for name in walk_end(walk, which).split(" / "))
        if (kind.kind.between_notches and len(walk.spans) > 2) or (kind.kind.above_knee and at_hem):
            free.append(span)
    return free


def _outside(context: Context, walk: Walk, kind: Customary, span: Span) -> Observation:
    return Observation(
        code="outside",
        deviation=span.difference,
        tolerance=seam_tolerance(context, walk),
        allowed=(0.0, 0.0),
        at=span.at,
        seam=walk.name,
        pieces=pieces_of(walk),
        edges=edges_of(walk),
        facts={
            "amount": Length(abs(span.difference)),
            "before": span.before,
            "after": span.after,
            "where": "between the notches" if kind.kind.between_notches else "above the last notch before the hem",
        },
        # On the wrong side it lies wrong everywhere; that is one fault and not three.
        repeats=(Repetition(check="ease", codes=("wrong-side",), seam=walk.name),),
    )


def _too_much(walk: Walk, tolerance: float) -> Iterator[Observation]:
    """The stretch with the most ease for its length, where no cloth takes so much."""
    stretches = [(one.before, one.after, one.first, one.second, one.at) for one in walk.spans]
    hopeless = [
        (abs(first - second) / min(first, second), before, after, abs(first - second), at)
        for before, after, first, second, at in stretches
        if min(first, second) > 0.0
        and abs(first - second) > tolerance
        and abs(first - second) >= HOPELESS * min(first, second)
    ]
    if not hopeless:
        return
    share, before, after, amount, at = most(hopeless, key=lambda one: one[0])
    facts: dict[str, Fact] = {
        "before": before,
        "after": after,
        "amount": Length(amount),
        "length": Length(amount / share),
        "share": f"{100 * share:.0f} %",
    }
    yield Observation(
        code="too-much",
        at=at,
        seam=walk.name,
        pieces=pieces_of(walk),
        edges=edges_of(walk),
        facts=facts,
    )


EASE = Check(
    name="ease",
    family="seams",
    meaning="ease lies on the side that covers the fuller body, where the notches put it, and is no more than cloth takes",
    why="Ease is cloth for a round place of the body: the cap for the arm, the back shoulder for the blade, the waist for the belly. "
    "On the other side it pulls where it should give; in a flat place it puckers; and more than the cloth takes makes pleats.",
    remedy="Measure both sides and say on the pattern which is the longer one and between which notches it is eased in. Take what is "
    "too much out of the longer side, or spread it over a longer stretch by moving the notches of both sides.",
    source="the longer edge covers the fuller area: Fashion Incubator, Lazy pattern making; a cap is never shorter than its armhole and "
    "is eased between the notches: emmakespatterns.com, Sleeve cap ease; inseams differ above the knee alone: A Tailor Made It (2024); "
    "3/4 in over 6 in, which is 12.5 %, is hopeless and over 6 ft easy: pinktoesandpowertools.com; the tolerance is that of seam-length",
    tolerance=SIXTEENTH,
    unit=Unit.LENGTH,
    tolerance_like="seam-length",
    repeats=("ease/wrong-side",),
    codes=(
        Code(
            name="wrong-side",
            meaning="the side that should be eased is the shorter one",
            message="{short} is {amount} shorter than {long}: {wrong}, and ease belongs on {eased}.",
            advice="Lengthen {short} by {amount} or more, or shorten {long}; blend between the nearest marks that stay: a notch or a "
            "corner. Then correct the ease in the plan, which allows this.",
            facts=("short", "amount", "long", "wrong", "eased"),
        ),
        Code(
            name="outside",
            meaning="there is ease in a stretch that is sewn flat",
            message="Between {before} and {after} the sides differ by {amount}, but the ease belongs {where}.",
            advice="Move the notch at the end of this stretch, on the side that was altered, until both sides agree up to it; if the "
            "ease is meant to lie here, say so in the plan with ease-between.",
            facts=("before", "after", "amount", "where"),
        ),
        Code(
            name="too-much",
            meaning="there is more ease than any cloth takes over that length",
            message="Between {before} and {after} {amount} is to be eased into {length}, which is {share}: no cloth takes so much.",
            advice="Move the notches of both sides further apart so that the ease is spread over more of the seam, or take some out of "
            "the longer side. If it is meant to be gathered, write ratio in the plan instead of ease.",
            facts=("before", "after", "amount", "length", "share"),
            severity=Severity.WARNING,
        ),
    ),
    run=_ease,
)

CHECKS = (EASE,)

"""Checks that walk a seam: lengths, spans and notches."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import copysign
from typing import TYPE_CHECKING

from seamcheck.amounts import Fact, Length, Listed, Name, Unit, phrase
from seamcheck.checks.base import (
    OWN,
    Check,
    Code,
    Context,
    LookedAt,
    Observation,
    Repetition,
    Severity,
    Skip,
    Tolerance,
)
from seamcheck.checks.seam_bands import (
    SIXTEENTH,
    band,
    culprit,
    edges_of,
    pieces_of,
    seam_tolerance,
    sides_of,
    without_seams,
)
from seamcheck.checks.seam_kinds import Customary, customary
from seamcheck.exact import EXACT, least, most

if TYPE_CHECKING:
    from seamcheck.pattern.walk import Match, NotchOrJoint, Span, Walk

SAME_SLIP = 0.4  # mm: notches that moved by amounts this alike moved together


def _seam_length(context: Context) -> Iterator[Observation | Skip]:
    for name, lost in context.graph.lost.items():
        yield Skip(reason=lost.code, why=lost.words, seam=name)
    yield from without_seams(context)
    for walk in context.walks:
        short, long = sides_of(walk, first_is_short=walk.deviation < 0)
        too_short = walk.seam.second if walk.deviation > 0 else walk.seam.first
        tolerance = band(context, walk)
        span = culprit(walk, tolerance)
        clauses = ["planned"] if walk.allowed != (0.0, 0.0) else []
        facts: dict[str, Fact] = {
            "amount": Length(abs(walk.deviation)),
            "short": short,
            "long": long,
            "difference": Length(abs(walk.difference)),
            "low": Length(min(abs(end) for end in walk.allowed)),
            "high": Length(max(abs(end) for end in walk.allowed)),
            "line": "the line between the nearest marks that stay, a notch or a corner,",
        }
        clauses += _sense(walk, facts)
        if span is not None:
            clauses.append("span")
            facts |= {
                "stretch": phrase("between {before} and {after}", before=span.before, after=span.after),
                "line": phrase("the line from {before} to {after}", before=span.before, after=span.after),
                "other_end": _other_end(walk, span),
                "near": _near_end(walk, span),
            }
        elif walk.matches and abs(sum(one.deviation for one in walk.spans) - walk.deviation) <= tolerance / 2:
            clauses.append("spread")
            facts["stretches"] = Listed(
                tuple(
                    phrase(
                        "{amount} between {before} and {after}",
                        amount=Length(one.deviation),
                        before=one.before,
                        after=one.after,
                    )
                    for one in walk.spans
                    if abs(one.deviation) > abs(walk.deviation) / (2 * len(walk.spans))
                )
            )
        yield Observation(
            code="short" if walk.deviation < 0 else "long",
            deviation=walk.deviation,
            uncertainty=walk.uncertainty,
            tolerance=length_tolerance(context, walk),
            allowed=walk.allowed,
            at=span.at if span is not None else too_short.place(too_short.length),
            seam=walk.name,
            facts=facts,
            clauses=tuple(clauses),
            pieces=pieces_of(walk),
            edges=edges_of(walk),
        )


def _near_end(walk: Walk, span: Span) -> Fact:
    """The end of a seam at which the stretch that differs lies; "" where it lies between notches or is the whole seam."""
    near = [end for end in (walk_end(walk, 0), walk_end(walk, -1)) if end in (span.before, span.after)]
    return near[0] if len(near) == 1 else ""


def _other_end(walk: Walk, span: Span) -> Fact:
    """The end of a seam away from the stretch that differs, or both where it lies between notches."""
    far = [end for end in (walk_end(walk, 0), walk_end(walk, -1)) if end not in (span.before, span.after)]
    if len(far) == 2:
        return phrase("{one} or {other}", one=far[0], other=far[1])
    return far[0] if far else "the other end"


def length_tolerance(context: Context, walk: Walk) -> Tolerance | None:
    """The tolerance of a seam's length, where it has one of its own.

    A seam that differs as is usual has a wide one: customary ease is but a note where nobody could, or would, plan it.
    """
    kind = customary(walk.seam)
    usual = kind is not None and _is_usual(walk, kind) and (context.inferred or kind.kind.turn_of_cloth)
    if usual and kind is not None and kind.kind.most > band(context, walk):
        return Tolerance(kind.kind.most, Unit.LENGTH, OWN, f"size {context.size}")
    return seam_tolerance(context, walk)


def _is_usual(walk: Walk, kind: Customary) -> bool:
    """Whether a seam of which the plan says nothing has its ease on the side, and in the amount, that is usual."""
    silent = walk.seam.plan.ease is None and walk.seam.plan.ratio is None
    return silent and EXACT < walk.difference * kind.sign <= kind.kind.most + EXACT


def _sense(walk: Walk, facts: dict[str, Fact]) -> list[str]:
    """The clause that says what the trade thinks of ease on this side of the seam, if it is a seam that is eased."""
    kind = customary(walk.seam)
    if kind is None:
        return []
    facts |= {
        "wrong": f"{kind.kind.wrong[0].upper()}{kind.kind.wrong[1:]}",
        "eased": kind.kind.eased,
        "eased_first": f"{kind.kind.eased[0].upper()}{kind.kind.eased[1:]}",
        "most": Length(kind.kind.most),
    }
    if walk.difference * kind.sign < 0.0:
        return [] if kind.kind.turn_of_cloth else ["wrong-side"]
    return ["usual"] if _is_usual(walk, kind) else []


_LENGTH_CLAUSES = {
    "wrong-side": "{wrong}, and ease belongs on {eased}.",
    "usual": "{eased_first} may be eased in by up to {most}: if that is meant, write ease = ... for the seam in the plan.",
    "planned": "The sides differ by {difference}; the plan allows from {low} to {high}.",
    "span": "The whole difference lies {stretch}.",
    "spread": "It is spread over the seam: {stretches}.",
}
_LENGTH_FACTS = (
    *("short", "amount", "long", "ways", "line"),
    *("wrong", "eased", "eased_first", "most"),  # what the trade thinks of it
    *("difference", "low", "high", "stretch", "stretches"),
)
_LENGTH_ADVICE = "{ways} Then redraw {line} and walk the seam again."

SEAM_LENGTH = Check(
    name="seam-length",
    family="seams",
    meaning="the two sides of every seam differ by the planned ease or ratio",
    why="Two sides of unequal length cannot be sewn together flat: one puckers, or the seam ends miss each other at the "
    "hem or the waist, and it shows only when the cloth is cut.",
    remedy="Lay one piece on the other along the sew line from a common end and pivot it along with a pin or a pencil "
    "point. Where the ends miss each other, find the piece that was altered and give back, or take off, the amount at the "
    "end where the alteration was made; then redraw the line smoothly between the nearest marks that stay: a notch or a "
    "corner. If the difference is meant, write ease = [from, to] for the seam in the plan.",
    source="1/16 in as the careful tolerance and 1/8 in as workable: Threads magazine 200 (2018/19), 10 Patternwork Skills; a facing, "
    "lining or undercollar up to 1/8 in smaller, which is but a note, for the turn of the cloth: common practice, no source",
    tolerance=SIXTEENTH,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="short",
            meaning="the first side is shorter than the second by more than is planned",
            message="{short} is {amount} too short to be sewn to {long}.",
            advice=_LENGTH_ADVICE,
            clauses=_LENGTH_CLAUSES,
            facts=_LENGTH_FACTS,
        ),
        Code(
            name="long",
            meaning="the first side is longer than the second by more than is planned",
            message="{short} is {amount} too short to be sewn to {long}.",
            advice=_LENGTH_ADVICE,
            clauses=_LENGTH_CLAUSES,
            facts=_LENGTH_FACTS,
        ),
    ),
    run=_seam_length,
)


def _seam_span(context: Context) -> Iterator[Observation | LookedAt | Skip]:
    yield from without_seams(context)
    for walk in context.walks:
        if walk.seam.twin:
            continue
        if not walk.matches:
            yield Skip(
                reason="no-notches",
                why="the seam has no notches that match, so there is only its whole length to compare",
                seam=walk.name,
            )
            continue
        yield LookedAt(seam=walk.name)
        slips = {match: _worst(group) for group in _moved_together(walk) for match in group}
        whole = Repetition(check="seam-length", seam=walk.name)
        way = copysign(1.0, walk.deviation)
        for k, span in enumerate(walk.spans):
            shares = min(span.deviation * way, abs(walk.deviation)) > EXACT  # in what the whole seam is off by
            beside = [slips[walk.matches[m]] for m in (k - 1, k) if 0 <= m < len(walk.matches)]
            slipped = (
                Repetition(check="notch-match", codes=("station",), seam=walk.name, at=match.first.at)
                for match in beside
            )
            short, long = sides_of(walk, first_is_short=span.deviation < 0)
            yield Observation(
                code="short" if span.deviation < 0 else "long",
                deviation=span.deviation,
                uncertainty=walk.uncertainty,
                tolerance=length_tolerance(context, walk) if shares else seam_tolerance(context, walk),
                allowed=(0.0, 0.0),
                at=span.at,
                seam=walk.name,
                facts={
                    "amount": Length(abs(span.deviation)),
                    "short": short,
                    "long": long,
                    "before": span.before,
                    "after": span.after,
                },
                clauses=("elsewhere",) if walk.seam.plan.ease_between is not None else (),
                repeats=(whole, *slipped) if shares else tuple(slipped),
                pieces=pieces_of(walk),
                edges=edges_of(walk),
            )


_SPAN_CLAUSES = {"elsewhere": "The plan puts the ease of this seam elsewhere, or less of it here."}
_SPAN_FACTS = ("before", "after", "short", "amount", "long")
_SPAN_MESSAGE = "Between {before} and {after}, {short} is {amount} shorter than {long}."
_SPAN_ADVICE = (
    "Walk the seam from notch to notch. If the whole length agrees, move the notches of the altered piece so that each "
    "stretch agrees too; if it does not, give the amount back in this stretch."
)

SEAM_SPAN = Check(
    name="seam-span",
    family="seams",
    meaning="each stretch between matched notches agrees on both sides, unless ease is planned there",
    why="A seam may be right as a whole and wrong between its notches: then one stretch is stretched and the next one "
    "puckers, and a knee or a hip is pulled out of its place.",
    remedy="Walk from notch to notch and compare each stretch, not only the whole. Correct the stretch that differs, or "
    "move the notch that was not carried over.",
    source="common practice, no source; the tolerance is that of seam-length",
    tolerance=SIXTEENTH,
    unit=Unit.LENGTH,
    repeats=("seam-length", "notch-match/station"),
    tolerance_like="seam-length",
    codes=(
        Code(
            name="short",
            meaning="the first side's stretch is shorter",
            message=_SPAN_MESSAGE,
            advice=_SPAN_ADVICE,
            clauses=_SPAN_CLAUSES,
            facts=_SPAN_FACTS,
        ),
        Code(
            name="long",
            meaning="the first side's stretch is longer",
            message=_SPAN_MESSAGE,
            advice=_SPAN_ADVICE,
            clauses=_SPAN_CLAUSES,
            facts=_SPAN_FACTS,
        ),
    ),
    run=_seam_span,
)


def _notch_match(context: Context) -> Iterator[Observation | Skip]:
    from seamcheck.pattern.walk import fits_turned

    yield from without_seams(context)
    for walk in context.walks:
        if walk.seam.twin:
            continue
        if not walk.matches and not any(walk.alone):
            yield Skip(reason="no-notches", why="neither side of the seam has a notch", seam=walk.name)
            continue
        if fits_turned(walk, band(context, walk)):
            yield _turned(walk)
        repeats = (Repetition(check="notch-match", codes=("turned",), seam=walk.name),)
        yield from (replace(one, repeats=repeats) for one in _missing(context, walk))


def _missing(context: Context, walk: Walk) -> Iterator[Observation]:
    """What of the notches of a seam does not meet."""
    yield from _slipped(context, walk)
    for match in walk.matches:
        if not (match.first.joint or match.second.joint) and match.first.count != match.second.count:
            yield Observation(
                code="count",
                at=match.first.at,
                subject=match.first.subject,
                seam=walk.name,
                facts={
                    "first": match.first.edge,
                    "second": match.second.edge,
                    "first_count": _count(match.first),
                    "second_count": _count(match.second),
                    "place": _place(walk, match),
                },
                pieces=pieces_of(walk),
                edges=edges_of(walk),
            )
    told: set[tuple[NotchOrJoint, NotchOrJoint | None]] = set()
    for marks, other in ((walk.alone[0], walk.seam.second), (walk.alone[1], walk.seam.first)):
        for mark in marks:
            lost, slipped = slip_of(walk, mark, of_first=other is walk.seam.second)
            if lost is not None and (lost, mark) in told:
                continue
            told.add((mark, lost))
            yield Observation(
                code="unmatched",
                deviation=slipped,
                tolerance=seam_tolerance(context, walk) if slipped is not None else None,
                allowed=(0.0, 0.0) if slipped is not None else None,
                at=mark.at,
                subject=mark.subject,
                seam=walk.name,
                pieces=(mark.edge.split(".")[0],),
                edges=(mark.edge,),
                facts={
                    "edge": mark.edge,
                    "kind": _count(mark),
                    "station": Length(mark.station),
                    "end": walk_end(walk, 0),
                    "other": other.words,
                    "missed": Length(abs(slipped or 0.0)),
                },
                clauses=("near",) if slipped is not None else (),
            )


def _turned(walk: Walk) -> Observation:
    """A seam that was written the wrong way round: what else is off there follows from that."""
    second = walk.seam.second
    back = [replace(use, backwards=not use.backwards) for use in reversed(second.uses)]
    return Observation(
        code="turned",
        at=walk.seam.first.place(0.0),
        seam=walk.name,
        pieces=pieces_of(walk),
        edges=edges_of(walk),
        facts={
            "seam": Name(walk.name),
            "first_end": Name(".".join(walk.seam.first.boundaries[0].corners[0])),
            "second_end": Name(".".join(second.boundaries[0].corners[0])),
            "other_end": Name(".".join(second.boundaries[-1].corners[0])),
            "written": Listed(tuple(map(Name, second.names)), between=", ", last=", "),
            "turned": Listed(tuple(Name(str(use)) for use in back), between=", ", last=", "),
        },
    )


def _slipped(context: Context, walk: Walk) -> Iterator[Observation]:
    """Notches that miss their mates; neighbours that slipped by one amount are one observation."""
    for group in _moved_together(walk):
        worst = _worst(group)
        first, second = worst.first, worst.second
        facts: dict[str, Fact] = {
            "first": first.edge,
            "second": second.edge,
            "amount": Length(abs(worst.off)),
            "place": _place(walk, worst),
            "toward": walk_end(walk, 0 if worst.off < 0 else -1),
            "first_station": Length(first.station),
            "second_station": Length(second.station),
            "start": walk_end(walk, 0),
            "number": len(group),
        }
        yield Observation(
            code="station",
            deviation=worst.off,
            uncertainty=walk.uncertainty,
            tolerance=seam_tolerance(context, walk),
            allowed=(0.0, 0.0),
            at=first.at,
            subject=first.subject or second.subject,
            seam=walk.name,
            facts=facts,
            clauses=_likely(walk, group, band(context, walk), facts),
            pieces=pieces_of(walk),
            edges=edges_of(walk),
        )


def slip_of(walk: Walk, mark: NotchOrJoint, *, of_first: bool) -> tuple[NotchOrJoint | None, float | None]:
    """What was perhaps the mate of a notch that has none, and by how many mm it misses that; None where nothing could have been.

    That is a mark near it on the other side that has no mate either, or has one of fewer notches: two slipped together there.
    """
    from seamcheck.pattern.walk import FAR, pair_of_marks, side_marks

    here, there = (0, 1) if of_first else (1, 0)
    pairs = [(match.first, match.second) for match in walk.matches]
    mated = {(mark.edge, mark.station) for pair in pairs for mark in pair}
    free = list(walk.alone[there])
    sides = (walk.seam.first, walk.seam.second)
    free += [one for one in side_marks(sides[there]) if one.joint and (one.edge, one.station) not in mated]
    free += [pair[there] for pair in pairs if not pair[here].joint and pair[there].count > pair[here].count]
    missed = [(one, pair_of_marks(walk.seam, *((mark, one) if of_first else (one, mark))).off) for one in free]
    near = [(one, off) for one, off in missed if EXACT < abs(off) <= 2 * FAR]
    return least(near, key=lambda one: abs(one[1])) if near else (None, None)


def _moved_together(walk: Walk) -> list[list[Match]]:
    """The matches of a seam, neighbours that slipped by one amount in one group."""
    together: list[list[Match]] = []
    for match in walk.matches:
        if together and abs(together[-1][-1].off - match.off) <= SAME_SLIP:
            together[-1].append(match)
        else:
            together.append([match])
    return together


def _worst(group: list[Match]) -> Match:
    """The match of a group that is told: the one that slipped furthest."""
    return most(group, key=lambda match: abs(match.off))


def _likely(walk: Walk, group: list[Match], tolerance: float, facts: dict[str, Fact]) -> tuple[str, ...]:
    """What probably made these notches slip: one alone in a seam that meets, or two changes of which one took back the other."""
    if abs(walk.deviation) > tolerance / 2:
        return ("together",) if len(group) > 1 else ()
    others = [match for match in walk.matches if match not in group]
    if any(abs(match.off) > tolerance / 2 for match in others):
        return ("together",) if len(group) > 1 else ()
    if len(group) == 1:
        return ("alone",)
    first, last = (walk.matches.index(group[k]) for k in (0, -1))
    facts |= {
        "step_from": walk.spans[first].before,
        "step_to": walk.spans[first].after,
        "back_from": walk.spans[last + 1].before,
        "back_to": walk.spans[last + 1].after,
    }
    return "together", "steps"


def walk_end(walk: Walk, which: int) -> str:
    """An end of a walk in words."""
    from seamcheck.pattern.walk import end_name

    return end_name(walk.seam, which)


def _place(walk: Walk, match: Match) -> Fact:
    from seamcheck.pattern.walk import notch_name

    return notch_name(walk.seam, match)


def _count(mark: NotchOrJoint) -> str:
    return {1: "single", 2: "double", 3: "triple"}.get(mark.count, f"{mark.count}-fold")


NOTCH_MATCH = Check(
    name="notch-match",
    family="seams",
    meaning="every notch has its mate at the same station, of the same count, measured from both ends",
    why="Notches tell the person at the machine which points come together. A notch that misses its mate pulls knee or hip "
    "out of place, or makes a sewist trim what was right.",
    remedy="Walk the seam from its nearer end and carry each notch over from the piece that was not altered. Mark single "
    "notches on front pieces and double ones on back pieces alike on both sides of a seam.",
    source="common practice, no source; matching distances from seam start to each notch: the tolerance is that of seam-length",
    tolerance=SIXTEENTH,
    unit=Unit.LENGTH,
    repeats=("notch-match/turned",),
    tolerance_like="seam-length",
    codes=(
        Code(
            name="station",
            meaning="a notch and its mate do not come together",
            message="{place}: the notch of {first} lies {amount} too near {toward} to meet its mate on {second}.",
            advice="From {start} the notch lies at {first_station} on {first} and at {second_station} on {second}. "
            "Move the notch of the altered piece so that both agree.",
            clauses={
                "together": "{number} neighbouring notches missed their mates by the same amount: they moved together.",
                "alone": "All else in the seam meets: likely this one notch was misplaced.",
                "steps": "Likely one side was altered between {step_from} and {step_to}, and as much given back between {back_from} "
                "and {back_to}.",
            },
            facts=(
                "place",
                "first",
                "amount",
                "toward",
                "second",
                "start",
                "first_station",
                "second_station",
                "number",
                "step_from",
                "step_to",
                "back_from",
                "back_to",
            ),
        ),
        Code(
            name="count",
            meaning="a notch and its mate differ in kind",
            message="{place}: the notch of {first} is {first_count}, its mate on {second} is {second_count}.",
            advice="Make both single or both double, as the rest of the pattern does.",
            facts=("place", "first", "first_count", "second", "second_count"),
            severity=Severity.WARNING,
        ),
        Code(
            name="unmatched",
            meaning="a notch has no mate on the other side",
            message="The {kind} notch of {edge}, {station} from {end} of the seam, has no mate on {other}.",
            advice="Carry the notch over to {other} at the same distance from the same end, or take it away if it has no use.",
            clauses={"near": "What may have been its mate there lies {missed} from it."},
            facts=("kind", "edge", "station", "end", "other", "missed"),
        ),
        Code(
            name="turned",
            meaning="all notches would meet if one side were walked from its other end",
            message="Seam {seam} is probably written the wrong way round: it lays {second_end} on {first_end}, and all its notches "
            "meet with {other_end} there.",
            advice="In the plan walk the second side from its other end: write {turned} in place of {written} in its sew = [...]. "
            "If it is right as it is, the notches of one side are marked from the wrong end.",
            facts=("seam", "second_end", "first_end", "other_end", "turned", "written"),
            severity=Severity.ERROR,
        ),
    ),
    run=_notch_match,
)

CHECKS = (SEAM_LENGTH, SEAM_SPAN, NOTCH_MATCH)

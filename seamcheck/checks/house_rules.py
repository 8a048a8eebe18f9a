"""The rules of a shop as checks like any other: measured on the pieces of one size, graded by the bands."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from fnmatch import fnmatchcase
from pathlib import PurePath
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.amounts import Angle, Fact, Length, Listed, Name, Number, Phrase, Reason, Unit, count, phrase, worded
from seamcheck.checks.base import Check, Code, Context, LookedAt, Observation, Severity, Skip
from seamcheck.config.rule_expressions import (
    Amount,
    Binary,
    Call,
    Expression,
    NamedPart,
    Negated,
    Relation,
    ValueKind,
)
from seamcheck.config.rule_keys import EACH, ERROR, FACTS, MISSING
from seamcheck.config.rule_language import named
from seamcheck.spelling import UnknownNameError, nearest

if TYPE_CHECKING:
    from seamcheck.config.rules import Rule
    from seamcheck.pattern.model import Corner, Edge, Piece
    from seamcheck.pattern.seam_graph import SeamGraph
    from seamcheck.pattern.seams import Seam, Side

FAMILY = "rules of the shop"
NOTHING = 1e-6  # mm or degrees: what is smaller is the last bits of a float
_UNITS = {ValueKind.LENGTH: Unit.LENGTH, ValueKind.ANGLE: Unit.ANGLE, ValueKind.NUMBER: None}
# Where the right side is measured too, its amount is told; where it is a fixed amount, it stands in the rule.
_FIXED = "{left} measures {measured}, {amount} {than} {right}."
_COMPUTED = "{left} measures {measured} and {right} comes to {wanted}: {amount} {too}."
_BECAUSE = "The rule stands because: {because}"
_NAME = "Put the name right in {path}, or give it to what it means in the plan."
_ADVICE = "Measure again and redraw what was altered, so that this holds: {rule}."


class NotMeasuredError(ValueError):
    """What an expression speaks of is not in this pattern, or cannot be measured; `reason` says why."""

    def __init__(self, code: str, words: Phrase | str) -> None:
        """Keep the reason."""
        self.reason = Reason(code, worded(words))
        super().__init__(str(words))


class MissingNameError(NotMeasuredError):
    """An expression names what this pattern does not have; the reason says what it has."""


class _One(NamedTuple):
    """A seam, a piece or an edge that a rule is for: the parts of its name, and the whole of it."""

    names: tuple[str, ...] = ()
    name: str = ""


def rule_check(rule: Rule, path: str) -> Check:
    """The check of a rule that stands in the settings file `path`."""
    kind = rule.holds.kind
    figures = _COMPUTED if any(replace(rule.holds, left=Amount(0.0, kind)).places) else _FIXED
    clauses = {"figures": figures} if rule.message else {}
    clauses |= {"because": _BECAUSE} if rule.why else {}

    def code(name: str) -> Code:
        return Code(
            name=name,
            meaning=f"the left side is {name} than it should be",
            message=rule.message or figures,
            advice=rule.advice or _ADVICE,
            clauses=clauses,
            facts=(*FACTS, "rule", "than", "too", *(["because"] if rule.why else [])),
            severity=Severity.WARNING if kind is ValueKind.NUMBER else None,
        )

    missing = Code(
        name=MISSING,
        meaning="the rule names a piece, edge, corner or seam that the pattern does not have",
        message="The rule {rule} cannot be measured: {why}.",
        advice=_NAME,
        facts=("rule", "why", "path"),
        severity=Severity.ERROR,
    )
    codes = (code("less"), code("more"))
    return Check(
        name=rule.name,
        family=FAMILY,
        meaning=_meaning(rule),
        why=rule.why or "The shop wants it so.",
        remedy=rule.advice if rule.advice and "{" not in rule.advice else _ADVICE.format(rule=rule.holds.text),
        source=f"house rule, {path}{f', {rule.place}' if rule.place else ''}",
        tolerance=rule.tolerance if _UNITS[kind] else None,
        unit=_UNITS[kind],
        codes=(*codes, missing) if rule.missing == ERROR else codes,
        run=lambda context: _run(rule, context, path),
    )


def _meaning(rule: Rule) -> str:
    """What holds, for which of them, where and in which size."""
    like = f" called {_either(rule.matches)}" if rule.matches else ""
    each = f", for each {rule.each}{like}" if rule.each else ""
    where = f", where {rule.when.text}" if rule.when else ""
    size = f" (in size {_either(rule.sizes)})" if rule.sizes else ""
    return f"{rule.holds.text}{each}{where}{size}"


def _either(names: tuple[str, ...]) -> Listed:
    return Listed(tuple(map(Name, names)), last=" or ")


def _run(rule: Rule, context: Context, path: str) -> Iterator[Observation | LookedAt | Skip]:
    yield LookedAt()  # also where nothing is asked of this pattern or of this size
    if rule.patterns and not _is_about(rule, context):
        return
    if rule.sizes and context.size not in rule.sizes:
        if not set(rule.sizes) & set(context.pattern.sizes):
            why = phrase("the rule holds in size {sizes}, which the file does not have", sizes=_either(rule.sizes))
            yield Skip(reason="size-missing", why=why)
        return
    try:
        each = list(_each(rule, context)) if rule.each else [_One()]
    except MissingNameError as error:
        yield _missed(rule, error, context, path)
        return
    for one in each:
        yield from _held_against(rule, one, context, path)


def _each(rule: Rule, context: Context) -> Iterator[_One]:
    """Every seam, piece or edge that the rule is for; MissingNameError where there is none."""
    called: dict[_One, tuple[str, ...]] = {}
    if rule.each == "seam":
        seams = (*(seam.name for seam in context.graph.seams), *context.graph.lost)
        called = {_One((name,), name): (name,) for name in seams}
    for name, piece in context.pieces.items() if rule.each != "seam" else ():
        if rule.each == "piece":
            called[_One((name,), name)] = (name, piece.in_file)
        else:
            edges = dict.fromkeys((*(edge.name for edge in piece.edges), *piece.lost_edges))
            for edge in edges:
                whole = f"{name}.{edge}"
                called[_One((name, edge), whole)] = (whole,)
    found = [one for one, names in called.items() if not rule.matches or _is_like(names, rule.matches)]
    if not found and rule.matches:
        known = [names[0] for names in called.values()]
        raise _missing(f"no {rule.each} has a name like", rule.matches[0], known, rule.each)
    if not found:
        raise MissingNameError(f"{rule.each}-missing", f"the pattern has no {rule.each}")
    yield from found


def _is_like(names: Collection[str], masks: Collection[str]) -> bool:
    return any(fnmatchcase(name.casefold(), mask.casefold()) for name in names for mask in masks)


def _held_against(rule: Rule, one: _One, context: Context, path: str) -> Iterator[Observation | Skip]:
    """Hold a rule against the pattern, or against the seam, piece or edge that it is for."""
    when = rule.when.filled(one.names) if rule.when is not None else None
    of_one = replace(rule, holds=rule.holds.filled(one.names), when=when)
    try:
        if when is None or abs(_compared(when, context)[0]) <= NOTHING:
            yield from _observed(of_one, one.name, context)
    except MissingNameError as error:
        yield _missed(of_one, error, context, path, one.name)
    except NotMeasuredError as error:
        yield _unmeasured(error, rule.each, one.name)


def _unmeasured(error: NotMeasuredError, each: str, name: str) -> Skip:
    """Why a rule cannot be measured, of the seam, piece or edge of this name where it is for each of them."""
    seam, piece, edge = (name if each == of and name else None for of in EACH)
    return Skip(reason=error.reason.code, why=error.reason.words, seam=seam, piece=piece, edge=edge)


def _missed(rule: Rule, error: MissingNameError, context: Context, path: str, name: str = "") -> Observation | Skip:
    if rule.missing != ERROR:
        return _unmeasured(error, rule.each, name)
    spoken = [place.names[0] for place in rule.holds.places if place.of != "seam"]
    stands = phrase("{path}, {place}", path=path, place=str(rule.place)) if rule.place else path
    return Observation(
        code=MISSING,
        pieces=tuple(dict.fromkeys(name for name in spoken if name in context.pieces)),
        facts={"rule": phrase('"{rule}"', rule=rule.holds.text), "why": error.reason.words, "path": stands},
    )


def _is_about(rule: Rule, context: Context) -> bool:
    names = [context.pattern.name, PurePath(context.pattern.path).name]
    names += [context.plan.name] if context.plan else []
    return _is_like(names, rule.patterns)


def _compared(holds: Relation, context: Context) -> tuple[float, float, tuple[float, float]]:
    """By how much a comparison is missed, what its left side comes to, and the least and the most that it may."""
    left, right = (measure(one, context.pieces, context.graph) for one in (holds.left, holds.right))
    upto = right if holds.upto is None else measure(holds.upto, context.pieces, context.graph)
    low = float("-inf") if holds.sign == "<=" else right
    high = float("inf") if holds.sign == ">=" else upto
    deviation = left - low if left < low else left - high if left > high else 0.0
    return deviation, left, (low, high)


def _observed(rule: Rule, at_hand: str, context: Context) -> Iterator[Observation]:
    holds = rule.holds
    deviation, left, (low, high) = _compared(holds, context)
    if holds.kind is ValueKind.NUMBER and abs(deviation) <= rule.tolerance + 1e-9:
        return
    missed, text = (low, holds.right_text) if deviation < 0 else (high, holds.upto_text or holds.right_text)
    mentioned = holds.places

    def told(text: str) -> str:
        return named(text, rule.each, at_hand) if rule.each else text

    facts: dict[str, Fact] = {
        "rule": told(holds.text),
        "left": told(holds.left_text),
        "right": told(text),
        "measured": _said(left, holds.kind),
        "wanted": _said(missed, holds.kind),
        "amount": _said(abs(deviation), holds.kind),
        "than": "less than" if deviation < 0 else "more than",
        "too": "too little" if deviation < 0 else "too much",
    }
    if rule.why:
        facts["because"] = rule.why if rule.why.endswith((".", "!", "?")) else f"{rule.why}."
    yield Observation(
        code="less" if deviation < 0 else "more",
        deviation=None if holds.kind is ValueKind.NUMBER else deviation,
        allowed=None if holds.kind is ValueKind.NUMBER or holds.sign != "between" else (low, high),
        at=next((_point(place, context) for place in mentioned), None),
        pieces=tuple(dict.fromkeys(place.names[0] for place in mentioned if place.of != "seam")),
        edges=tuple(str(place) for place in mentioned if place.of == "edge"),
        seam=next((place.names[0] for place in mentioned if place.of == "seam"), None),
        clauses=(*(["figures"] if rule.message else []), *(["because"] if rule.why else [])),
        facts=facts,
    )


def _said(value: float, kind: ValueKind) -> Fact:
    if kind is ValueKind.LENGTH:
        return Length(value)
    return Angle(value) if kind is ValueKind.ANGLE else Number(value)


def measure(expression: Expression, pieces: Mapping[str, Piece], graph: SeamGraph) -> float:
    """What an expression comes to in one size, in mm, degrees or as a plain number; NotMeasuredError when it cannot be."""
    if isinstance(expression, Amount):
        return expression.value
    if isinstance(expression, Negated):
        return -measure(expression.inner, pieces, graph)
    if isinstance(expression, Binary):
        left, right = measure(expression.left, pieces, graph), measure(expression.right, pieces, graph)
        return _joined(expression.sign, left, right)
    values = [measure(one, pieces, graph) for one in expression.arguments]
    if expression.function == "abs":
        return abs(values[0])
    if not expression.places:
        return {"min": min, "max": max}[expression.function](values)
    if expression.places[0].of == "seam":
        return _of_seam(expression, _seam(expression.places[0], graph), values)
    return _measured(expression, pieces, values)


def _joined(sign: str, left: float, right: float) -> float:
    if sign == "+":
        return left + right
    if sign == "-":
        return left - right
    if sign == "*":
        return left * right
    if abs(right) < NOTHING:
        raise NotMeasuredError("divides-by-nothing", "the rule divides by something that measures 0 here")
    return left / right


def _seam(place: NamedPart, graph: SeamGraph) -> Seam:
    name = place.names[0]
    for seam in graph.seams:
        if seam.name == name:
            return seam
    if name in graph.lost:
        lost = graph.lost[name]
        raise NotMeasuredError(lost.code, phrase("seam {seam}: {why}", seam=Name(name), why=lost.words))
    raise _missing("there is no seam", name, [seam.name for seam in graph.seams], "seam")


def _of_seam(call: Call, seam: Seam, values: Sequence[float]) -> float:
    sides = seam.first, seam.second
    if call.function == "length":
        return min(side.length for side in sides)
    if call.function == "notches":
        return min(_counted(_stations(side), side.length, call, values) for side in sides)
    return seam.first.length - seam.second.length


def _stations(side: Side) -> list[float]:
    """How far along a side of a seam its notches lie, in mm."""
    return [
        offset + (edge.length - notch.station if use.backwards else notch.station)
        for use, edge, offset in zip(side.uses, side.edges, side.offsets, strict=True)
        for notch in edge.notches
    ]


def _counted(stations: Sequence[float], length: float, call: Call, values: Sequence[float]) -> int:
    """How many notches lie between two shares of the length, or two lengths; all where none are given."""
    if not values:
        return len(stations)
    unit = length if call.arguments[0].kind is call.arguments[1].kind is ValueKind.NUMBER else 1.0
    low, high = (value * unit for value in values)
    return sum(low - NOTHING <= station <= high + NOTHING for station in stations)


def _missing(what: str, name: str, known: Collection[str], kind: str, **facts: Fact) -> MissingNameError:
    """The error for a name that the pattern does not have; `what` says where it was looked for."""
    why = phrase(f'{what} "{{name}}"; {{remedy}}', name=Name(name), remedy=nearest(name, known, kind), **facts)
    return MissingNameError(f"{kind}-missing", why)


def _measured(call: Call, pieces: Mapping[str, Piece], values: Sequence[float]) -> float:
    piece = _piece(call.places[0], pieces)
    if call.function in ("length", "notches", "notch"):
        edge = _edge(call.places[0], pieces)
        stations = sorted(notch.station for notch in edge.notches)
        if call.function == "notch":
            return _station(stations, int(values[0]), call.places[0])
        return edge.length if call.function == "length" else _counted(stations, edge.length, call, values)
    if call.function == "distance":
        first, second = (_corner(place, pieces).at for place in call.places)
        return abs(first - second)
    if call.function == "angle":
        return _corner(call.places[0], pieces).angle
    if call.function == "intake":
        if not piece.darts:
            raise NotMeasuredError("no-dart", phrase("piece {piece} has no dart", piece=Name(piece.name)))
        return sum(dart.intake for dart in piece.darts)
    return _extent(piece, along=call.function == "height")


def _station(stations: Sequence[float], number: int, place: NamedPart) -> float:
    if number > len(stations):
        has = count(len(stations), "notch", "notches") if stations else "no notch"
        why = phrase("edge {edge} has {has}, so none is number {number}", edge=Name(place), has=has, number=number)
        raise MissingNameError("notch-missing", why)
    return stations[number - 1]


def _extent(piece: Piece, *, along: bool) -> float:
    """How far a piece reaches along its grain arrow, or across it."""
    from seamcheck.geometry.curve import Affine

    grain = max(piece.grainlines, key=lambda one: round(one.length, 6), default=None)
    if grain is None:
        why = phrase("piece {piece} has no grain arrow to measure along or across", piece=Name(piece.name))
        raise NotMeasuredError("no-grain", why)
    x0, y0, x1, y1 = piece.outline.transformed(Affine.rotation(-grain.angle)).bounds()
    return x1 - x0 if along else y1 - y0


def _piece(place: NamedPart, pieces: Mapping[str, Piece]) -> Piece:
    name = place.names[0]
    if name not in pieces:
        raise _missing("there is no piece", name, list(pieces), "piece")
    return pieces[name]


def _edge(place: NamedPart, pieces: Mapping[str, Piece]) -> Edge:
    piece, name = _piece(place, pieces), place.names[1]
    if name in piece.lost_edges:
        why = phrase("edge {edge}: {why}", edge=Name(place), why=piece.lost_edges[name])
        raise NotMeasuredError("edge-unsure", why)
    try:
        return piece.edge(name)
    except UnknownNameError:
        known = [edge.name for edge in piece.edges]
        raise _missing("piece {piece} has no edge", name, known, "edge", piece=Name(piece.name)) from None


def _corner(place: NamedPart, pieces: Mapping[str, Piece]) -> Corner:
    piece, name = _piece(place, pieces), place.names[1]
    try:
        return piece.corner(name)
    except UnknownNameError:
        known = [corner.name for corner in piece.corners]
        raise _missing("piece {piece} has no corner", name, known, "corner", piece=Name(piece.name)) from None


def _point(place: NamedPart, context: Context) -> complex:
    """Where a person finds a place in the drawing: the middle of an edge or a seam, a corner, the middle of a piece."""
    if place.of == "seam":
        side = _seam(place, context.graph).first
        return side.place(side.length / 2)
    if place.of == "edge":
        edge = _edge(place, context.pieces)
        return edge.point(edge.length / 2)
    if place.of == "corner":
        return _corner(place, context.pieces).at
    x0, y0, x1, y1 = _piece(place, context.pieces).outline.bounds()
    return complex((x0 + x1) / 2, (y0 + y1) / 2)

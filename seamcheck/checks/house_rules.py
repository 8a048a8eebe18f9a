"""The rules of a shop as checks like any other: measured on the pieces of one size, graded by the bands."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from fnmatch import fnmatchcase
from pathlib import PurePath
from typing import TYPE_CHECKING

from seamcheck.amounts import Angle, Fact, Length, Listed, Name, Number, Phrase, Reason, Unit, phrase, worded
from seamcheck.checks.base import Check, Code, Context, LookedAt, Observation, Severity, Skip
from seamcheck.config.rule_keys import ERROR, FACTS, MISSING
from seamcheck.config.rule_language import (
    Amount,
    Binary,
    Call,
    Expression,
    NamedPart,
    Negated,
    ValueKind,
    places,
)
from seamcheck.spelling import UnknownNameError, nearest

if TYPE_CHECKING:
    from seamcheck.config.rules import Rule
    from seamcheck.pattern.model import Corner, Edge, Piece
    from seamcheck.pattern.seam_graph import SeamGraph

FAMILY = "rules of the shop"
NOTHING = 1e-6  # mm or degrees: what is smaller is the last bits of a float
_UNITS = {ValueKind.LENGTH: Unit.LENGTH, ValueKind.ANGLE: Unit.ANGLE, ValueKind.NUMBER: None}
# Where the right side is measured too, its amount is told; where it is a fixed amount, it stands in the rule.
_FIXED = "{left} measures {measured}, {amount} {than} {right}."
_COMPUTED = "{left} measures {measured} and {right} comes to {wanted}: {amount} {too}."
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


def rule_check(rule: Rule, path: str) -> Check:
    """The check of a rule that stands in the settings file `path`."""
    kind = rule.holds.kind
    figures = _COMPUTED if any(_places_of_right(rule)) else _FIXED

    def code(name: str) -> Code:
        return Code(
            name=name,
            meaning=f"the left side is {name} than it should be",
            message=rule.message or figures,
            advice=rule.advice or _ADVICE,
            clauses={"figures": figures} if rule.message else {},
            facts=(*FACTS, "rule", "than", "too"),
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
        meaning=f"{rule.holds.text}{f' (in size {_either(rule.sizes)})' if rule.sizes else ''}",
        why=rule.why or "The shop wants it so.",
        remedy=rule.advice if rule.advice and "{" not in rule.advice else _ADVICE.format(rule=rule.holds.text),
        source=f"house rule, {path}{f', {rule.place}' if rule.place else ''}",
        tolerance=rule.tolerance if _UNITS[kind] else None,
        unit=_UNITS[kind],
        codes=(*codes, missing) if rule.missing == ERROR else codes,
        run=lambda context: _run(rule, context, path),
    )


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
        yield from _observed(rule, context)
    except MissingNameError as error:
        if rule.missing != ERROR:
            yield Skip(reason=error.reason.code, why=error.reason.words)
            return
        spoken = [place.names[0] for place in _places_of(rule) if place.of != "seam"]
        stands = phrase("{path}, {place}", path=path, place=str(rule.place)) if rule.place else path
        yield Observation(
            code=MISSING,
            pieces=tuple(dict.fromkeys(name for name in spoken if name in context.pieces)),
            facts={"rule": phrase('"{rule}"', rule=rule.holds.text), "why": error.reason.words, "path": stands},
        )
    except NotMeasuredError as error:
        yield Skip(reason=error.reason.code, why=error.reason.words)


def _is_about(rule: Rule, context: Context) -> bool:
    names = [context.pattern.name, PurePath(context.pattern.path).name]
    names += [context.plan.name] if context.plan else []
    return any(fnmatchcase(name.casefold(), mask.casefold()) for name in names for mask in rule.patterns)


def _observed(rule: Rule, context: Context) -> Iterator[Observation]:
    holds = rule.holds
    left = measure(holds.left, context.pieces, context.graph)
    right = measure(holds.right, context.pieces, context.graph)
    upto = right if holds.upto is None else measure(holds.upto, context.pieces, context.graph)
    low = float("-inf") if holds.sign == "<=" else right
    high = float("inf") if holds.sign == ">=" else upto
    deviation = left - low if left < low else left - high if left > high else 0.0
    if holds.kind is ValueKind.NUMBER and abs(deviation) <= rule.tolerance + 1e-9:
        return
    missed, text = (low, holds.right_text) if deviation < 0 else (high, holds.upto_text or holds.right_text)
    mentioned = _places_of(rule)
    facts: dict[str, Fact] = {
        "rule": holds.text,
        "left": holds.left_text,
        "right": text,
        "measured": _said(left, holds.kind),
        "wanted": _said(missed, holds.kind),
        "amount": _said(abs(deviation), holds.kind),
        "than": "less than" if deviation < 0 else "more than",
        "too": "too little" if deviation < 0 else "too much",
    }
    yield Observation(
        code="less" if deviation < 0 else "more",
        deviation=None if holds.kind is ValueKind.NUMBER else deviation,
        allowed=None if holds.kind is ValueKind.NUMBER or holds.sign != "between" else (low, high),
        at=next((_point(place, context.pieces) for place in mentioned if place.of != "seam"), None),
        pieces=tuple(dict.fromkeys(place.names[0] for place in mentioned if place.of != "seam")),
        edges=tuple(str(place) for place in mentioned if place.of == "edge"),
        seam=next((place.names[0] for place in mentioned if place.of == "seam"), None),
        clauses=("figures",) if rule.message else (),
        facts=facts,
    )


def _said(value: float, kind: ValueKind) -> Fact:
    if kind is ValueKind.LENGTH:
        return Length(value)
    return Angle(value) if kind is ValueKind.ANGLE else Number(value)


def _places_of(rule: Rule) -> list[NamedPart]:
    return list(dict.fromkeys((*places(rule.holds.left), *_places_of_right(rule))))


def _places_of_right(rule: Rule) -> Iterator[NamedPart]:
    yield from places(rule.holds.right)
    if rule.holds.upto is not None:
        yield from places(rule.holds.upto)


def measure(expression: Expression, pieces: Mapping[str, Piece], graph: SeamGraph) -> float:
    """What an expression comes to in one size, in mm, degrees or as a plain number; NotMeasuredError when it cannot be."""
    if isinstance(expression, Amount):
        return expression.value
    if isinstance(expression, Negated):
        return -measure(expression.inner, pieces, graph)
    if isinstance(expression, Binary):
        left, right = measure(expression.left, pieces, graph), measure(expression.right, pieces, graph)
        return _joined(expression.sign, left, right)
    if expression.arguments:
        values = [measure(one, pieces, graph) for one in expression.arguments]
        return (
            abs(values[0]) if expression.function == "abs" else {"min": min, "max": max}[expression.function](values)
        )
    if expression.function == "difference":
        return _difference(expression.places[0], graph)
    return _measured(expression, pieces)


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


def _difference(place: NamedPart, graph: SeamGraph) -> float:
    name = place.names[0]
    for seam in graph.seams:
        if seam.name == name:
            return seam.first.length - seam.second.length
    if name in graph.lost:
        lost = graph.lost[name]
        raise NotMeasuredError(lost.code, phrase("seam {seam}: {why}", seam=Name(name), why=lost.words))
    raise _missing("there is no seam", name, [seam.name for seam in graph.seams], "seam")


def _missing(what: str, name: str, known: Collection[str], kind: str, **facts: Fact) -> MissingNameError:
    """The error for a name that the pattern does not have; `what` says where it was looked for."""
    why = phrase(f'{what} "{{name}}"; {{remedy}}', name=Name(name), remedy=nearest(name, known, kind), **facts)
    return MissingNameError(f"{kind}-missing", why)


def _measured(call: Call, pieces: Mapping[str, Piece]) -> float:
    piece = _piece(call.places[0], pieces)
    if call.function in ("length", "notches"):
        edge = _edge(call.places[0], pieces)
        return edge.length if call.function == "length" else len(edge.notches)
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


def _point(place: NamedPart, pieces: Mapping[str, Piece]) -> complex:
    """Where a person finds a place in the drawing: the middle of an edge, a corner, the middle of a piece."""
    if place.of == "edge":
        edge = _edge(place, pieces)
        return edge.point(edge.length / 2)
    if place.of == "corner":
        return _corner(place, pieces).at
    x0, y0, x1, y1 = _piece(place, pieces).outline.bounds()
    return complex((x0 + x1) / 2, (y0 + y1) / 2)

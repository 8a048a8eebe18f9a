"""A shop's own rules in its settings, without a line of Python: their keys, and how they are read.

What stands in `holds` is told in `rule_language`; `seamcheck explain rules` tells both. A rule is walked as a tree; nothing
of it is ever run by Python, and what is compared with what (length, angle, number) is settled when the settings are read.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from seamcheck.amounts import UNITS, facts_in
from seamcheck.config.rule_expressions import Expression, Relation, ValueKind
from seamcheck.config.rule_keys import (
    ANGLE_TOLERANCE,
    EACH,
    ERROR,
    FACTS,
    LENGTH_TOLERANCE,
    NUMBER_TOLERANCE,
    RULE,
    SKIP,
)
from seamcheck.config.rule_language import RuleSyntaxError, parse_expression, parse_rule
from seamcheck.places import Place

if TYPE_CHECKING:
    from seamcheck.config.toml import Table
    from seamcheck.errors import SeamcheckError

NAME = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
EXAMPLES = {"seam": "length(seam)", "piece": "height(piece)", "edge": "length(edge)"}
DEEPEST = 20  # measures defined by measures
DEFAULT_TOLERANCES: Mapping[ValueKind, float] = {
    ValueKind.LENGTH: LENGTH_TOLERANCE,
    ValueKind.ANGLE: ANGLE_TOLERANCE,
    ValueKind.NUMBER: NUMBER_TOLERANCE,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule: what holds, and what is said when it does not. `tolerance` is in mm, degrees or as a plain number.

    `severity` is None where the bands decide. Empty `sizes` or `patterns` are all. `missing` is what becomes of it where
    a pattern does not have what it names: "skip" or "error". With `each` it is held against every seam, piece or edge, or those whose name
    is like one of `matches`; `when` says where it holds.
    """

    name: str
    holds: Relation
    tolerance: float
    severity: str | None = None
    sizes: tuple[str, ...] = ()
    patterns: tuple[str, ...] = ()
    each: str = ""
    matches: tuple[str, ...] = ()
    when: Relation | None = None
    missing: str = SKIP
    message: str = ""
    advice: str = ""
    why: str = ""
    place: Place = field(default=Place(""))


def read_rules(top: Table, units: str | None, severities: tuple[str, ...]) -> tuple[Rule, ...]:
    """Read `[measures]` and `[[rules]]`; the table's error, with line and column, for what cannot be used."""
    measures = _Measures(top.table("measures"))
    rules: dict[str, Rule] = {}
    for table in top.tables("rules"):
        rule = _rule(table, measures, UNITS[units or "mm"], severities)
        if rule.name in rules:
            raise table.wrong(
                f'a second rule is called "{rule.name}" (the first is on {rules[rule.name].place})',
                "name",
                remedy="give each rule a name of its own",
            )
        rules[rule.name] = rule
    measures.read_all()
    return tuple(rules.values())


class _Measures:
    """The shop's measures: each read when it is first spoken of, and all in the end."""

    def __init__(self, table: Table) -> None:
        self.tables: dict[str, tuple[Table, str]] = {}
        self.read: dict[str, Expression] = {}
        self.under_way: list[str] = []
        self._gather(table, ())

    def _gather(self, table: Table, before: tuple[str, ...]) -> None:
        """Names with a point may be written with or without quotes, and TOML makes tables of those without."""
        for key, value in table.values.items():
            name = ".".join((*before, key))
            if isinstance(value, dict) and not before:
                self._gather(table.table(key), (key,))
                continue
            table.text(key)
            if name in self.tables:
                raise table.wrong(f'the measure "{name}" is defined twice', key, remedy="keep one of them")
            self.tables[name] = table, key

    def define(self, name: str, at: int) -> Expression | None:
        """The measure of a name, for a rule that speaks of it; None when the shop defines none."""
        if name not in self.tables:
            return None
        if name in self.under_way:
            raise RuleSyntaxError(f'the measure "{name}" is defined by itself', at, "define it by edges of pieces")
        if len(self.under_way) >= DEEPEST:
            raise RuleSyntaxError("measures are defined by measures too deeply", at, "define it by edges of pieces")
        if name not in self.read:
            table, key = self.tables[name]
            self.under_way.append(name)
            self.read[name] = _parsed(table, key, lambda text: parse_expression(text, self.define))
            self.under_way.pop()
        return self.read[name]

    def read_all(self) -> None:
        """Read those that no rule speaks of, too: they may be wrong."""
        for name in self.tables:
            self.define(name, 0)


def _parsed(table: Table, key: str, parse: Callable[[str], Any]) -> Any:
    try:
        return parse(table.text(key) or "")
    except RuleSyntaxError as error:
        raise _wrong(table, key, error) from None


def _wrong(table: Table, key: str, error: RuleSyntaxError) -> SeamcheckError:
    place = table.letter(error.at, key)
    return table.error(f'in "{key}": {error.what}', path=table.path, place=place, remedy=error.remedy)


def _rule(table: Table, measures: _Measures, unit: float, severities: tuple[str, ...]) -> Rule:
    table.only(*RULE.keys)
    table.need("name", 'name = "band-fits-waist"')
    table.need("holds", 'holds = "band.lower = front.waist + back.waist"')
    name = table.text("name") or ""
    if not NAME.fullmatch(name):
        raise table.wrong(
            f'"{name}" is no name for a rule', "name", remedy="use small letters and digits, with - between words"
        )
    each = table.choice("for-each", EACH) or ""
    if not each and "matches" in table.values:
        remedy = 'write for-each = "piece" with it; which patterns the rule is for, "patterns" says'
        raise table.wrong('"matches" has nothing to match', "matches", remedy=remedy)

    def relation(key: str) -> Relation:
        read: Relation = _parsed(table, key, lambda text: parse_rule(text, measures.define, each))
        return read

    holds = relation("holds")
    if each and not any(place.at_hand for place in holds.places):
        remedy = f"write {each} where the name of one would stand, such as {EXAMPLES[each]}"
        raise table.wrong(f"the rule is for each {each} and does not speak of it", "holds", remedy=remedy)
    tolerance = table.number("tolerance")
    if tolerance is not None and (tolerance < 0 or (tolerance == 0 and holds.kind is not ValueKind.NUMBER)):
        raise table.wrong(
            f"the tolerance is {tolerance:g}", "tolerance", remedy="write a number greater than 0, however small"
        )
    if tolerance is None:
        tolerance = DEFAULT_TOLERANCES[holds.kind]
    elif holds.kind is ValueKind.LENGTH:
        tolerance *= unit
    return Rule(
        name=name,
        holds=holds,
        tolerance=tolerance,
        severity=table.choice("severity", severities),
        sizes=table.texts("sizes"),
        patterns=table.texts("patterns"),
        each=each,
        matches=table.texts("matches"),
        when=relation("when") if "when" in table.values else None,
        missing=table.choice("missing", (SKIP, ERROR)) or SKIP,
        message=_template(table, "message"),
        advice=_template(table, "advice"),
        why=table.text("why") or "",
        place=table.place("name"),
    )


def _template(table: Table, key: str) -> str:
    """A sentence that may name the facts in braces."""
    text = (table.text(key) or "").strip()
    for name in facts_in(text):
        if name not in FACTS:
            known = ", ".join(f"{{{fact}}}" for fact in FACTS)
            raise table.wrong(
                f'"{key}" names "{{{name}}}", which means nothing here', key, remedy=f"write one of {known}"
            )
    return text if not text or text.endswith((".", "!", "?")) else text + "."

"""The language that a shop writes its rules in: a comparison of measured lengths, angles and numbers.

The grammar is `GRAMMAR`, the functions are `FUNCTIONS`; `seamcheck explain rules` tells both. "front.waist" and "waist of
front" are the length of an edge that is sewn, darts closed. A name alone, or with a point, may also be a measure that the
shop has defined. A minus has spaces round it, because names may hold one. Whether
lengths are compared with lengths is seen when a rule is read, not when it is used. Nothing is evaluated here, and no
part of a rule is ever run as a program.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator, Mapping
from typing import NamedTuple

from seamcheck.config.rule_expressions import (
    UNITS,
    Amount,
    Binary,
    Call,
    Expression,
    NamedPart,
    Negated,
    Relation,
    ValueKind,
    is_nought,
)
from seamcheck.config.toml import LARGEST_NUMBER
from seamcheck.spelling import nearest

LONGEST = 1000  # letters
DEEPEST = 40  # brackets within brackets

GRAMMAR = """\
rule      = sum ( "=" | "<=" | ">=" ) sum
          | sum "between" sum "and" sum
sum       = product { ( "+" | "-" ) product }
product   = factor { ( "*" | "/" ) factor }
factor    = "-" factor | amount | "(" sum ")" | name "." name | name "of" name | name | function
amount    = number [ "mm" | "cm" | "in" | "degrees" | "%" ]
number    = digits [ "." digits ] | [ digits ] digits "/" digits       (a fraction must have a unit)
function  = name "(" argument { "," argument } ")"
name      = letters, digits and "_", with "-" between them | anything in quotes
"""


class RuleSyntaxError(ValueError):
    """What is wrong with a rule, at which letter of it (from 0), and what to do."""

    def __init__(self, what: str, at: int, remedy: str = "") -> None:
        """Keep the parts."""
        self.what = what
        self.at = at
        self.remedy = remedy
        super().__init__(what)


Define = Callable[[str, int], Expression | None]


class Function(NamedTuple):
    """What a function takes and gives, and what it means with an example.

    "edge", "corner", "piece" and "seam" are places, "line" an edge or the seam at hand, "any" is an expression and "which" a whole
    number from 1 on. What gives None gives what it was given. What it `may` take besides, it takes all or none of.
    """

    takes: tuple[str, ...]
    gives: ValueKind | None
    example: str
    meaning: str
    may: tuple[str, ...] = ()


FUNCTIONS: Mapping[str, Function] = {
    "length": Function(
        ("line",),
        ValueKind.LENGTH,
        "length(front.waist)",
        'of an edge that is sewn, darts closed, as drawn: a half on the fold is a half. "front.waist" alone and '
        '"waist of front" mean the same. Of a seam that of its shorter side, as it is when sewn',
    ),
    "distance": Function(
        ("corner", "corner"),
        ValueKind.LENGTH,
        "distance(front.side-waist, front.side-hem)",
        "straight from one corner to another",
    ),
    "angle": Function(("corner",), ValueKind.ANGLE, "angle(front.crotch-point)", "the inside angle of a corner"),
    "width": Function(("piece",), ValueKind.LENGTH, "width(front)", "of a piece, across its grain arrow"),
    "height": Function(("piece",), ValueKind.LENGTH, "height(front)", "of a piece, along its grain arrow"),
    "intake": Function(("piece",), ValueKind.LENGTH, "intake(back)", "what all darts of a piece take in"),
    "notch": Function(
        ("edge", "which"),
        ValueKind.LENGTH,
        "notch(front.outseam, 1)",
        "the station of a notch: how far along the edge it lies from where the edge begins, the first notch being 1",
    ),
    "notches": Function(
        ("line",),
        ValueKind.NUMBER,
        "notches(front.outseam)",
        "how many notches an edge has; of a seam how many both its sides have. notches(front.outseam, 1/3, 2/3) counts those in "
        "the middle third, notches(front.outseam, 0 mm, 50 mm) those near the beginning",
        ("any", "any"),
    ),
    "difference": Function(
        ("seam",), ValueKind.LENGTH, "difference(outseam)", "the first side of a seam minus the second"
    ),
    "abs": Function(("any",), None, "abs(difference(outseam))", "without its sign"),
    "min": Function(("any", "any"), None, "min(front.hem, back.hem)", "the smallest of two or more"),
    "max": Function(("any", "any"), None, "max(front.hem, back.hem)", "the largest of two or more"),
}


class _Token(NamedTuple):
    kind: str  # "number", "fraction", "name", "sign" or "end"
    text: str
    at: int
    end: int


_TOKEN = re.compile(
    r"""\s*(?:
      (?P<fraction>(?:\d+\s+)?\d+/\d+(?=\s*(?:mm|cm|in)\b))
    | (?P<number>\d+(?:\.\d+)?(?:(?![\w.])|(?=(?:mm|cm|in|degrees)\b)))
    | (?P<quoted>'[^'\n\r]*'|"[^"\n\r]*")
    | (?P<name>[^\W\d]\w*(?:-\w+)*)
    | (?P<sign><=|>=|==|!=|[-+*/().,=<>%])
    )""",
    re.VERBOSE,
)


def _tokens(text: str) -> Iterator[_Token]:
    at = 0
    while text[at:].strip():
        match = _TOKEN.match(text, at)
        if match is None or match.lastgroup is None:
            start = at + len(text[at:]) - len(text[at:].lstrip())
            number = re.match(r"[\w.]+", text[start:])
            if text[start].isdigit() and number:
                raise RuleSyntaxError(
                    f'"{number.group()}" is neither a number nor a name',
                    start,
                    'the units are mm, cm, in, degrees and %; put a name that begins with a digit in "quotes"',
                )
            if text[start] in "'\"":
                raise RuleSyntaxError("the quotes are not closed", start, "close them")
            raise RuleSyntaxError(f'"{text[start]}" means nothing in a rule', start, _SIGNS)
        kind, word = match.lastgroup, match.group(match.lastgroup)
        start = match.start(match.lastgroup)
        at = match.end()
        if kind == "quoted":
            kind, word = "name", word[1:-1]
        yield _Token(kind, word, start, at)
    yield _Token("end", "", len(text.rstrip()), len(text.rstrip()))


_SIGNS = "the signs are + - * / ( ) = <= >= and the words between, and, of"
_RELATIONS = ("=", "<=", ">=")
_COMPARE = "write =, <=, >= or: between A and B"


def parse_rule(text: str, define: Define | None = None, at_hand: str = "") -> Relation:
    """Read a whole rule; `define` gives the shop's measure of a name, at a letter, or None. RuleSyntaxError when it is none.

    In a rule for each seam, piece or edge that word, `at_hand`, means the one that the rule is held against.
    """
    parser = _Parser(text, define, at_hand)
    relation = parser.relation()
    parser.finish()
    return relation


def named(text: str, at_hand: str, name: str) -> str:
    """A part of a rule for each `at_hand` as it is told of the one of that name."""
    parser = _Parser(text, None, at_hand)
    for number in range(len(parser.tokens) - 1, -1, -1):
        if parser.means_the_one_at_hand(number):
            token = parser.tokens[number]
            text = text[: token.at] + name + text[token.end :]
    return text


def parse_expression(text: str, define: Define | None = None) -> Expression:
    """Read an expression without a comparison, such as a measure of the shop."""
    parser = _Parser(text, define)
    expression = parser.sum()
    parser.finish()
    return expression


class _Parser:
    def __init__(self, text: str, define: Define | None, at_hand: str = "") -> None:
        if len(text) > LONGEST:
            raise RuleSyntaxError(f"this is longer than {LONGEST} letters", LONGEST, "split it in two")
        self.text = text
        self.define = define
        self.at_hand = at_hand
        self.tokens = list(_tokens(text))
        self.number = 0
        self.depth = 0
        self.calls = 0  # within how many functions

    @property
    def next(self) -> _Token:
        return self.tokens[self.number]

    def step(self) -> _Token:
        token = self.next
        if token.kind != "end":
            self.number += 1
        return token

    def take(self, *texts: str) -> _Token | None:
        """The next token if it is one of these signs or words."""
        return self.step() if self.next.kind in ("sign", "name") and self._raw(self.next) in texts else None

    def _raw(self, token: _Token) -> str:
        """A word as it stands: one in quotes is none of the language's own."""
        return self.text[token.at : token.end]

    def means_the_one_at_hand(self, number: int) -> bool:
        """Whether a word stands for the seam, piece or edge that the rule is held against, and is no name."""
        token, after = self.tokens[number], self.tokens[number + 1 :][:1]
        if not self.at_hand or self._raw(token) != self.at_hand or (after and after[0].text == "("):
            return False
        before = self.tokens[number - 1].text if number else ""
        # An edge may be called "seam": front.seam, seam of front.
        return before != "." and not (after and after[0].text == "of" and self.at_hand != "edge")

    def wrong(self, token: _Token, wanted: str, remedy: str = "") -> RuleSyntaxError:
        found = f'"{self._raw(token)}"' if token.kind != "end" else "the end of the rule"
        return RuleSyntaxError(f"{found} stands where {wanted} belongs", token.at, remedy)

    def finish(self) -> None:
        token = self.next
        if token.kind == "end":
            return
        before = self._raw(self.tokens[self.number - 1]) if self.number else ""
        if token.text == "." and "-" in before:
            raise RuleSyntaxError(
                f'"{before}" was read as one name',
                self.tokens[self.number - 1].at,
                "write a minus with spaces round it",
            )
        if token.text in (*_RELATIONS, "between"):
            raise RuleSyntaxError("this compares twice", token.at, "write: between A and B, or make two rules of it")
        if token.text in ("<", ">", "==", "!="):
            raise self.compare_wrong(token)
        raise self.wrong(token, "the end, or a sign such as + or =", _SIGNS)

    def compare_wrong(self, token: _Token) -> RuleSyntaxError:
        better = {"<": "write <=", ">": "write >=", "==": "write ="}.get(token.text, _COMPARE)
        return RuleSyntaxError(f'"{token.text}" is no comparison that is measured', token.at, better)

    # rule

    def relation(self) -> Relation:
        left, left_text, left_at = self.spanned()
        token = self.next
        if self.take(*_RELATIONS):
            right, right_text, right_at = self.spanned()
            self.alike(left, right, left_at, right_at)
            return Relation(self.text.strip(), token.text, left, left_text, right, right_text)
        if self.take("between"):
            low, low_text, low_at = self.spanned()
            if not self.take("and"):
                raise self.wrong(self.next, '"and"', "write: between A and B")
            high, high_text, high_at = self.spanned()
            low, low_text = _with_unit_of(low, low_text, high)
            self.alike(left, low, left_at, low_at)
            self.alike(left, high, left_at, high_at)
            if (
                isinstance(low, Amount | Negated)
                and isinstance(high, Amount | Negated)
                and _fixed(low) > _fixed(high)
            ):
                raise RuleSyntaxError(
                    f"the range runs from {low_text} down to {high_text}", low_at, "write the smaller end first"
                )
            return Relation(self.text.strip(), "between", left, left_text, low, low_text, high, high_text)
        if token.text in ("<", ">", "==", "!="):
            raise self.compare_wrong(token)
        if token.kind == "end":
            raise RuleSyntaxError("the rule compares nothing", token.at, _COMPARE)
        self.finish()
        raise AssertionError("finish() raises unless the rule is at its end")

    def spanned(self) -> tuple[Expression, str, int]:
        start = self.next.at
        expression = self.sum()
        return expression, self.text[start : self.tokens[self.number - 1].end], start

    def alike(self, left: Expression, right: Expression, left_at: int, right_at: int) -> ValueKind:
        if left.kind is right.kind or is_nought(right):
            return left.kind
        if is_nought(left):
            return right.kind
        at, other = (right_at, left.kind) if right.kind is ValueKind.NUMBER else (left_at, right.kind)
        remedy = ""
        if ValueKind.NUMBER in (left.kind, right.kind):
            example = "30 mm" if other is ValueKind.LENGTH or left.kind is ValueKind.LENGTH else "3 degrees"
            remedy = f"write an amount with its unit, such as {example}"
        raise RuleSyntaxError(f"{left.kind.value} and {right.kind.value} do not go together", at, remedy)

    # expressions

    def sum(self) -> Expression:
        start = self.next.at
        left = self.product()
        while sign := self.take("+", "-"):
            at = self.next.at
            right = self.product()
            left = Binary(sign.text, left, right, self.alike(left, right, start, at))
        return left

    def product(self) -> Expression:
        left = self.factor()
        while sign := self.take("*", "/"):
            at = self.next.at
            right = self.factor()
            left = Binary(sign.text, left, right, self._multiplied(sign, left, right, at))
        return left

    def _multiplied(self, sign: _Token, left: Expression, right: Expression, at: int) -> ValueKind:
        if sign.text == "/" and isinstance(right, Amount) and right.value == 0:
            raise RuleSyntaxError("this divides by 0", at, "write another number")
        if right.kind is ValueKind.NUMBER:
            return left.kind
        if sign.text == "*" and left.kind is ValueKind.NUMBER:
            return right.kind
        if sign.text == "/" and left.kind is right.kind:
            return ValueKind.NUMBER
        how = "multiplied by" if sign.text == "*" else "divided by"
        raise RuleSyntaxError(
            f"{left.kind.value} is {how} {right.kind.value}", sign.at, "multiply and divide by plain numbers"
        )

    def factor(self) -> Expression:
        self.depth += 1
        if self.depth > DEEPEST:
            raise RuleSyntaxError("brackets are nested too deeply", self.next.at, "define parts of it as measures")
        try:
            return self._factor()
        finally:
            self.depth -= 1

    def _factor(self) -> Expression:
        token = self.next
        if self.take("-"):
            inner = self.factor()
            return Negated(inner, inner.kind)
        if token.kind in ("number", "fraction"):
            return self.amount()
        if self.take("("):
            inner = self.sum()
            self.close(token)
            return inner
        if token.kind == "name":
            return self.named()
        raise self.wrong(token, "an edge, a number or a bracket", 'name an edge as "piece.edge"')

    def close(self, opening: _Token) -> None:
        if not self.take(")"):
            if self.next.kind == "end":
                raise RuleSyntaxError("this bracket is not closed", opening.at, "add a )")
            self.finish()

    def amount(self) -> Amount:
        token = self.step()
        if token.kind == "fraction":
            *whole, part = token.text.split()
            above, below = (int(word) for word in part.split("/"))
            if below == 0:
                raise RuleSyntaxError("this divides by 0", token.at, "write another number")
            value = (int(whole[0]) if whole else 0) + above / below
        else:
            value = float(token.text)
        unit = self.take(*UNITS)
        after = self.next
        if after.kind == "name" and self._raw(after) not in ("and", "between"):
            raise RuleSyntaxError(f'"{self._raw(after)}" is no unit', after.at, f"the units are {', '.join(UNITS)}")
        if after.text == "," and not self.calls:
            raise RuleSyntaxError("a comma stands here", after.at, "write decimals with a point: 1.5")
        kind, factor = UNITS[unit.text] if unit else (ValueKind.NUMBER, 1.0)
        if value * factor > LARGEST_NUMBER:
            raise RuleSyntaxError("the number is larger than any pattern", token.at, "write a smaller one")
        return Amount(value * factor, kind, unit.text if unit else None)

    def named(self) -> Expression:
        at_hand = self.means_the_one_at_hand(self.number)
        if at_hand and self.at_hand != "piece":
            return Call("length", (self.place("line"),), (), ValueKind.LENGTH)
        if at_hand or (self.tokens[self.number + 1 :][:1] and self._piece_at_hand_follows()):
            return Call("length", (self.place("edge"),), (), ValueKind.LENGTH)
        token = self.step()
        if self.next.text == "(" and self.next.kind == "sign":
            return self.call(token)
        if self.take("."):
            second = self.name("the name of an edge")
            own = self.define(f"{token.text}.{second.text}", token.at) if self.define else None
            return own or _length(token.text, second.text)
        if self.take("of"):
            piece = self.name("the name of a piece")
            own = self.define(f"{token.text} of {piece.text}", token.at) if self.define else None
            return own or _length(piece.text, token.text)
        own = self.define(token.text, token.at) if self.define else None
        if own is None:
            raise RuleSyntaxError(
                f'there is no measure "{token.text}"',
                token.at,
                'name an edge as "piece.edge", or define the measure under [measures]',
            )
        return own

    def name(self, wanted: str) -> _Token:
        if self.next.kind != "name":
            raise self.wrong(self.next, wanted, 'put a name that holds spaces or begins with a digit in "quotes"')
        return self.step()

    def _piece_at_hand_follows(self) -> bool:
        """Whether the next words are "EDGE of piece", of the piece at hand."""
        number = self.number + 1
        return (
            self.tokens[number].text == "of"
            and number + 1 < len(self.tokens)
            and self.at_hand == "piece"
            and self.means_the_one_at_hand(number + 1)
        )

    def call(self, token: _Token) -> Expression:
        if token.text not in FUNCTIONS:
            raise RuleSyntaxError(
                f'there is no function "{token.text}"', token.at, nearest(token.text, FUNCTIONS, "function")
            )
        opening = self.step()
        self.calls += 1
        function = FUNCTIONS[token.text]
        wanted, kind = function.takes, function.gives
        places: list[NamedPart] = []
        arguments: list[Expression] = []

        def take(what: str) -> None:
            nonlocal kind
            at = self.next.at
            if what == "which":
                arguments.append(self.which(token))
            elif what == "any":
                arguments.append(self.sum())
                if len(arguments) > 1:
                    alike = self.alike(arguments[0], arguments[-1], at, at)
                    kind = function.gives or alike
            else:
                places.append(self.place(what))

        for number, what in enumerate(wanted):
            if (number and not self.take(",")) or self.next.text == ")":
                self._too_few(token, wanted)
            take(what)
        if function.may and self.next.text == ",":
            for what in function.may:
                if not self.take(",") or self.next.text == ")":
                    self._too_few(token, (*wanted, *function.may))
                at = self.next.at
                take(what)
                if arguments[-1].kind is ValueKind.ANGLE:
                    raise RuleSyntaxError(
                        f"{token.text}() counts from one share or length to another", at, "write 1/3 or 200 mm"
                    )
        while wanted == ("any", "any") and self.take(","):
            take("any")
        if self.next.text == ",":
            self._too_few(token, (*wanted, *function.may))
        self.close(opening)
        self.calls -= 1
        return Call(token.text, tuple(places), tuple(arguments), kind or arguments[0].kind)

    def which(self, function: _Token) -> Amount:
        """A whole number from 1 on."""
        token = self.next
        if token.kind != "number" or not token.text.isdigit() or int(token.text) < 1:
            raise RuleSyntaxError(
                f'"{self._raw(token)}" stands where the number of a notch belongs',
                token.at,
                f"count them from 1 on: {FUNCTIONS[function.text].example}",
            )
        return self.amount()

    def _too_few(self, token: _Token, wanted: Collection[str]) -> None:
        shown = ", ".join(_SHOWN[what] for what in wanted)
        raise RuleSyntaxError(
            f"{token.text}() takes {len(wanted)} {'thing' if len(wanted) == 1 else 'things'}",
            token.at,
            f"write {token.text}({shown})",
        )

    def place(self, of: str) -> NamedPart:
        at_hand = self.at_hand if self.means_the_one_at_hand(self.number) else ""
        if of == "line":
            of = "seam" if at_hand == "seam" else "edge"
        article = "an" if of == "edge" else "a"
        first = self.name(f"the name of {article} {of}")
        if at_hand == of:
            return NamedPart(of, ("",) * (2 if of == "edge" else 1), at_hand)
        if of in ("piece", "seam"):
            return NamedPart(of, (first.text,))
        if self.take("of"):
            whole = self.at_hand if self.means_the_one_at_hand(self.number) else ""
            piece = self.name("the name of a piece").text
            return NamedPart(of, ("" if whole else piece, first.text), whole if whole == "piece" else "")
        if not self.take("."):
            raise self.wrong(self.next, '"."', f'write "piece.{of}"')
        second = self.name(f"the name of {article} {of}").text
        return NamedPart(of, ("" if at_hand else first.text, second), at_hand if at_hand == "piece" else "")


_SHOWN = {
    "line": "piece.edge",
    "which": "1",
    "edge": "piece.edge",
    "corner": "piece.corner",
    "piece": "piece",
    "seam": "seam",
    "any": "amount",
}


def _length(piece: str, edge: str) -> Call:
    return Call("length", (NamedPart("edge", (piece, edge)),), (), ValueKind.LENGTH)


def _fixed(amount: Amount | Negated) -> float:
    if isinstance(amount, Negated):
        return -_fixed(amount.inner) if isinstance(amount.inner, Amount | Negated) else float("-inf")
    return amount.value


def _with_unit_of(low: Expression, text: str, high: Expression) -> tuple[Expression, str]:
    """In "between -6 and 0 mm" the unit holds for both ends."""
    sign, amount = (-1.0, low.inner) if isinstance(low, Negated) else (1.0, low)
    top = high.inner if isinstance(high, Negated) else high
    if not isinstance(amount, Amount) or amount.unit or not isinstance(top, Amount) or not top.unit:
        return low, text
    kind, factor = UNITS[top.unit]
    return Amount(sign * amount.value * factor, kind, top.unit), f"{text} {top.unit}"

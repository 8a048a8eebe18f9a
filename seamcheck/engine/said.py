"""What a finding says, as facts: what it speaks of by name, which amounts it tells, and whether another says the same.

form   what is said without its amounts: the words, and the names and counts in them
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from string import Formatter
from typing import TYPE_CHECKING

from seamcheck.amounts import Angle, Fact, Length, Listed, Name, Phrase, fact

if TYPE_CHECKING:
    from seamcheck.engine.result import Finding

SAME = 0.05  # mm or degrees: amounts of twins and copies that are this alike are the same

Amount = Length | Angle
Form = tuple[object, ...]


def facts_in(said: Fact) -> Iterator[Fact]:
    """The facts that something speaks of, in the order in which they are said: no phrases and no lists, but what they hold."""
    if isinstance(said, Phrase):
        for one in _given(said):
            yield from facts_in(one)
    elif isinstance(said, Listed):
        for one in said.items:
            yield from facts_in(one)
    else:
        yield said


def amounts_in(said: Fact) -> list[Amount]:
    """The lengths and angles that something tells."""
    return [one for one in facts_in(said) if isinstance(one, Length | Angle)]


def names_said(finding: Finding) -> set[str]:
    """The pieces, edges, seams and sizes that a finding speaks of by name.

    Who speaks of an edge or a corner names its piece with it. A text that a check gives as a fact is a name where it is one
    that the finding bears, or that of an edge or a corner of its pieces.
    """
    borne = {*finding.pieces, *(edge.removeprefix("-") for edge in finding.edges), finding.seam, finding.size}

    def is_name(one: Fact) -> bool:
        return isinstance(one, Name) or (
            isinstance(one, str) and (one in borne or one.rpartition(".")[0] in finding.pieces)
        )

    said = {str(one) for one in facts_in(finding.fault) if is_name(one)}
    return said | {name.rpartition(".")[0] for name in said}


def form(finding: Finding, pieces: Collection[str] = ()) -> Form:
    """What a finding says but for lengths and angles; `pieces` are numbered as they come, so that a twin has the same form."""
    numbers: dict[str, int] = {}

    def name(text: str) -> object:
        for piece, rest in ((text, ""), text.rpartition(".")[::2]):
            if piece in pieces:
                return numbers.setdefault(piece, len(numbers)), rest
        return text

    def parts(said: Fact) -> Iterator[object]:
        if isinstance(said, Phrase):
            yield said.template
            for one in _given(said):
                yield from parts(one)
        elif isinstance(said, Listed):
            yield len(said.items)
            for one in said.items:
                yield from parts(one)
        elif isinstance(said, Length | Angle):
            yield type(said)
        else:
            yield name(str(said))

    return finding.check, finding.code, finding.clauses, *parts(finding.fault)


def form_in_any_size(finding: Finding) -> Form:
    """What a finding says but for its lengths, angles, counts and size, which differ from size to size."""
    told = (finding.size, *(str(one) for one in facts_in(finding.fault) if isinstance(one, int)))
    return tuple("" if part in told else part for part in form(finding))


def same_amounts(one: Finding, other: Finding) -> bool:
    """Whether two findings of one form tell the same amounts, or amounts that are told alike."""
    pairs = zip(amounts_in(one.fault), amounts_in(other.fault), strict=True)
    return all(abs(a - b) <= SAME or fact(a) == fact(b) for a, b in pairs)


def all_alike(findings: Sequence[Finding]) -> bool:
    """Whether all say the same."""
    first = findings[0]
    return all(form(one) == form(first) and same_amounts(one, first) for one in findings[1:])


def tells(finding: Finding, amount: Amount) -> bool:
    """Whether a finding tells an amount."""
    kind = type(amount)
    return any(isinstance(one, kind) and fact(kind(abs(one))) == fact(amount) for one in amounts_in(finding.fault))


def _given(said: Phrase) -> Iterator[Fact]:
    """The facts of a phrase in the order in which its words speak of them."""
    facts = dict(said.facts)
    return (facts[name] for _, name, _, _ in Formatter().parse(said.template) if name is not None)

"""The questions whose answers settle a proposal: which edge to ask of, and what it may be sewn to.

`asked` goes on with questions until whoever answers has had enough, or nothing is left to ask; how a question is shown
is the affair of who calls.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from seamcheck.amounts import millimetres
from seamcheck.pairing.alike import Classes, Seam
from seamcheck.pairing.candidates import Candidate, Kind
from seamcheck.pairing.lines import Use
from seamcheck.pairing.places import place_names
from seamcheck.pairing.reasons import reasons
from seamcheck.pairing.solver import Answer, Solver

ONE = 0.01  # a mate that is less likely is not named


@dataclass(frozen=True, slots=True)
class Option:
    """What an edge may be sewn to: in words, why, and how likely (0 to 1)."""

    words: str
    reasons: tuple[str, ...]
    likely: float
    candidate: Candidate


@dataclass(frozen=True, slots=True)
class Question:
    """An edge, and what it may be sewn to, the likeliest first; `edges` are all edges that there are, in words by their lines."""

    line: int
    words: str
    options: tuple[Option, ...]
    edges: Mapping[int, str]

    def to(self, lines: Sequence[int]) -> Seam:
        """The seam of the edge to others, one after the other."""
        return (Use(self.line),), tuple(Use(line) for line in lines)


# an option by its number from 0, an answer, another seam with the edge in its first side, or None: no more questions
Reply = Answer | int | Seam | None


def asked(solver: Solver, reply: Callable[[Question], Reply]) -> int:
    """Ask until nothing is left to ask or the reply is None; the number of answers."""
    count = 0
    while (line := solver.question()) is not None:
        question = question_of(solver, line)
        answer = reply(question)
        if answer is None:
            break
        if isinstance(answer, Answer):
            solver.answer(line, answer)
        elif isinstance(answer, tuple):
            solver.answer(line, answer[1], answer[0])
        else:
            one = question.options[answer].candidate
            solver.answer(line, _mate(solver.classes, line, one), _own(solver.classes, line, one))
        count += 1
    return count


def question_of(solver: Solver, line: int) -> Question:
    """What an edge is asked."""
    classes = solver.classes
    names = place_names(classes)
    options = tuple(
        Option(
            words=_mates_told(classes, line, one, names),
            reasons=tuple(
                f"{'but ' if why.weight < 0 else ''}{why.words}" for why in reasons(classes, one, solver.hint(one))
            ),
            likely=likely,
            candidate=one,
        )
        for one, likely in solver.options(line)
        if likely >= ONE
    )
    edges = {
        root: f"the {_told(classes, Use(root), names)}"
        for root in sorted(classes.members)
        if not classes.lines[root].fold
    }
    return Question(line, f"the {_told(classes, Use(line), names)}", options, edges)


def _told(classes: Classes, use: Use, names: dict[int, str]) -> str:
    line = classes.lines[use.line]
    part = "" if use.whole else "part of the "
    length = millimetres(classes.side((use,)).length)
    return f"{part}{names[use.line].replace('-', ' ')} edge of {classes.parts[line.piece].name} ({length})"


def _mate(classes: Classes, line: int, one: Candidate) -> tuple[Use, ...]:
    """The side of a candidate that lies across from a line."""
    root = classes.root(line)
    first, second = one.seam
    return second if any(classes.root(use.line) == root for use in first) else first


def _own(classes: Classes, line: int, one: Candidate) -> tuple[Use, ...]:
    """The side of a candidate in which a line lies."""
    return one.first if _mate(classes, line, one) is one.second else one.second


def _mates_told(classes: Classes, line: int, one: Candidate, names: dict[int, str]) -> str:
    root = classes.root(line)
    own = _own(classes, line, one)
    mine = next(use for use in own if classes.root(use.line) == root)
    along = "" if mine.whole else f", {_along(classes, mine, names)}"
    if one.kind is Kind.TWIN:
        return f"its own mirror twin{along}"
    mates = " and the ".join(_told(classes, use, names) for use in _mate(classes, line, one))
    beside = [use for use in own if classes.root(use.line) != root]
    more = f", together with the {' and the '.join(_told(classes, use, names) for use in beside)}" if beside else ""
    return f"the {mates}{along}{more}"


def _along(classes: Classes, use: Use, names: dict[int, str]) -> str:
    """Which stretch of the edge that is asked of is meant."""
    length = millimetres(classes.side((use,)).length)
    if use.low != 0 and use.high != -1:
        return f"along {length} of it"
    near = names[classes.beside(use.line)[0 if use.low == 0 else 1]].replace("-", " ")
    return f"along {length} from the {near} edge"

"""The questions whose answers settle a proposal: which edge to ask of, and what it may be sewn to.

`asked` goes on with questions until whoever answers has had enough, or nothing is left to ask; how a question is shown
is the affair of who calls.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from seamcheck.amounts import millimetres
from seamcheck.pairing.alike import Classes, Seam
from seamcheck.pairing.candidates import Candidate, Kind
from seamcheck.pairing.lines import Use, reach
from seamcheck.pairing.places import place_names
from seamcheck.pairing.reasons import reasons
from seamcheck.pairing.solver import OTHER_WAY, Answer, Solver

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


@dataclass(frozen=True, slots=True)
class Named:
    """Edges, by their lines, that an edge is sewn to one after the other; nothing is said of which way round."""

    lines: tuple[int, ...]


# an option by its number from 0, an answer, other edges, another seam with the edge in its first side, or None: no more questions
Reply = Answer | int | Named | Seam | None


def asked(solver: Solver, reply: Callable[[Question], Reply]) -> int:
    """Ask until nothing is left to ask or the reply is None; the number of answers."""
    count = 0
    while (line := solver.question()) is not None:
        question = question_of(solver, line)
        answer = reply(question)
        if answer is None:
            break
        _take(solver, question, answer, reply)
        count += 1
    return count


def _take(solver: Solver, question: Question, answer: Reply, reply: Callable[[Question], Reply]) -> None:
    """Let a solver hear what is answered; the way of an edge that is named is asked for where it is not clear."""
    line = question.line
    if isinstance(answer, Answer):
        solver.answer(line, answer)
    elif isinstance(answer, Named):
        ways = solver.ways((Use(line),), tuple(Use(named) for named in answer.lines))
        clear = len(ways) == 1 or ways[1][1] < OTHER_WAY * ways[0][1]
        which = replace(question, options=_options(solver, line, ways))
        said = 0 if clear else reply(which)
        if said is None or said is Answer.UNKNOWN:
            solver.answer(line, ways[0][0].second, ways[0][0].first, either_way=True)
        else:
            _take(solver, which, said, reply)
    elif isinstance(answer, tuple):
        solver.answer(line, answer[1], answer[0])
    elif answer is not None:
        one = question.options[answer].candidate
        solver.answer(line, _mate(solver.classes, line, one), _own(solver.classes, line, one))


def question_of(solver: Solver, line: int) -> Question:
    """What an edge is asked."""
    classes = solver.classes
    names = place_names(classes)
    options = _options(solver, line, [one for one in solver.options(line) if one[1] >= ONE])
    edges = {
        root: f"the {_told(classes, Use(root), names)}"
        for root in sorted(classes.members)
        if not classes.lines[root].fold
    }
    return Question(line, f"the {_told(classes, Use(line), names)}", options, edges)


def _options(solver: Solver, line: int, ways: Sequence[tuple[Candidate, float]]) -> tuple[Option, ...]:
    """Some candidates of a line in words; those that differ by nothing but the way are told by their ends."""
    classes = solver.classes
    names = place_names(classes)
    words = [_mates_told(classes, line, one, names) for one, _ in ways]
    return tuple(
        Option(
            words=told if words.count(told) == 1 else f"{told}, {_ends_told(classes, line, one, names)}",
            reasons=tuple(
                f"{'but ' if why.weight < 0 else ''}{why.words}" for why in reasons(classes, one, solver.hint(one))
            ),
            likely=likely,
            candidate=one,
        )
        for told, (one, likely) in zip(words, ways, strict=True)
    )


def _ends_told(classes: Classes, line: int, one: Candidate, names: Mapping[int, str]) -> str:
    """Which ends of the two sides of a candidate meet."""
    ends = [
        f"the {names[classes.beside(use.line)[1 if use.backwards else 0]].replace('-', ' ')} end of {classes.part(use.line).name}"
        for use in (_own(classes, line, one)[0], _mate(classes, line, one)[0])
    ]
    return " at ".join(ends)


def _told(classes: Classes, use: Use, names: Mapping[int, str]) -> str:
    line = classes.lines[use.line]
    part, long = (
        ("", millimetres(classes.side((use,)).length))
        if use.whole
        else ("part of the ", _stretch(classes, use, names))
    )
    return f"{part}{names[use.line].replace('-', ' ')} edge of {classes.parts[line.piece].name} ({long})"


def _mate(classes: Classes, line: int, one: Candidate) -> tuple[Use, ...]:
    """The side of a candidate that lies across from a line."""
    root = classes.root(line)
    first, second = one.seam
    return second if any(classes.root(use.line) == root for use in first) else first


def _own(classes: Classes, line: int, one: Candidate) -> tuple[Use, ...]:
    """The side of a candidate in which a line lies."""
    return one.first if _mate(classes, line, one) is one.second else one.second


def _mates_told(classes: Classes, line: int, one: Candidate, names: Mapping[int, str]) -> str:
    root = classes.root(line)
    own = _own(classes, line, one)
    mine = next(use for use in own if classes.root(use.line) == root)
    along = "" if mine.whole else f", along {_stretch(classes, mine, names)}"
    if one.kind is Kind.TWIN:
        return f"its own mirror twin{along}"
    mates = " and the ".join(_told(classes, use, names) for use in _mate(classes, line, one))
    beside = [f"the {_told(classes, use, names)}" for use in own if classes.root(use.line) != root]
    again = [use for use in own if classes.root(use.line) == root and use is not mine]
    beside += [
        "its mirror twin" if classes.standing(use).backwards != classes.standing(mine).backwards else "its copy"
        for use in again
    ]
    more = f", together with {' and '.join(beside)}" if beside else ""
    return f"the {mates}{along}{more}"


def _stretch(classes: Classes, use: Use, names: Mapping[int, str]) -> str:
    """Which stretch of an edge is meant: how long it is, and where."""
    long = millimetres(classes.side((use,)).length)
    before, after = (names[near].replace("-", " ") for near in classes.beside(use.line))
    if use.low != 0 and use.high != -1:
        low, _ = reach(use, classes.lines[use.line])
        return f"{long}, {millimetres(low)} from the {before} edge"
    return f"{long} from the {before if use.low == 0 else after} edge"

"""Choosing among fits by what is seen in the cloth: a calculation on the signs that the fits declare, and on nothing else.

answers     of each question that was asked the name of its answer, or UNSURE
points      the weights of the signs that the answers speak for or against; an answer that a fit knows nothing of, to a question that
            it has signs on, takes away half of the best that it might have given
contender   a fit that is not ruled out, and so few points behind the first that a further question may bring it up
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from seamcheck.fits.fit import Answer, Fit, Question, Sign
from seamcheck.spelling import UnknownNameError

UNSURE = "?"
MISSED = 0.5
REACH = 5.0  # points: a fit that is further behind the first is asked about no more
TELLS = 1.5  # points: two fits that a question parts by less are not told apart by it

Answers = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Reason:
    """What an answer says of a fit: for it by positive points, against it by negative ones; `why` is "" where nothing more is to be said.

    With `minus` it speaks for an amount below nought.
    """

    question: Question
    answer: Answer
    points: float
    why: str = ""
    minus: bool = False


@dataclass(frozen=True, slots=True)
class Ranked:
    """A fit with what speaks for it and against it; `out` is what rules it out, None where nothing does."""

    fit: Fit
    points: float
    reasons: tuple[Reason, ...]
    out: Reason | None = None

    @property
    def minus(self) -> bool:
        """Whether what was seen asks for an amount below nought."""
        return any(one.minus for one in self.reasons)

    @property
    def speaks_for(self) -> tuple[Reason, ...]:
        """The answers that speak for it, the weightiest first."""
        return tuple(sorted((one for one in self.reasons if one.points > 0), key=lambda one: -one.points))

    @property
    def speaks_against(self) -> tuple[Reason, ...]:
        """The answers that speak against it, the weightiest first."""
        return tuple(sorted((one for one in self.reasons if one.points < 0), key=lambda one: one.points))


@dataclass(frozen=True, slots=True)
class Difference:
    """A question that tells two fits apart: the answer that each of them gives."""

    question: Question
    one: Answer
    other: Answer


def questions(fits: Iterable[Fit]) -> tuple[Question, ...]:
    """All questions that the fits have signs on, each once, those that most fits ask first."""
    asked: dict[str, list[Question]] = {}
    for fit in fits:
        for question in {sign.question.name: sign.question for sign in fit.signs}.values():
            asked.setdefault(question.name, []).append(question)
    return tuple(same[0] for _, same in sorted(asked.items(), key=lambda item: (-len(item[1]), item[0])))


def checked(fits: Sequence[Fit], answers: Answers) -> dict[str, str]:
    """The answers, each to a question that there is and by a name that it knows; UnknownNameError, with the nearest name, for another."""
    known = {question.name: question for question in questions(fits)}
    for name, answer in answers.items():
        if name not in known:
            raise UnknownNameError("the guide", "question", name, tuple(known))
        names = [one.name for one in known[name].answers]
        if answer not in (*names, UNSURE):
            raise UnknownNameError(f'the question "{name}"', "answer", answer, tuple(names))
    return dict(answers)


def ranked(fits: Sequence[Fit], answers: Answers) -> tuple[Ranked, ...]:
    """The fits that have signs, the likeliest first, those that are ruled out last."""
    told = [_weighed(fit, answers) for fit in fits if fit.signs]
    return tuple(sorted(told, key=lambda one: (one.out is not None, -round(one.points, 6), one.fit.name)))


def next_question(fits: Sequence[Fit], answers: Answers) -> Question | None:
    """The question that parts the contenders best, else one whose answer says more of the first of them; None where none is left."""
    left = contenders(ranked(fits, answers))
    open_questions = [one for one in questions(fits) if one.name not in answers]
    best: tuple[float, Question] | None = None
    for question in open_questions:
        parts = sum(_apart(question, one.fit, other.fit) for one, other in combinations(left, 2))
        if parts > (best[0] if best else 0.0) + 1e-9:
            best = parts, question
    if best is not None:
        return best[1]
    telling = {sign.question.name for one in left[:1] for sign in one.fit.signs if sign.why}
    return next((one for one in open_questions if one.name in telling), None)


def contenders(told: Sequence[Ranked]) -> tuple[Ranked, ...]:
    """Those that may still turn out to be the fit."""
    there = [one for one in told if one.out is None]
    return tuple(one for one in there if one.points >= there[0].points - REACH)


def differences(one: Fit, other: Fit, answers: Answers) -> tuple[Difference, ...]:
    """The questions that are not answered yet and tell two fits apart, the one that does so best first."""
    found = []
    for question in questions((one, other)):
        if answers.get(question.name, UNSURE) != UNSURE:
            continue
        best = [_best(question, fit) for fit in (one, other)]
        apart = _apart(question, one, other)
        if best[0] and best[1] and best[0].name != best[1].name and apart:
            found.append((apart, Difference(question, best[0], best[1])))
    return tuple(each for _, each in sorted(found, key=lambda pair: -round(pair[0], 6)))


def own_answers(fit: Fit) -> dict[str, str]:
    """To each question that a fit has signs on, the answer that speaks for it most."""
    best = {question.name: _best(question, fit) for question in questions((fit,))}
    return {name: answer.name for name, answer in best.items() if answer is not None}


def _weighed(fit: Fit, answers: Answers) -> Ranked:
    reasons, out = [], None
    for question in questions((fit,)):
        answer = next((one for one in question.answers if one.name == answers.get(question.name)), None)
        if answer is None:
            continue
        sign = _sign(question, answer.name, fit)
        reason = Reason(
            question, answer, _points(question, answer.name, fit), *((sign.why, sign.minus) if sign else ())
        )
        reasons.append(reason)
        if sign is not None and sign.decides and sign.weight < 0:
            out = out or reason
    return Ranked(fit, sum(one.points for one in reasons), tuple(reasons), out)


def _points(question: Question, answer: str, fit: Fit) -> float:
    sign = _sign(question, answer, fit)
    if sign is not None:
        return sign.weight
    return -MISSED * max((one.weight for one in _signs(question, fit)), default=0.0)


def _apart(question: Question, one: Fit, other: Fit) -> float:
    """By how many points the answer that parts two fits most does so; 0 where that is too little to tell them."""
    if not (_signs(question, one) or _signs(question, other)):
        return 0.0
    most = max(
        abs(_points(question, answer.name, one) - _points(question, answer.name, other))
        for answer in question.answers
    )
    return most if most >= TELLS else 0.0


def _best(question: Question, fit: Fit) -> Answer | None:
    sign = max(_signs(question, fit), key=lambda one: one.weight, default=None)
    if sign is None or sign.weight <= 0:
        return None
    return next(answer for answer in question.answers if answer.name == sign.answer)


def _sign(question: Question, answer: str, fit: Fit) -> Sign | None:
    return next((sign for sign in _signs(question, fit) if sign.answer == answer), None)


def _signs(question: Question, fit: Fit) -> list[Sign]:
    return [sign for sign in fit.signs if sign.question.name == question.name]

"""Which fit it is by what was seen: told for the eye, and for other programs with all questions and what is to be asked next."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from seamcheck import amounts
from seamcheck.fits.which import Ranked, Reason, contenders, differences, next_question, questions, ranked
from seamcheck.report.cautions import OF_FITS
from seamcheck.report.explain.laid_out import block, rows, titled, topic
from seamcheck.report.json import dump
from seamcheck.report.layout import paint, wrap

if TYPE_CHECKING:
    from seamcheck.engine.report_format import RenderOptions
    from seamcheck.fits.fit import Fit, Question

SCHEMA = "seamcheck.which/1"
MOST_OTHERS = 2
ALIKE = 1.0  # points: two fits that are nearer are told as equally likely


def text(fits: Sequence[Fit], answers: Mapping[str, str], options: RenderOptions) -> str:
    """The likeliest fit with what speaks for it, the next ones with how to tell them, and what is ruled out; without answers the questions."""
    if not answers:
        return _asked(fits, options)
    told = ranked(fits, answers)
    alike = _likeliest_of(told)
    if not alike:
        nothing = "What you saw speaks for none of the fits: look again, or look at another place first."
        return topic([_seen(fits, answers, options), wrap(nothing, options), _cautions(options)])
    first = alike[0]
    others = [one for one in told if one not in alike and one.out is None and one.points >= first.points / 3]
    parts = [_seen(fits, answers, options)]
    if len(alike) == 1:
        parts.append("\n".join(_likeliest(first, options)))
    else:
        names = amounts.listed([one.fit.name for one in alike])
        parts.append(wrap(f"By what you saw these are as likely as one another: {names}.", options))
        parts += ["\n".join(_likely(one, options)) for one in alike]
        parts += ["\n".join(_apart(one, other, answers, options)) for one, other in pairwise(alike)]
    parts += ["\n".join(_other(first, one, answers, options)) for one in others[:MOST_OTHERS]]
    return topic([*parts, _ruled_out(told, options), _try(alike, options), _cautions(options)])


def _likeliest_of(told: Sequence[Ranked]) -> list[Ranked]:
    """The first, with those that are as likely; none where what was seen speaks for none."""
    left = [one for one in contenders(told) if one.points > 0]
    return [one for one in left if one.points > left[0].points - ALIKE]


def _asked(fits: Sequence[Fit], options: RenderOptions) -> str:
    parts = [wrap("Answer by --answer QUESTION=ANSWER, as many as you can; ? is an answer to all of them.", options)]
    for question in questions(fits):
        answers = [(one.name, one.words) for one in question.answers]
        parts.append(titled(f"{question.name}: {question.asks}", rows(answers, options), options))
    return topic([*parts, _cautions(options)])


def _seen(fits: Sequence[Fit], answers: Mapping[str, str], options: RenderOptions) -> str:
    known = {question.name: question for question in questions(fits)}
    told = [(name, _words(known[name], answer)) for name, answer in answers.items()]
    return titled("What you saw:", rows(told, options), options)


def _words(question: Question, answer: str) -> str:
    return next((one.words for one in question.answers if one.name == answer), "not known")


def _likeliest(first: Ranked, options: RenderOptions) -> Iterator[str]:
    yield paint(f"Likeliest: {first.fit.name}", "strong", options) + f" ({first.fit.title})"
    yield from _about(first, options)


def _likely(one: Ranked, options: RenderOptions) -> Iterator[str]:
    yield paint(one.fit.name, "strong", options) + f" ({one.fit.title})"
    yield from _about(one, options)


def _about(one: Ranked, options: RenderOptions) -> Iterator[str]:
    if one.minus:
        yield wrap(f"With a minus before the amount it {one.fit.minus}.", options, indent="  ")
    elif one.fit.seen:
        yield wrap(one.fit.seen[0], options, indent="  ")
    yield from _reasons(one, options)


def _reasons(one: Ranked, options: RenderOptions) -> Iterator[str]:
    """What more is to be said of the answers that speak for a fit, and all of those that speak against it."""
    more = [reason.why for reason in one.speaks_for if reason.why]
    for head, told in (("For it", more), ("Against it", [_reason(reason) for reason in one.speaks_against])):
        if told:
            yield wrap(f"{head}: {'; '.join(told)}.", options, indent="  ", hanging="    ")


def _reason(reason: Reason) -> str:
    return reason.why or reason.answer.words


def _other(first: Ranked, one: Ranked, answers: Mapping[str, str], options: RenderOptions) -> Iterator[str]:
    yield paint(f"Or: {one.fit.name}", "strong", options) + f" ({one.fit.title})"
    yield from _reasons(one, options)
    yield from _apart(first, one, answers, options)


def _apart(one: Ranked, other: Ranked, answers: Mapping[str, str], options: RenderOptions) -> Iterator[str]:
    """How to tell two fits: by what one of them says of the other, and by the question that parts them best."""
    how = how_to_tell(one.fit, other.fit)
    if how:
        yield wrap(f"To tell them: {how}.", options, indent="  ", hanging="    ")
    for each in differences(one.fit, other.fit, answers)[:1]:
        yield wrap(f"Look again. {each.question.asks}", options, indent="  ", hanging="    ")
        for answer, fit in ((each.one, one.fit), (each.other, other.fit)):
            yield wrap(f"{answer.words}: {fit.name}", options, indent="    ", hanging="      ")


def how_to_tell(one: Fit, other: Fit) -> str:
    """What either fit says of the other; "" where neither does."""
    for fit, rival in ((one, other), (other, one)):
        how = dict(fit.alike).get(rival.name)
        if how:
            return f"of {rival.name}, {how}"
    return ""


def _ruled_out(told: Sequence[Ranked], options: RenderOptions) -> str:
    """Those that an answer rules out and all others together speak for; the rest is of another place."""
    out = [(one.fit.name, _reason(one.out)) for one in told if one.out is not None and one.points > one.out.points]
    return titled("Ruled out:", rows(out, options), options) if out else ""


def _try(alike: Sequence[Ranked], options: RenderOptions) -> str:
    explain = [f"seamcheck explain {one.fit.name}" for one in alike]
    if len(alike) > 1:
        return wrap("To read on:", options) + "\n" + block("\n".join(explain))
    (one,) = alike
    amount = f"{'-' if one.minus else ''}{amounts.inches(one.fit.first)}"
    lines = [*explain, f'seamcheck alter FILE {one.fit.name} --amount "{amount}"']
    return wrap("To read on, and to rehearse it:", options) + "\n" + block("\n".join(lines))


def _cautions(options: RenderOptions) -> str:
    return "\n".join(wrap(one, options) for one in OF_FITS)


def json(fits: Sequence[Fit], answers: Mapping[str, str], options: RenderOptions) -> str:
    """The same as one JSON object, with every question and its answers."""
    return dump(as_json(fits, answers))


def as_json(fits: Sequence[Fit], answers: Mapping[str, str]) -> dict[str, Any]:
    """The questions, which of them is to be asked next, and the fits as ranked by the answers so far."""
    told = ranked(fits, answers)
    following = next_question(fits, answers)
    first = next((one for one in told if one.out is None), None)
    return {
        "schema": SCHEMA,
        "questions": [
            {
                "name": question.name,
                "asks": question.asks,
                "answers": [
                    {"name": one.name, "words": one.words, "drawn": one.sketch is not None}
                    for one in question.answers
                ],
            }
            for question in questions(fits)
        ],
        "answers": dict(answers),
        "next": following.name if following else None,
        "likeliest": [one.fit.name for one in _likeliest_of(told)],
        "fits": [_fit(one, first, answers) for one in told],
        "cautions": list(OF_FITS),
    }


def _fit(one: Ranked, first: Ranked | None, answers: Mapping[str, str]) -> dict[str, Any]:
    apart = differences(first.fit, one.fit, answers) if first and one is not first and one.out is None else ()
    return {
        "name": one.fit.name,
        "title": one.fit.title,
        "pieces": [one.fit.role, *one.fit.also],
        "points": one.points,
        "for": [_said(reason) for reason in one.speaks_for],
        "against": [_said(reason) for reason in one.speaks_against],
        "ruled_out": None if one.out is None else _reason(one.out),
        "minus": one.minus,
        "tell": (first and first is not one and how_to_tell(first.fit, one.fit)) or None,
        "look_again": [
            {"question": each.question.name, "first": each.one.name, "this": each.other.name} for each in apart
        ],
        "first": one.fit.first,
        "most": one.fit.most,
    }


def _said(reason: Reason) -> dict[str, Any]:
    return {
        "question": reason.question.name,
        "answer": reason.answer.name,
        "points": reason.points,
        "why": _reason(reason),
    }


RENDERERS: dict[str, Callable[[Sequence[Fit], Mapping[str, str], RenderOptions], str]] = {"text": text, "json": json}

"""A fit: a named alteration, as plugins bring it by `seamcheck_register_alterations`.

It tells what is seen in the cloth, what else looks like that and how to tell, and how much is usual; and it comes to the steps of
a recipe on a piece, with spots from the piece's own proportions.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from seamcheck.fits.piece import FitPiece
    from seamcheck.fits.sketch import Sketch
    from seamcheck.pattern.recipe import Step


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer to a question: its name, its words, and a small drawing of what it means where one helps."""

    name: str
    words: str
    sketch: Sketch | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What is asked of one who looks at the cloth, in plain words, and what may be answered."""

    name: str
    asks: str
    answers: tuple[Answer, ...]


@dataclass(frozen=True, slots=True)
class Sign:
    """An answer that speaks for a fit, by a positive weight, or against it, by a negative one.

    `why` tells it: "tight folds are none of this: here the cloth hangs loose". With `decides` a sign against the fit rules it out; with `minus` one
    for it speaks for less instead of more: for an amount below nought.
    """

    question: Question
    answer: str
    weight: float
    why: str = ""
    decides: bool = False
    minus: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """A named alteration of one piece, and where `also` names more, of each of these by the same amount.

    `role` is the piece that it works on: "back", "front", "waistband", "back waistband". `seen` are sentences, one a sign: where folds lie, which way
    they point, loose or tight, what sitting does. `alike` pairs the name of a fit that looks like it with how to tell. `done` are
    sentences: where it is cut, what opens, what turns. `first` and `most` are amounts in mm: the usual first one, and the most that is
    sensible; `amount` says what an amount is the measure of, and `minus` what one below nought does, "" where that makes no sense.
    `given_back` and `followed` are sentences: what goes back where, and which mates follow. `steps` makes the moves on a piece for
    an amount; it may raise `LacksRoleError`.
    """

    name: str
    title: str
    role: str
    seen: tuple[str, ...]
    first: float
    most: float
    steps: Callable[[FitPiece, float], tuple[Step, ...]] = field(compare=False)
    source: str
    also: tuple[str, ...] = ()
    amount: str = ""
    minus: str = ""
    done: tuple[str, ...] = ()
    alike: tuple[tuple[str, str], ...] = ()
    signs: tuple[Sign, ...] = ()
    given_back: tuple[str, ...] = ()
    followed: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    sketch: Sketch | None = None

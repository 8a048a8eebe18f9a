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
    from seamcheck.pattern.recipe import Step


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What is asked of one who looks at the cloth, and what may be answered: a name of each answer, and its words."""

    name: str
    asks: str
    answers: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Sign:
    """An answer that speaks for a fit, by a positive weight, or against it, by a negative one.

    `why` tells it: "tight folds are none of this: here the cloth hangs loose". With `decides` a sign against the fit rules it out.
    """

    question: Question
    answer: str
    weight: float
    why: str = ""
    decides: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """A named alteration of one piece.

    `role` is the piece that it works on: "back", "front", "waistband". `seen` are sentences, one a sign: where folds lie, which way
    they point, loose or tight, what sitting does. `alike` pairs the name of a fit that looks like it with how to tell. `first` and
    `most` are amounts in mm: the usual first one, and the most that is sensible. `given_back` and `followed` are sentences: what goes
    back where, and which mates follow. `steps` makes the moves on a piece for an amount; it may raise `LacksRoleError`.
    """

    name: str
    title: str
    role: str
    seen: tuple[str, ...]
    first: float
    most: float
    steps: Callable[[FitPiece, float], tuple[Step, ...]] = field(compare=False)
    source: str
    alike: tuple[tuple[str, str], ...] = ()
    signs: tuple[Sign, ...] = ()
    given_back: tuple[str, ...] = ()
    followed: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

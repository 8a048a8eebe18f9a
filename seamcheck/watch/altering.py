"""A fit rehearsed while its amount is moved, and carried out: the altered pattern is written beside the original under a new name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from seamcheck.altering.rehearse import rehearsed
from seamcheck.altering.run import alter_file
from seamcheck.altering.writing import recipe_beside, write_altered
from seamcheck.engine.read import read
from seamcheck.errors import SeamcheckError
from seamcheck.fits.roles import is_in_role
from seamcheck.fits.which import checked, questions
from seamcheck.pattern.recipe import FitStep, Recipe
from seamcheck.report import pen
from seamcheck.report.altering.marks import cuts_of
from seamcheck.report.altering.told import length_told, need_told, warning
from seamcheck.report.figures.base import inline
from seamcheck.report.figures.sketch import answer_figure
from seamcheck.report.which import as_json
from seamcheck.watch.job import content

if TYPE_CHECKING:
    from pathlib import Path

    from seamcheck.altering.rehearse import SeamNeed
    from seamcheck.altering.run import AlteredFile
    from seamcheck.engine.read import Request
    from seamcheck.engine.workspace import Shops
    from seamcheck.fits.fit import Fit
    from seamcheck.watch.job import Job
    from seamcheck.watch.trying import Moves

RING = 4.0  # mm of cloth: the radius of the ring round a hinge
STEP = 0.5  # mm by which an amount is moved
MOST_NAMES = 1000


@dataclass(frozen=True, slots=True)
class Wish:
    """A fit on a piece, by an amount in mm."""

    fit: str
    piece: str
    amount: float

    @property
    def recipe(self) -> Recipe:
        """The same as a recipe."""
        return Recipe(steps=(FitStep(piece=self.piece, fit=self.fit, amount=self.amount),))


class Altering:
    """The fits of a pattern as it is now."""

    def __init__(self, job: Job, shops: Shops) -> None:
        """Nothing is read yet; SeamcheckError where there is no plan to name its edges."""
        self._job = job
        self._settings, self._registry = shops.tolerant(str(job.path))
        if content(job.plan) is None:
            raise SeamcheckError(
                "there is no seam plan yet, so nothing says what is sewn to what",
                path=str(job.path),
                remedy="sew its edges together first",
            )
        self._request = replace(job.request, plan=job.plan, before=None, sizes=())

    def fits(self, size: str) -> dict[str, Any]:
        """The fits that some piece of the pattern is for, each with its pieces and amounts in mm."""
        return {
            "fits": [
                {
                    "name": fit.name,
                    "title": fit.title,
                    "seen": list(fit.seen),
                    "amount": fit.amount,
                    "minus": fit.minus,
                    "first": fit.first,
                    "least": -fit.most if fit.minus else 0.0,
                    "most": fit.most,
                    "step": STEP,
                    "pieces": pieces,
                }
                for fit, pieces in self._fits(size)
            ]
        }

    def which(self, size: str, answers: Mapping[str, str], asked: str) -> dict[str, Any]:
        """Which of these fits it is by what was seen in the cloth, and a question with its drawings: `asked`, "" for the one that tells most.

        UnknownNameError for a question or an answer that there is not.
        """
        fits = [fit for fit, _ in self._fits(size)]
        told = as_json(fits, checked(fits, answers))
        asked = asked or told["next"] or ""
        question = next((one for one in questions(fits) if one.name == asked), None)
        figures = {one.name: answer_figure(one) for one in question.answers} if question else {}
        return {
            **told,
            "asked": question and question.name,
            "drawn": {
                name: inline(figure, identifier=f"seen-{asked}-{name}") for name, figure in figures.items() if figure
            },
        }

    def _fits(self, size: str) -> Iterator[tuple[Fit, list[str]]]:
        pattern, _ = read(str(self._job.path), self._request, self._registry, self._settings)
        for fit in self._registry.fits:
            pieces = [piece.name for piece in pattern.in_size(size) if is_in_role(piece, fit.role)]
            if pieces:
                yield fit, pieces

    def rehearse(self, wish: Wish, size: str, moves: Moves, *, whole: bool) -> dict[str, Any]:
        """What a fit would do in one size: what its mates would need as it is taped; with `whole` the pieces as they are in the end."""
        request = replace(self._request, sizes=(size,))
        taped = self._altered(wish, request, leave=True)
        end = self._altered(wish, request, leave=False) if whole else taped
        needs, facts = (next(iter(rehearsed(one).sizes), None) for one in (taped, end))
        done = end.sizes[0]
        after = done.after.pieces
        changed = [one for one in done.before.pattern.pieces if after[one.name] is not one and one.name in moves]
        return {
            "seams": [_need(seam) for seam in needs.seams] if needs else [],
            "lengths": [length_told(length) for length in facts.lengths] if facts else [],
            "warnings": [warning(one) for one in facts.warnings] if facts else [],
            "left": [finding.message for finding in facts.left] if facts and whole else [],
            "old": [pen.path(piece.outline.transformed(moves[piece.name])) for piece in changed],
            "new": [pen.path(after[piece.name].outline.transformed(moves[piece.name])) for piece in changed],
            "cuts": [
                pen.path(cut.transformed(moves[step.step.piece]))
                for step in done.steps
                if step.step.piece in moves
                for cut in cuts_of(step, RING)
            ],
            "whole": whole,
        }

    def write(self, wish: Wish) -> dict[str, Any]:
        """Carry a fit out in every size, trued, and write it with its recipe beside it."""
        target = self._free()
        altered = self._altered(wish, self._request, leave=False)
        _, beside = write_altered(altered, str(target), self._request, self._registry, self._settings, force=False)
        return {"written": [target.name, *(name.rpartition("/")[2] for name in beside)]}

    def _altered(self, wish: Wish, request: Request, *, leave: bool) -> AlteredFile:
        return alter_file(str(self._job.path), wish.recipe, request, self._registry, self._settings, leave=leave)

    def _free(self) -> Path:
        path = self._job.path
        names = (f"{path.stem}-altered{'' if k == 1 else f'-{k}'}{path.suffix}" for k in range(1, MOST_NAMES))
        targets = (path.with_name(name) for name in names)
        found = next((one for one in targets if not one.exists() and not recipe_beside(one).exists()), None)
        if found is None:
            raise SeamcheckError(
                "too many altered files lie beside it", path=str(path), remedy="take the old ones away"
            )
        return found


def _need(seam: SeamNeed) -> dict[str, Any]:
    """By how much a seam is off as the moves leave it, and what its mates would need."""
    return {
        "seam": seam.seam,
        "off": round(float(seam.left), 3),
        "tolerance": float(seam.tolerance),
        "told": f"{need_told(seam)}.",
        "mates": list(seam.mates),
    }

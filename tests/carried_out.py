"""A fit carried out on the demo and written, and what comparing the file with the original gives back of it."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from seamcheck.altering.run import AlteredFile, DoneStep, alter_file
from seamcheck.altering.writing import write_altered
from seamcheck.comparison.changes import PieceChange
from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request, read_both
from seamcheck.engine.result import FileResult
from seamcheck.pattern.recipe import AtCorner, DartMove, Extend, FitStep, Hinge, Parallel, Recipe, Scoop, Taper

FERRYHAND = Path(__file__).parents[1] / "fixtures" / "ferryhand"
FORMS = {"svg": "ferryhand.svg", "cad": "ferryhand-cad.dxf", "apparel": "ferryhand-nest.dxf"}
SHOP = Settings()
REGISTRY = plugins.load(SHOP)
FITS = {fit.name: fit for fit in REGISTRY.fits}


@dataclass(frozen=True)
class Errors:
    """By how much what is given back differs: an amount and a hinge in mm, a turn in degrees; None where the move has none."""

    amount: float
    hinge: float | None = None
    turn: float | None = None


@cache
def carried_out(fit: str, form: str, *, leave: bool, amount: float | None = None) -> AlteredFile:
    recipe = Recipe(steps=(FitStep(piece="", fit=fit, amount=amount),))
    return alter_file(str(FERRYHAND / FORMS[form]), recipe, Request(), REGISTRY, SHOP, leave=leave)


def written(altered: AlteredFile, folder: Path) -> tuple[FileResult, Path]:
    """The altered pattern written and checked, and where it lies."""
    target = folder / f"altered{Path(altered.path).suffix}"
    result, _ = write_altered(altered, str(target), Request(), REGISTRY, SHOP, force=True)
    return result, target


def compared(altered: AlteredFile, target: Path) -> dict[tuple[str, str], PieceChange]:
    """What comparing a written file with the original tells, by size and piece."""
    _, comparison = read_both(altered.path, str(target), Request(), REGISTRY, SHOP)
    return {(one.after.size, one.name): one for one in comparison.pieces}


def recovered(done: DoneStep, change: PieceChange) -> Errors:
    """How far what comparing gives back of a move is from what was done."""
    step = done.step
    if isinstance(step, Hinge):
        assert done.turned is not None
        return _hinged(done, change, step.amount)
    if isinstance(step, Parallel):
        shifts = [cut.shift for cut in change.cuts] or [abs(end.amount) for end in change.ends]
        return Errors(min(abs(shift - abs(step.amount)) for shift in shifts))
    if isinstance(step, Scoop):
        (line,) = (one for one in change.redrawn if one.edge == step.edge)
        return Errors(abs(-line.at_middle - step.amount))
    if isinstance(step, Extend):
        (end,) = (one for one in change.ends if (one.edge, one.corner) == (step.along, step.corner))
        return Errors(abs(end.amount - step.amount))
    if isinstance(step, Taper):
        (line,) = (one for one in change.redrawn if one.edge == step.edge)
        depth = line.offsets if isinstance(step.peak, AtCorner) else (line.depth,)
        return Errors(min(abs(one - step.amount) for one in depth))
    assert isinstance(step, DartMove)
    ends = [one.amount for one in change.ends if one.corner in _mouth(done)]
    return Errors(abs(-sum(ends) - step.deeper))


def _mouth(done: DoneStep) -> tuple[str, str]:
    (dart,) = done.before.pieces[done.step.piece].darts
    return dart.corners[0], dart.corners[2]


def _hinged(done: DoneStep, change: PieceChange, amount: float) -> Errors:
    """By the break that opened, and the hinge and the turn that are nearest to each that was made."""
    turned = done.turned
    opened = [one.amount for cut in change.cuts for one in cut.breaks]
    hinges = [cut.centre for cut in change.cuts if cut.centre is not None]
    # Relief cuts hang on the part before: between neighbours the turns are the differences.
    turns = [turned.turns[0], *(b - a for a, b in zip(turned.turns, turned.turns[1:], strict=False))]
    return Errors(
        amount=min(abs(one - amount) for one in opened),
        hinge=max(min(abs(hinge - cut.end) for hinge in hinges) for cut in (turned.cut, *turned.reliefs)),
        turn=max(min(abs(abs(cut.turn) - abs(turn)) for cut in change.cuts) for turn in turns),
    )

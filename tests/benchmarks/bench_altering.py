"""How altering does: random moves on clean patterns, carried out and left, then compared with what they were made on; and trued.

`bench_altering.py --count 500 --seed 1`: of each recipe, left as it is taped, whether `compare` finds the kind of move, by how many
degrees and mm it misses turn, amount and hinge; and of the same, trued, whether `check` has anything left. A line for each that is
missed or not quiet, then a table by move. `--form` curves, cad or digitised; `--patterns` names some alone. What paper does not
allow (a cut across a dart, an edge too short) is drawn anew and counted.
`bench_altering.py --what fits`: every named fit on the demo in its four forms and all sizes: by how much at most `compare` misses the
first move of it, whether all is quiet once it is trued, written and read again, and how far truing strays at most past what it is
asked for.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(ROOT / "fixtures")]

from seeded_patterns import MAKERS, OTHERS, SUFFIX, Spoilt, clean, written  # noqa: E402

from seamcheck.altering.run import AlteredFile, alter_file  # noqa: E402
from seamcheck.altering.writing import undo, write_altered  # noqa: E402
from seamcheck.comparison.changes import PieceChange  # noqa: E402
from seamcheck.config.recipe_file import format_recipe, parse_recipe  # noqa: E402
from seamcheck.config.settings import Settings  # noqa: E402
from seamcheck.engine import plugins  # noqa: E402
from seamcheck.engine.read import Request, read_both, read_whole  # noqa: E402
from seamcheck.engine.result import Finding  # noqa: E402
from seamcheck.errors import SeamcheckError  # noqa: E402
from seamcheck.pattern.model import Edge, Piece  # noqa: E402
from seamcheck.pattern.recipe import (  # noqa: E402
    AlongEdge,
    AtCorner,
    DartMove,
    Extend,
    FitStep,
    Hinge,
    Parallel,
    Recipe,
    Scoop,
    Step,
    Taper,
    Wedge,
)

NAMES = (*MAKERS, *OTHERS)
SHORTEST = 60.0  # mm: no move is made on a shorter edge
LOOSE = {"curves": 0.05, "cad": 0.05, "digitised": 0.15}  # mm
DEGREES = 0.05
TRIES = 400


@dataclass
class Tried:
    """One recipe: what it missed, None where it was not recovered at all, and what was left once it was trued."""

    name: str
    step: Step
    turn: float | None = None
    amount: float | None = None
    hinge: float | None = None
    found: bool = True
    undone: bool = True
    left: list[str] = field(default_factory=list)
    stopped: str = ""

    @property
    def move(self) -> str:
        return type(self.step).__name__.lower()

    def is_recovered(self, form: str) -> bool:
        """Whether the move was recognised, and within what is allowed."""
        return self.found and (self.turn or 0.0) <= DEGREES and (self.amount or 0.0) <= LOOSE[form]


@cache
def registry() -> plugins.Registry:
    return plugins.load(Settings(), plugins=False)


def pieces_of(path: Path) -> list[Piece]:
    reading = read_whole(str(path), Request(), registry(), Settings())
    whole = [
        one for one in reading.pattern.pieces if not one.unsure and not one.lost_edges and one.outline is one.drawn
    ]
    return [one for one in whole if sum(edge.length >= SHORTEST for edge in one.edges) >= 2]


def random_step(dice: random.Random, piece: Piece, fold: str | None) -> Step:
    edges = [edge for edge in piece.edges if edge.length >= SHORTEST and not edge.inside and edge.name != fold]
    make = dice.choice([_hinge, _hinge, _hinge, _parallel, _scoop, _extend, _taper, _wedge])
    return make(dice, piece, edges)


def _amount(dice: random.Random, most: float = 12.0) -> float:
    return round(dice.choice([-1, 1]) * dice.uniform(3.0, most), 2)


def _along(dice: random.Random, edge: Edge) -> AlongEdge:
    return AlongEdge(edge.name, round(dice.uniform(0.25, 0.75) * edge.length, 1), edge.start)


def _hinge(dice: random.Random, piece: Piece, edges: Sequence[Edge]) -> Step:
    one, other = dice.sample(list(edges), 2)
    return Hinge(piece=piece.name, opens=_along(dice, one), hinge=_along(dice, other), amount=_amount(dice))


def _parallel(dice: random.Random, piece: Piece, edges: Sequence[Edge]) -> Step:
    one, other = dice.sample(list(edges), 2)
    return Parallel(piece=piece.name, cut=(_along(dice, one), _along(dice, other)), amount=_amount(dice))


def _scoop(dice: random.Random, piece: Piece, edges: Sequence[Edge]) -> Step:
    edge = dice.choice(list(edges))
    a, b = sorted(round(share * edge.length, 1) for share in (dice.uniform(0.0, 0.3), dice.uniform(0.7, 1.0)))
    amount = _amount(dice, min(10.0, max(3.5, (b - a) / 15)))
    return Scoop(
        piece=piece.name,
        edge=edge.name,
        start=AlongEdge(edge.name, a, edge.start),
        end=AlongEdge(edge.name, b, edge.start),
        amount=amount,
    )


def _extend(dice: random.Random, piece: Piece, edges: Sequence[Edge]) -> Step:
    edge = dice.choice(list(edges))
    return Extend(piece=piece.name, corner=dice.choice([edge.start, edge.end]), along=edge.name, amount=_amount(dice))


def _taper(dice: random.Random, piece: Piece, edges: Sequence[Edge]) -> Step:
    edge = dice.choice(list(edges))
    corner = dice.choice([edge.start, edge.end])
    other = edge.end if corner == edge.start else edge.start
    far = AlongEdge(edge.name, round(dice.uniform(0.0, 0.4) * edge.length, 1), other)
    return Taper(piece=piece.name, edge=edge.name, start=far, peak=AtCorner(corner), amount=_amount(dice, 8.0))


def _wedge(dice: random.Random, piece: Piece, edges: Sequence[Edge]) -> Step:
    edge = dice.choice(list(edges))
    corner = dice.choice([edge.start, edge.end])
    other = edge.end if corner == edge.start else edge.start
    return Wedge(piece=piece.name, edge=edge.name, start=AtCorner(other), corner=corner, amount=_amount(dice, 8.0))


def laid_out(name: str, form: str, folder: Path) -> Path:
    """A clean pattern in a form, with its plan beside it."""
    drawing, plan = written(Spoilt(clean(name), clean(name).pieces), form)
    path = folder / f"{name}{SUFFIX[form]}"
    path.write_text(drawing, encoding="utf-8")
    path.with_suffix(".seams.toml").write_text(plan, encoding="utf-8")
    return path


def measured(name: str, form: str, step: Step, folder: Path) -> Tried:
    """One recipe on a pattern."""
    path = laid_out(name, form, folder)
    recipe = parse_recipe(format_recipe(Recipe(steps=(step,))))
    left = alter_file(str(path), recipe, Request(), registry(), Settings(), leave=True)
    return _measured(Tried(name, step), path, recipe, left, form)


def tried(name: str, form: str, dice: random.Random, folder: Path) -> tuple[Tried, int]:
    """One random recipe on a pattern, and how many before it paper does not allow."""
    path = laid_out(name, form, folder)
    reading = read_whole(str(path), Request(), registry(), Settings())
    assert reading.plan is not None
    pieces = pieces_of(path)
    for refused in range(TRIES):
        piece = dice.choice(pieces)
        fold = (
            reading.plan.piece(piece.name).fold
            if any(one.name == piece.name for one in reading.plan.pieces)
            else None
        )
        try:
            step = random_step(dice, piece, fold)
            recipe = parse_recipe(format_recipe(Recipe(steps=(step,))))
            left = alter_file(str(path), recipe, Request(), registry(), Settings(), leave=True)
        except (SeamcheckError, ValueError):
            continue
        return _measured(Tried(name, step), path, recipe, left, form), refused
    raise RuntimeError(f"nothing can be made on {name}")


def _measured(one: Tried, path: Path, recipe: Recipe, left: AlteredFile, form: str) -> Tried:
    output = path.with_name(f"left{path.suffix}")
    try:
        write_altered(left, str(output), Request(), registry(), Settings(), force=True)
        one.undone = undo(str(output))[0] == path.read_bytes()
        _, comparison = read_both(str(path), str(output), Request(), registry(), Settings())
        change = next((piece for piece in comparison.pieces if piece.name == one.step.piece), None)
        if change is None:
            one.found = False
        else:
            _RECOVERED[type(one.step)](one, change, left)
    except SeamcheckError as error:
        one.found, one.stopped = False, f"left: {error}"
    finally:
        output.with_suffix(".seams.toml").unlink(missing_ok=True)
    try:
        trued = alter_file(str(path), recipe, Request(), registry(), Settings())
        write_altered(trued, str(output), Request(), registry(), Settings(), force=True)
        # What the pattern had before is no part of the alteration.
        had = {finding_key(f) for size in trued.sizes for f in size.before.judged.findings}
        one.left = [
            f"{f.check}/{f.code}" for f in trued.trued.left if f.severity != "note" and finding_key(f) not in had
        ]
    except SeamcheckError as error:
        one.left, one.stopped = ["not written"], one.stopped or f"trued: {error}"
    finally:
        output.with_suffix(".seams.toml").unlink(missing_ok=True)
    return one


def finding_key(finding: Finding) -> tuple[object, ...]:
    """What makes two findings the same."""
    return finding.check, finding.code, finding.seam, finding.edges, finding.pieces, finding.size


def _of_hinge(one: Tried, change: PieceChange, left: AlteredFile) -> None:
    done = left.sizes[0].steps[0]
    assert isinstance(one.step, Hinge)
    assert done.turned is not None
    turn, at = done.turned.turns[0], done.turned.cut.end
    # Two cuts may turn alike: the one about that hinge is meant.
    cuts = [cut for cut in change.cuts if cut.centre is not None]
    cut = min(
        cuts, key=lambda cut: (round(abs(abs(cut.turn) - abs(turn)), 2), abs((cut.centre or 0) - at)), default=None
    )
    if cut is None or cut.centre is None:
        one.found = False
        return
    one.turn = abs(abs(cut.turn) - abs(turn))
    one.hinge = abs(cut.centre - at)
    # With relief cuts the edge opens between the part that stays and the last of those that turned.
    opened = [stop.amount for cut in (change.cuts if one.step.reliefs else [cut]) for stop in cut.breaks]
    one.amount = min((abs(amount - one.step.amount) for amount in opened), default=None)
    one.found = one.amount is not None


def _of_parallel(one: Tried, change: PieceChange, left: AlteredFile) -> None:
    assert isinstance(one.step, Parallel)
    cut = min(change.cuts, key=lambda cut: abs(cut.shift - abs(one.step.amount)), default=None)
    if cut is not None:
        one.turn, one.amount = abs(cut.turn), abs(cut.shift - abs(one.step.amount))
        return
    # Between edges that run side by side it leaves the same paper as the edge beyond it let out.
    ends = [end.amount for end in change.ends]
    one.found = len(ends) == 2
    one.amount = max((abs(amount - one.step.amount) for amount in ends), default=None)


def _of_scoop(one: Tried, change: PieceChange, left: AlteredFile) -> None:
    assert isinstance(one.step, Scoop)
    mine = [line for line in change.redrawn if line.edge == one.step.edge]
    one.found = bool(mine)
    if mine:
        one.amount = min(abs(-line.depth - one.step.amount) for line in mine)


def _of_extend(one: Tried, change: PieceChange, left: AlteredFile) -> None:
    assert isinstance(one.step, Extend)
    ends = [end.amount for end in change.ends if (end.edge, end.corner) == (one.step.along, one.step.corner)]
    edge = change.edge(one.step.along)
    ends += [edge.change] if edge is not None else []
    one.found = bool(ends)
    one.amount = min((abs(amount - one.step.amount) for amount in ends), default=None)


def _of_line(one: Tried, change: PieceChange, left: AlteredFile) -> None:
    assert isinstance(one.step, Taper | Wedge)
    done = left.sizes[0].steps[0]
    old, new = (state.pieces[one.step.piece].edge(one.step.edge) for state in (done.before, done.laid))
    told = change.edge(one.step.edge)
    named = {line.edge for line in change.redrawn} | {end.edge for end in change.ends}
    one.found = told is not None and (one.step.edge in named or bool(change.cuts) or bool(change.redrawn))
    one.amount = None if told is None else abs(told.change - (new.length - old.length))


def _of_dart(one: Tried, change: PieceChange, left: AlteredFile) -> None:
    assert isinstance(one.step, DartMove)
    told = next((dart for dart in change.darts if one.step.dart in dart.corners), None)
    one.found = told is not None
    one.amount = None if told is None else abs(told.intake_after - told.intake_before - one.step.deeper)


_RECOVERED: dict[type[Step], Callable[[Tried, PieceChange, AlteredFile], None]] = {
    Hinge: _of_hinge,
    Parallel: _of_parallel,
    Scoop: _of_scoop,
    DartMove: _of_dart,
    Extend: _of_extend,
    Taper: _of_line,
    Wedge: _of_line,
}


def run(count: int, seed: int, form: str, names: Sequence[str] = NAMES) -> Iterator[tuple[Tried, int]]:
    """Random recipes, one after the other over the patterns."""
    with tempfile.TemporaryDirectory() as folder:
        for number in range(count):
            dice = random.Random(f"{seed} {form} {number}")
            yield tried(names[number % len(names)], form, dice, Path(folder))


DEMO = ROOT / "fixtures" / "ferryhand"
DEMO_FORMS = {
    "curves": "ferryhand.svg",
    "digitised": "ferryhand-digitised.svg",
    "cad": "ferryhand-cad.dxf",
    "apparel": "ferryhand-nest.dxf",
}


def fits() -> None:
    """A line a fit and form."""
    with tempfile.TemporaryDirectory() as folder:
        for fit in registry().fits:
            for form, name in DEMO_FORMS.items():
                tell(_of_fit(fit.name, form, DEMO / name, Path(folder)))


def _of_fit(fit: str, form: str, path: Path, folder: Path) -> str:
    recipe = Recipe(steps=(FitStep(piece="", fit=fit),))
    request = Request(plan=path.with_suffix(".seams.toml"))
    left = alter_file(str(path), recipe, request, registry(), Settings(), leave=True)
    output = folder / f"{fit}-{form}{path.suffix}"
    tried_sizes = [Tried(fit, size.steps[0].step) for size in left.sizes]
    stopped = ""
    try:
        write_altered(left, str(output), request, registry(), Settings(), force=True)
        _, comparison = read_both(str(path), str(output), Request(), registry(), Settings())
        for one, size in zip(tried_sizes, left.sizes, strict=True):
            change = comparison.piece(one.step.piece, size.size)
            if change is None:
                one.found = False
            else:
                _RECOVERED[type(one.step)](one, change, replace(left, sizes=(size,)))
    except SeamcheckError as error:
        stopped = f"left: {error}"
    trued = alter_file(str(path), recipe, request, registry(), Settings())
    noise = {f"{f.check}/{f.code}" for f in trued.trued.left if f.severity != "note"}
    try:
        result, _ = write_altered(trued, str(output), request, registry(), Settings(), force=True)
        noise |= {f"{f.check}/{f.code}" for f in result.findings if f.severity != "note" and f.accepted is None}
        undone_to = undo(str(output))[0]
        noise |= set() if undone_to == path.read_bytes() else {"not undone"}
    except SeamcheckError as error:
        stopped = stopped or f"trued: {error}"
    proposals = [p for size in trued.sizes if size.truing is not None for p in size.truing.proposals]
    stray = max((p.alternatives[p.taken].beyond for p in proposals), default=0.0)
    worst = {
        key: max(values)
        for key in ("turn", "amount", "hinge")
        if (values := [value for one in tried_sizes if (value := getattr(one, key)) is not None])
    }
    missed = " ".join(f"{key} {value:.4f}" for key, value in worst.items())
    found = sum(one.found for one in tried_sizes)
    what = stopped or f"{tried_sizes[0].move}: {missed}"
    return (
        f"{fit:18} {form:10} {found} of {len(left.sizes)} sizes told  {what:54} "
        f"{'quiet' if not noise else ', '.join(sorted(noise))}  strays {stray:.2f} mm"
    )


def tell(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--form", choices=list(LOOSE), default="curves")
    parser.add_argument("--patterns", nargs="*", default=list(NAMES))
    parser.add_argument("--what", choices=["random", "fits"], default="random")
    asked = parser.parse_args()
    if asked.what == "fits":
        fits()
        return
    results, refused = [], 0
    for one, before in run(asked.count, asked.seed, asked.form, asked.patterns):
        results.append(one)
        refused += before
        if not one.is_recovered(asked.form) or one.left or not one.undone or one.stopped:
            missed = " ".join(
                f"{key}={getattr(one, key):.3f}"
                for key in ("turn", "amount", "hinge")
                if getattr(one, key) is not None
            )
            tell(
                f"{one.name}: {one.step} | found {one.found} {missed} | left {one.left} | undone {one.undone} {one.stopped}"
            )
    tell(f"{len(results)} recipes, {refused} that paper does not allow drawn anew, form {asked.form}")
    for move in sorted({one.move for one in results}):
        mine = [one for one in results if one.move == move]
        good = [one for one in mine if one.is_recovered(asked.form)]
        quiet = [one for one in mine if not one.left]
        errors = [one.amount for one in good if one.amount is not None]
        hinges = [one.hinge for one in good if one.hinge is not None]
        tell(
            f"{move:9} {len(mine):4}  recovered {len(good) / len(mine):6.1%}  quiet {len(quiet) / len(mine):6.1%}  undone "
            f"{sum(one.undone for one in mine) / len(mine):6.1%}  amount off: median {median(errors or [0.0]):.4f}, worst {max(errors or [0.0]):.4f} mm"
            + (f"  hinge off: median {median(hinges):.3f}, worst {max(hinges):.3f} mm" if hinges else "")
        )
    good = sum(one.is_recovered(asked.form) for one in results)
    tell(f"all: recovered {good / len(results):.1%}, quiet {sum(not one.left for one in results) / len(results):.1%}")


if __name__ == "__main__":
    main()

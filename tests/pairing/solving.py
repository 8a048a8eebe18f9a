"""Solvers for tests, and their lines by name: of pieces made in memory, or of a drawing without its plan."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.append(str(Path(__file__).parents[1] / "benchmarks"))

from made_pieces import pattern
from pairing_truth import Truth, opened, true_seams

from seamcheck.pairing.alike import Classes
from seamcheck.pairing.candidates import Candidate
from seamcheck.pairing.lines import survey
from seamcheck.pairing.propose import propose, use_name
from seamcheck.pairing.solver import Hints, Solver

DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand" / "ferryhand.svg"
# What is sewn in the demo, by the lines of its file; either end of the front facing, its own mirror image, may be the side.
DEMO_SEAMS = tuple(
    frozenset(pair.split(", "))
    for pair in (
        "Front.e5, Back.e5", "Front.e3, Back.e7", "Front.e2", "Back.e8", "Front.e1, Band front.e3", "Back.e1, Band back.e3",
        "Band front.e1, Facing front.e1", "Band back.e1, Facing back.e1", "Band front.e4, Band back.e2",
        "Facing front.e2, Facing back.e2",
    )
)  # fmt: skip


def classes_of(*pieces) -> Classes:
    return Classes(*survey(pattern(*pieces).pieces))


def solver_of(*pieces, hints: Hints | None = None) -> Solver:
    return Solver(*survey(pattern(*pieces).pieces), hints)


def solver_of_file(path: Path = DEMO) -> Solver:
    """A new solver for a drawing, whatever plan lies beside it."""
    return propose(*opened(path)).solver


def named(classes: Classes, line: int) -> str:
    """ "Front.e3", of the first of the lines that are alike."""
    own = classes.lines[classes.root(line)]
    return f"{classes.parts[own.piece].name}.{own.name}"


def line_of(classes: Classes, name: str) -> int:
    return next(k for k in sorted(classes.members) if named(classes, k) == name)


def edges(classes: Classes, one: Candidate) -> frozenset[str]:
    """The names of the whole lines that a candidate brings together; of a part of one, as it is walked."""
    return frozenset(
        named(classes, use.line) if use.whole else use_name(use, classes.parts, classes.lines)
        for side in one.seam
        for use in side
    )


def sure_and_wrong(path: Path) -> list[str]:
    """The seams of a drawing that are proposed as sure and lie on none of the true plan beside it."""
    drawing, sheet = opened(path)
    solution = propose(drawing, sheet)
    seams = true_seams(
        drawing, sheet, path.with_suffix(".seams.toml"), size=solution.size, drawn=solution.allowance is None
    )
    sure = [one.candidate for one in solution.solver.found if one.sure]
    hits = Truth(solution.classes, seams).hits([one.seam for one in sure])
    return [str(sorted(edges(solution.classes, one))) for one, hit in zip(sure, hits, strict=True) if not hit]


def sewn(solver: Solver) -> set[frozenset[str]]:
    return {edges(solver.classes, one.candidate) for one in solver.found}

"""How well seams are paired, at once and after some answers.

    python tests/benchmarks/bench_pairing.py [--set corpus|heldout|unseen|fourth] [--answers 0 1 2 3 5]
        [--versions whole bare altered] [--show] [PATTERN ...]
    python tests/benchmarks/bench_pairing.py --like corpus|heldout|garments [--count 400] [--show] [PATTERN ...]

Every pattern of a set is solved as drafted with labels and notches, bare of both, and altered. A proposed seam is right
when every stretch of it lies on one true seam and on the place of it that the plan puts there; which of several like lines
it takes makes no difference. A true seam is found when right seams cover nine tenths of it. An answer says of the edge
that is asked what it is truly sewn to.

`--like` says what a pattern with its plan lends: in a set the whole form to the altered and to the bare one, of the grammar of
garments one garment to another of the same design and structure, drafted from another seed in other habits. Seams that are lent
are told from what is proposed besides.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "fixtures"), str(Path(__file__).parent)]

from drafted import SETS, drafted  # noqa: E402
from pairing_examples import Tally  # noqa: E402
from pairing_lent import lending, of_garments, of_set  # noqa: E402
from pairing_truth import Truth, opened, true_seams  # noqa: E402

from seamcheck.pairing.asking import asked  # noqa: E402
from seamcheck.pairing.propose import Solution, propose, use_name  # noqa: E402
from seamcheck.pairing.solver import Answer, Solver  # noqa: E402

HARDLY = 0.1  # share of an edge that is sewn when a person would still say that it stays free
VERSIONS = ("whole", "bare", "altered")


def tell(*words: object) -> None:
    sys.stdout.write(" ".join(map(str, words)) + "\n")
    sys.stdout.flush()


def answered(solver: Solver, truth: Truth, most: int) -> int:
    """Answer up to so many questions by the truth."""
    left = [most]

    def reply(question):
        if not left[0]:
            return None
        left[0] -= 1
        right = [k for k, hit in enumerate(truth.hits([one.candidate.seam for one in question.options])) if hit]
        if right:
            return right[0]
        return truth.told(question.line) or (Answer.UNKNOWN if truth.sewn(question.line) > HARDLY else Answer.FREE)

    return asked(solver, reply)


def counted(tally: Tally, solver: Solver, truth: Truth) -> None:
    found = solver.found
    tally.add(truth.hits([one.candidate.seam for one in found]), [one.sure for one in found], len(truth.seams))


def solved(path: Path, plan: Path) -> tuple[Solution, Truth, float]:
    drawing, sheet = opened(path)
    began = time.perf_counter()
    solution = propose(drawing, sheet)
    took = time.perf_counter() - began
    drawn = solution.allowance is None
    return solution, Truth(solution.classes, true_seams(drawing, sheet, plan, size=solution.size, drawn=drawn)), took


def show(name: str, solution: Solution, truth: Truth) -> None:
    """What is wrong in one pattern, and what was not found."""
    found = solution.solver.found
    hits = truth.hits([one.candidate.seam for one in found])
    missed = {seam.name for seam in truth.seams} - {truth.seams[k].name for hit in hits for k in hit}
    tell(f"{name}: missed {sorted(missed)}")
    for one, hit in zip(found, hits, strict=True):
        if not hit:
            sides = [
                " + ".join(use_name(use, solution.parts, solution.lines) for use in side)
                for side in one.candidate.seam
            ]
            tell(f"   {'SURE AND ' if one.sure else ''}WRONG {one.likely:.2f}", " to ".join(sides))


def like(name: str, count: int, patterns: list[str], *, each: bool) -> None:
    """Tell what is lent in a set, or of the garments of so many seeds."""
    tallies: dict[str, tuple[Tally, Tally, Tally]] = {}
    slowest, nothing, unread = 0.0, 0, 0
    with tempfile.TemporaryDirectory() as folder:
        pairs = of_garments(Path(folder), count) if name == "garments" else of_set(name, patterns)
        for pair in pairs:
            if name == "garments" and patterns and not any(one in pair.name for one in patterns):
                continue
            try:
                found = lending(pair)
                solution, truth, _ = solved(pair.file, pair.plan)
            except KeyError:  # a garment that is not read as it was drafted
                unread += 1
                continue
            if found is None:
                nothing += 1
                if each:
                    tell(f"{pair.name}: nothing is lent")
                continue
            slowest = max(slowest, found.took)
            rows = list(zip(found.proposal.seams, found.hits, strict=True))
            of_lent = [(one, hit) for one, hit in rows if any(why.term == "memory" for why in one.reasons)]
            kind = "garments" if name == "garments" else pair.name.rpartition(" ")[2]
            own_tallies = tallies.setdefault(kind, (Tally(), Tally(), Tally()))
            counted(own_tallies[2], solution.solver, truth)
            for tally, own in zip(own_tallies, (of_lent, rows), strict=False):
                tally.add([hit for _, hit in own], [one.standing == "sure" for one, _ in own], found.seams)
            if each:
                tell(f"{pair.name}: {sum(bool(hit) for _, hit in of_lent)} of {found.seams} lent")
                for one, hit in rows:
                    if not hit:
                        tell(f"   {one.standing} WRONG", *(" + ".join(map(str, side)) for side in one.seam.sides))
                        tell("     ", "; ".join(why.words for why in one.reasons))
    for kind, (of_lent, whole, without) in tallies.items():
        tell(f"{name} {kind:8} lent: {of_lent}")
        tell(f"{name} {kind:8} all:  {whole}")
        tell(f"{name} {kind:8} without: {without}")
    tell(f"nothing lent to {nothing}, {unread} not read as drafted; slowest {slowest:.2f} s")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--set", choices=SETS, default="corpus")
    parser.add_argument("--answers", type=int, nargs="*", default=[0, 1, 2, 3, 5])
    parser.add_argument("--versions", nargs="*", choices=VERSIONS, default=VERSIONS)
    parser.add_argument("--like", choices=(*SETS, "garments"))
    parser.add_argument("--count", type=int, default=400)
    parser.add_argument("--show", action="store_true")
    parser.add_argument("patterns", nargs="*")
    options = parser.parse_args()
    if options.like:
        like(options.like, options.count, options.patterns, each=options.show)
        return
    folder = drafted(options.set)
    with (folder / "manifest.toml").open("rb") as file:
        patterns = tomllib.load(file)["patterns"]
    tallies = {(version, count): Tally() for version in options.versions for count in options.answers}
    slowest = 0.0
    for version in options.versions:
        for name, entry in patterns.items():
            if options.patterns and name not in options.patterns:
                continue
            solution, truth, took = solved(
                folder / entry[version], folder / entry["bare-plan" if version == "bare" else "plan"]
            )
            slowest = max(slowest, took)
            if options.show:
                show(f"{name} {version}", solution, truth)
            solver, given = solution.solver, 0
            for count in options.answers:
                given += answered(solver, truth, count - given) if count > given else 0
                counted(tallies[version, count], solver, truth)
        for count in options.answers:
            tell(f"{options.set} {version:8} after {count} answers: {tallies[version, count]}")
    tell(f"slowest {slowest:.2f} s")


if __name__ == "__main__":
    sys.exit(main())

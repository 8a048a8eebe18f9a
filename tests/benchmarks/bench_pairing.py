"""How well seams are paired: share of true seams judged and asked about, and how many were sure and wrong.

    python tests/benchmarks/bench_pairing.py [--set corpus|heldout|unseen] [--half tune|report] [--show] [PATTERN ...]

Every pattern of the set is proposed for as drafted with labels and notches, bare of both, and altered. A proposed seam
is right when every stretch of it lies on one true seam and on the place of it that the plan puts there; which of several
like lines it takes (the two halves of a symmetric piece, copies of one piece) makes no difference. A true seam is found
when right seams cover nine tenths of it.
"""

from __future__ import annotations

import argparse
import itertools
import sys
import time
import tomllib
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from seamcheck.config.plan_file import read_plan
from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request, read_options
from seamcheck.pairing.lines import Use, reach
from seamcheck.pairing.propose import Solution, SolvedSeam, propose
from seamcheck.pieces.build import build_pattern
from seamcheck.pieces.outline import assemble
from seamcheck.reading import read_drawing

sys.path[:0] = [str(Path(__file__).parents[2] / "fixtures")]

from drafted import drafted  # noqa: E402

STEPS = 20
OFF_LINE = 2.5  # mm: how far from a true side a proposed one may lie
OFF_PLACE = 0.04  # share of the seam, or 16 mm, by which a place may be another's mate: an alteration shifts it
FOUND = 0.9


@dataclass(frozen=True)
class TrueSeam:
    """A seam of the plan: its two sides as points."""

    name: str
    sides: tuple[Side, Side]
    length: float


@dataclass(frozen=True)
class Side:
    """The edges of a side, and how far points are from it that were asked for before."""

    runs: list[Run]
    known: dict[tuple[str, complex], tuple[float, list[float]]]


@dataclass(frozen=True)
class Run:
    """One edge of a side as points, and how far along the side each lies."""

    piece: str
    points: np.ndarray
    shares: np.ndarray


def opened(path: Path):
    settings = Settings()
    drawing = read_drawing(str(path), read_options(Request(), settings), plugins.load(settings).importers)
    return drawing, assemble(drawing)


def true_seams(drawing, sheet, plan_path: Path, proposal: Solution) -> list[TrueSeam]:
    plan, size = read_plan(plan_path), proposal.size
    if proposal.allowance is None:  # both on the line that the file draws
        plan = replace(plan, pieces=tuple(replace(p, line=None, allowance=None, allowances={}) for p in plan.pieces))
    pieces = {piece.name: piece for piece in build_pattern(drawing, sheet, plan).in_size(size)}
    seams = []
    for seam in plan.seams:
        sides = []
        for uses in seam.sides:
            edges = [(pieces[use.piece], pieces[use.piece].edge(use.edge), use.backwards) for use in uses]
            total = sum(edge.length for _, edge, _ in edges)
            runs, along = [], 0.0
            for piece, edge, backwards in edges:
                stations = np.linspace(0.0, edge.length, 2 * STEPS + 1)
                points = np.array([edge.point(edge.length - at if backwards else at) for at in stations])
                runs.append(Run(piece.in_file, points, (along + stations) / total))
                along += edge.length
            sides.append(Side(runs, {}))
        seams.append(TrueSeam(seam.name, (sides[0], sides[1]), total))
    return seams


def _nearest(side: Side, piece: str, at: complex) -> tuple[float, list[float]]:
    """How far a point is from a side, and the shares at which it lies there."""
    if (piece, at) in side.known:
        return side.known[piece, at]
    runs = [run for run in side.runs if run.piece == piece]
    best, shares = 1e9, []
    if runs:
        a, b = (np.concatenate([run.points[ends] for run in runs]) for ends in (slice(None, -1), slice(1, None)))
        low, high = (np.concatenate([run.shares[ends] for run in runs]) for ends in (slice(None, -1), slice(1, None)))
        along = np.clip(((at - a) * (b - a).conj()).real / np.maximum(abs(b - a) ** 2, 1e-18), 0.0, 1.0)
        distances = abs(a + along * (b - a) - at)
        best = float(distances.min())
        near = distances < best + 1.0
        shares = list((low + along * (high - low))[near])
    side.known[piece, at] = best, shares
    return best, shares


def share_of(truth: TrueSeam, first: tuple[str, complex], second: tuple[str, complex]) -> float | None:
    """How far along a true seam two points lie that it brings together, None when it does not."""
    limit = max(OFF_PLACE, 16.0 / truth.length)
    for mine, theirs in ((0, 1), (1, 0)):
        off_a, at_a = _nearest(truth.sides[mine], *first)
        off_b, at_b = _nearest(truth.sides[theirs], *second)
        if off_a <= 1.0 + OFF_LINE and off_b <= 1.0 + OFF_LINE:
            pairs = [x for x in at_a for y in at_b if abs(x - y) <= limit]
            if pairs:
                return pairs[0]
    return None


def points_of(proposal: Solution, uses: tuple[Use, ...]) -> list[tuple[str, complex]]:
    lines, parts = proposal.lines, proposal.parts
    spans = [reach(use, lines[use.line]) for use in uses]
    total = sum(high - low for low, high in spans)
    points = []
    for share in np.linspace(0.03, 0.97, STEPS):
        at = share * total
        for number, (use, (low, high)) in enumerate(zip(uses, spans, strict=True), 1):
            line = lines[use.line]
            if at <= high - low or number == len(uses):
                piece = parts[line.piece].piece
                along = high - at if use.backwards else low + at
                for name in line.edges:
                    edge = piece.edge(name)
                    if along <= edge.length or name == line.edges[-1]:
                        points.append((piece.in_file, edge.point(min(along, edge.length))))
                        break
                    along -= edge.length
                break
            at -= high - low
    return points


def variants(proposal: Solution, seam: SolvedSeam):
    """The seam on like lines: other halves of symmetric pieces, other copies."""
    group, lines = proposal.groups, proposal.lines
    like = {}
    for index, (root, hand) in group.items():
        like.setdefault(root, []).append((index, hand))
    uses = (*seam.first, *seam.second)
    distinct = list(dict.fromkeys(uses))
    options = []
    for use in distinct:
        root, hand = group[use.line]
        choices = [_like(use, lines, index, hand ^ other) for index, other in like[root]]
        choices.sort(key=lambda one, own=use: one != own)
        if use.line in proposal.either_way:
            choices += [one.turned() for one in choices]
        options.append(choices)
    for choice in itertools.islice(itertools.product(*options), 400):
        chosen = dict(zip(distinct, choice, strict=True))
        taken = [chosen[use] for use in uses]
        yield tuple(taken[: len(seam.first)]), tuple(taken[len(seam.first) :])


def _like(use: Use, lines, index: int, flipped: bool) -> Use:
    """The same stretch of a like line."""
    if not flipped or use.whole:
        return Use(index, use.backwards ^ flipped, use.low, use.high)
    last = len(lines[index].marks) - 1
    high = last if use.high == -1 else use.high
    low, high = last - high, last - use.low
    return Use(index, not use.backwards, low, -1 if high == last else high)


def judge(proposal: Solution, truths: list[TrueSeam], seam: SolvedSeam, taken: frozenset[str] = frozenset()):
    """The true seams that a proposed one lies on; those not `taken` by another before those that are."""
    other = []
    for first, second in variants(proposal, seam):
        a, b = points_of(proposal, first), points_of(proposal, second)
        shares: dict[str, list[float]] = {}
        covered = [False] * STEPS
        for k, pair in enumerate(zip(a, b, strict=True)):
            for truth in truths:
                if (share := share_of(truth, *pair)) is not None:
                    shares.setdefault(truth.name, []).append(share)
                    covered[k] = True
            if covered[: k + 1].count(False) > 1:
                break
        # One place may miss where two true seams meet inside the proposed one.
        if sum(covered) >= STEPS - 1:
            hits = [
                (truth, (min(found), max(found))) for truth in truths if len(found := shares.get(truth.name, [])) > 2
            ]
            if not {truth.name for truth, _ in hits} & taken:
                return hits
            other = other or hits
    return other


def measure(path: Path, plan: Path, altered: str = ""):
    drawing, sheet = opened(path)
    started = time.perf_counter()
    proposal = propose(drawing, sheet)
    took = time.perf_counter() - started
    truths = true_seams(drawing, sheet, plan, proposal)
    found = {truth.name: [0.0, 0.0] for truth in truths}
    wrong, asked_wrong, flagged = [], 0, False
    for seam in proposal.seams:
        taken = frozenset(name for name, (sure, _) in found.items() if sure >= FOUND)
        hits = judge(proposal, truths, seam, taken if seam.sure else frozenset())
        if not hits and seam.sure:
            wrong.append(seam)
        if not hits and not seam.sure:
            asked_wrong += 1
        for truth, (low, high) in hits:
            found[truth.name][0 if seam.sure else 1] += (high - low) / 0.93
            if seam.sure and found[truth.name][0] > 1.3:
                wrong.append(seam)  # one side sewn twice
            if truth.name == altered and seam.sure:
                flagged |= abs(seam.difference) > 1.6
    judged = [name for name, (sure, _) in found.items() if sure >= FOUND]
    asked = [name for name, (sure, ask) in found.items() if sure < FOUND and sure + ask >= FOUND]
    missed = [name for name in found if name not in judged and name not in asked]
    return {
        "proposal": proposal, "truths": truths, "judged": judged, "asked": asked, "missed": missed, "wrong": wrong,
        "asked_wrong": asked_wrong, "flagged": flagged, "took": took,
    }  # fmt: skip


def tell(*words: object) -> None:
    sys.stdout.write(" ".join(map(str, words)) + "\n")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--set", choices=("corpus", "heldout", "unseen"), default="corpus")
    parser.add_argument("--half", choices=("tune", "report"))
    parser.add_argument(
        "--show", action="store_true", help="tell of what was missed and wrong, but not of the half to report on"
    )
    parser.add_argument("patterns", nargs="*")
    options = parser.parse_args()
    folder = drafted(options.set)
    with (folder / "manifest.toml").open("rb") as file:
        patterns = tomllib.load(file)["patterns"]
    versions = ("whole", "bare", "altered")
    totals: dict[tuple[str, str], list[float]] = {}
    for name, entry in patterns.items():
        half = entry["half"]
        if (options.half and half != options.half) or (options.patterns and name not in options.patterns):
            continue
        for version in versions:
            if version not in entry:
                continue
            plan = folder / entry["bare-plan" if version == "bare" else "plan"]
            altered = entry["alteration"]["seam"] if version == "altered" else ""
            result = measure(folder / entry[version], plan, altered)
            count = len(result["truths"])
            row = totals.setdefault((half, version), [0.0] * 9)
            for k, value in enumerate((
                count, len(result["judged"]), len(result["asked"]), len(result["wrong"]), result["asked_wrong"],
                altered in result["judged"], result["flagged"], 1, result["took"],
            )):  # fmt: skip
                row[k] = max(row[k], value) if k == 8 else row[k] + value
            if options.show and half != "report":
                tell(
                    f"{name} {version}: judged {len(result['judged'])}/{count}, asked {result['asked']}, missed {result['missed']}"
                    + (
                        f", altered {'judged' if altered in result['judged'] else 'NOT judged'}, flagged {result['flagged']}"
                        if altered
                        else ""
                    )
                )
                for seam in result["wrong"]:
                    tell("   SURE AND WRONG:", result["proposal"].told(seam), round(seam.points, 1))
                if options.patterns:
                    for seam in result["proposal"].seams:
                        hits = judge(result["proposal"], result["truths"], seam)
                        tell(
                            "  ",
                            "sure" if seam.sure else "ask ",
                            f"{seam.points:5.1f} s={seam.score:.1f} m={seam.margin:.1f}",
                            result["proposal"].told(seam),
                            [truth.name for truth, _ in hits] or "WRONG",
                            [(round(t.points, 1), t.words) for t in seam.terms],
                            seam.runner_up,
                        )
    tell(f"{'half':10}{'version':9}{'patterns':>9}{'seams':>7}{'judged':>9}{'asked':>9}{'sure+wrong':>12}{'asked+wrong':>13}"
          f"{'altered judged':>16}{'flagged':>9}{'slowest':>9}")  # fmt: skip
    for (half, version), row in totals.items():
        count, judged, asked, wrong, asked_wrong, altered_judged, flagged, files, slowest = row
        tell(f"{half:10}{version:9}{files:9.0f}{count:7.0f}{judged / count:9.1%}{asked / count:9.1%}{wrong:12.0f}{asked_wrong:13.0f}"
              + (f"{altered_judged:16.0f}{flagged:9.0f}" if version == "altered" else " " * 25) + f"{slowest:8.2f}s")  # fmt: skip


if __name__ == "__main__":
    sys.exit(main())

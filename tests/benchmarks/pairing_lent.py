"""Patterns each with another that may lend it a plan, and which of the seams that are proposed then are right."""

from __future__ import annotations

import tempfile
import time
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from drafted import drafted
from garments.compose import composed
from pairing_truth import SAMPLES, STATIONS, Truth, opened, true_seams

from seamcheck.config.plan_file import parse_plan
from seamcheck.engine.lending import memories
from seamcheck.engine.propose import propose_seams
from seamcheck.engine.read import Request
from seamcheck.engine.workspace import Shops
from seamcheck.errors import InputError
from seamcheck.pairing.alike import Classes
from seamcheck.pairing.lines import survey
from seamcheck.pairing.proposal import Proposal, ProposedSeam
from seamcheck.pieces.build import build_pattern


@dataclass(frozen=True)
class Pair:
    """A file with its true plan, and another with its plan beside it."""

    name: str
    file: Path
    plan: Path
    other: Path


@dataclass(frozen=True)
class Lending:
    """A proposal like another pattern: the true seams that each of its seams lies on, how many there are, and seconds."""

    proposal: Proposal
    hits: list[dict[int, tuple[float, float]]]
    seams: int
    took: float


def of_set(name: str, patterns: Sequence[str] = ()) -> Iterator[Pair]:
    """The patterns of a set, altered and bare, each like the whole one."""
    folder = drafted(name)
    with (folder / "manifest.toml").open("rb") as file:
        entries = tomllib.load(file)["patterns"]
    for slug, entry in entries.items():
        if not patterns or slug in patterns:
            for form, plan in (("altered", "plan"), ("bare", "bare-plan")):
                yield Pair(f"{slug} {form}", folder / entry[form], folder / entry[plan], folder / entry["whole"])


def of_garments(folder: Path, count: int) -> Iterator[Pair]:
    """Garments of so many seeds, each like another of its design and structure in other measures and habits."""
    waiting: dict[object, Path] = {}
    for seed in range(count):
        try:
            made = composed(seed, plainly=True)
        except Exception:
            continue
        plan = parse_plan(made.plan)
        structure = (
            made.design,
            frozenset((piece.name, tuple(sorted(piece.edges))) for piece in plan.pieces),
            frozenset(str([[str(use) for use in side] for side in seam.sides]) for seam in plan.seams),
        )
        path = folder / f"{seed}{made.suffix}"
        path.write_text(made.text, encoding="utf-8")
        path.with_suffix(".seams.toml").write_text(made.plan, encoding="utf-8")
        if structure in waiting:
            other = waiting.pop(structure)
            yield Pair(f"{made.design} {seed} like {other.stem}", path, path.with_suffix(".seams.toml"), other)
        else:
            waiting[structure] = path


def lending(pair: Pair, like: Path | None = None) -> Lending | None:
    """What is proposed for a file like the other, or like a folder; None where nothing is lent."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / f"of {pair.file.name}"
        copy.write_bytes(pair.file.read_bytes())
        shops = Shops(plugins=False)
        settings, registry = shops.of(str(copy))
        began = time.perf_counter()
        try:
            remembered = memories(str(like or pair.other), str(copy), shops)
            proposal = propose_seams(str(copy), Request(), registry, settings, None, remembered)
        except InputError:
            return None
        took = time.perf_counter() - began
    drawing, sheet = opened(pair.file)
    sizes = proposal.pattern.sizes
    size = sizes[len(sizes) // 2]
    plan = replace(
        proposal.plan,
        pieces=tuple(replace(one, line=None, allowance=None, allowances={}) for one in proposal.plan.pieces),
    )
    classes = Classes(*survey(build_pattern(drawing, sheet, None).in_size(size)))
    truth = Truth(classes, true_seams(drawing, sheet, pair.plan, size=size, drawn=True))
    pieces = {piece.name: piece for piece in build_pattern(drawing, sheet, plan).in_size(size)}
    hits = [_hit(truth, pieces, one) for one in proposal.seams]
    return Lending(proposal, hits, len(truth.seams), took)


def _hit(truth: Truth, pieces, one: ProposedSeam) -> dict[int, tuple[float, float]]:
    walks = [_walked(truth, [(pieces[use.piece], use) for use in side]) for side in one.seam.sides]
    if any(walk is None for walk in walks):
        return {}
    return truth._hits(walks[0][None], walks[1][None])[0]


def _walked(truth: Truth, side) -> np.ndarray | None:
    """The line and the station number of places along a side, (SAMPLES, 2); None where it lies on no line."""
    edges = [(piece, piece.edge(use.edge), use.backwards) for piece, use in side]
    total = sum(edge.length for _, edge, _ in edges)
    places = []
    for share in np.linspace(0.03, 0.97, SAMPLES):
        at = share * total
        for number, (piece, edge, backwards) in enumerate(edges, 1):
            if at <= edge.length or number == len(edges):
                places.append((piece.in_file, edge.point(edge.length - at if backwards else at)))
                break
            at -= edge.length
    found = []
    for name, point in places:
        own = [line for line in truth.classes.lines if truth.classes.parts[line.piece].piece.in_file == name]
        near = [(*_nearest(truth, line, point), line.index) for line in own]
        if not near or min(near)[0] > 3.5:
            return None
        _, station, line = min(near)
        found.append((line, station))
    return np.array(found)


def _nearest(truth: Truth, line, point: complex) -> tuple[float, int]:
    piece, along = truth.classes.parts[line.piece].piece, 0.0
    best = (np.inf, 0)
    for name in line.edges:
        edge = piece.edge(name)
        station = edge.station_nearest(point)
        far = round(abs(edge.point(station) - point), 6)
        best = min(best, (far, round((along + station) / max(line.length, 1e-9) * STATIONS)))
        along += edge.length
    return best

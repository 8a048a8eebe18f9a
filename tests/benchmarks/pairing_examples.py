"""Composed garments as examples to learn from: what is measured of their candidates, and which of those are right."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from pairing_truth import FOUND, TrueSeam, Truth, opened, true_seams

from seamcheck.pairing import scorer
from seamcheck.pairing.alike import Classes
from seamcheck.pairing.candidates import Candidate, Rows, simple
from seamcheck.pairing.features import Measures, Table
from seamcheck.pairing.lines import survey
from seamcheck.pairing.meeting import parted
from seamcheck.pairing.solver import HOPELESS, first_look
from seamcheck.pieces.build import build_pattern


@dataclass
class Example:
    """A pattern's candidates with the true seams that each lies on; `layers` (R) is how often each line is sewn, to 2; the first
    `simple` are no rows, and `hopeful` (M) are those that are left after a first look."""

    name: str
    family: str
    design: str
    bare: bool
    classes: Classes
    candidates: list[Candidate]
    table: Table
    hits: list[dict[int, tuple[float, float]]]
    labels: np.ndarray
    layers: np.ndarray
    seams: int
    simple: int
    hopeful: np.ndarray


def example(name: str, family: str, design: str, path: Path, plan: Path, *, bare: bool, rows: bool = True) -> Example:
    """Read a drawing and its true plan; candidates on the line that the file draws."""
    drawing, sheet = opened(path)
    size = sheet.sizes[len(sheet.sizes) // 2] if sheet.sizes else ""
    parts, lines = survey(build_pattern(drawing, sheet, None).in_size(size))
    seams = true_seams(drawing, sheet, plan, size=size, drawn=True)
    return of_classes(name, family, design, Classes(parts, lines), seams, bare=bare, rows=rows)


def of_classes(
    name: str, family: str, design: str, classes: Classes, seams: Sequence[TrueSeam], *, bare: bool, rows: bool = True
) -> Example:
    if rows:
        look = first_look(classes)
        classes, measures, first, seen = look.classes, look.measures, look.candidates, look.scores.seams
        likely, hopeful = seen.tolist(), seen >= HOPELESS
        candidates = [*first, *Rows(classes, first, seen).candidates()]
    else:
        measures = Measures(classes)
        candidates = first = simple(classes)
        likely, hopeful = None, np.ones(len(first), dtype=bool)
    truth = Truth(classes, seams)
    table = measures.table(candidates, likely)
    hits = truth.hits([one.seam for one in candidates])
    labels = _labels(candidates, hits, parted(classes, candidates))
    return Example(
        name=name,
        family=family,
        design=design,
        bare=bare,
        classes=classes,
        candidates=candidates,
        table=table,
        hits=hits,
        labels=labels,
        layers=layers_of(classes, candidates, labels, measures.roots),
        seams=len(truth.seams),
        simple=len(first),
        hopeful=np.concatenate([hopeful, np.ones(len(candidates) - len(first), dtype=bool)]),
    )


def scored(one: Example) -> tuple[np.ndarray, np.ndarray]:
    """How likely the candidates of an example and the layers of its lines are; nought where the first look was hopeless."""
    some = scorer.score(one.table.only(one.hopeful))
    likely = np.zeros(len(one.labels))
    likely[one.hopeful] = some.seams
    return likely, some.lines


def _labels(
    candidates: Sequence[Candidate], hits: Sequence[dict], rows: Sequence[tuple[int, tuple[int, ...]]]
) -> np.ndarray:
    """Right, and said by no other that is better: a stretch where the whole would do teaches the wrong thing, and so does a row
    sewn to a row (`rows`, each with its parts) where line by line says the same."""
    doubled = {row for row, parts in rows if all(hits[k] for k in parts)}
    right = [k for k, hit in enumerate(hits) if hit and k not in doubled]
    whole = np.zeros(len(candidates), dtype=bool)
    for k in right:
        one = candidates[k]
        whole[k] = not any(one.atoms < candidates[j].atoms and set(hits[k]) <= set(hits[j]) for j in right)
    return whole


def layers_of(
    classes: Classes, candidates: Sequence[Candidate], labels: np.ndarray, roots: Sequence[int]
) -> np.ndarray:
    """How often the lines of each class are sewn, to 2: by how many right candidates want most of its stretches."""
    wanted: dict[tuple[int, int], set[frozenset[tuple[int, int]]]] = {}
    for one, right in zip(candidates, labels, strict=True):
        if right:
            for atom in one.atoms:
                wanted.setdefault(atom, set()).add(one.atoms)
    counts = []
    for root in roots:
        marks = len(classes.lines[root].marks) - 1
        each = [len(wanted.get((root, k), ())) for k in range(marks)]
        counts.append(min(int(np.median(each)), 2))
    return np.array(counts)


def composed_example(
    seed: int, only: Sequence[str] = (), *, plainly: bool = False, rows: bool = True
) -> Example | None:
    """The garment of a seed; None where what is drawn is not read as it was drafted."""
    from garments.compose import composed

    made = composed(seed, only, plainly=plainly)
    with tempfile.TemporaryDirectory() as folder:
        path, plan = Path(folder) / f"drawn{made.suffix}", Path(folder) / "drawn.seams.toml"
        path.write_text(made.text, encoding="utf-8")
        plan.write_text(made.plan, encoding="utf-8")
        return example(str(seed), made.family, made.design, path, plan, bare=made.bare, rows=rows)


@dataclass
class Tally:
    """What was found of some patterns."""

    seams: int = 0
    found: int = 0
    right: int = 0
    wrong: int = 0
    sure: int = 0
    sure_wrong: int = 0
    patterns: int = 0
    whole: int = 0

    @property
    def recall(self) -> float:
        return self.found / max(self.seams, 1)

    @property
    def precision(self) -> float:
        return self.right / max(self.right + self.wrong, 1)

    @property
    def f1(self) -> float:
        return 2 * self.recall * self.precision / max(self.recall + self.precision, 1e-9)

    def add(self, hits: Sequence[dict[int, tuple[float, float]]], sure: Sequence[bool], seams: int) -> None:
        """Count the seams proposed for one pattern: for each the true ones it lies on, and whether it is called sure."""
        cover: dict[int, float] = {}
        for hit in hits:
            for seam, (low, high) in hit.items():
                cover[seam] = cover.get(seam, 0.0) + (high - low) / 0.93
        found = sum(share >= FOUND for share in cover.values())
        right = sum(bool(hit) for hit in hits)
        self.seams += seams
        self.found += found
        self.right += right
        self.wrong += len(hits) - right
        self.sure += sum(map(bool, sure))
        self.sure_wrong += sum(is_sure and not hit for hit, is_sure in zip(hits, sure, strict=True))
        self.patterns += 1
        self.whole += found == seams and right == len(hits)

    def __str__(self) -> str:
        return (
            f"F1 {self.f1:.3f} recall {self.recall:.3f} precision {self.precision:.3f} "
            f"sure {self.sure} wrong {self.sure_wrong} whole {self.whole}/{self.patterns} (seams {self.seams})"
        )

"""How likely each candidate is, as a small network has learned it from composed garments.

Lines and candidates talk to each other for some rounds: a candidate hears what its lines and the lines beside its ends are
about, how likely what closes its corners is, what joins its row and what else sews its pieces; a line hears of the candidates
that want it. The weights are data, in `weights.npz`, made by `tests/benchmarks/train_pairing.py`; what is computed here is plain arithmetic of arrays.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt

from seamcheck.pairing.features import Floats, Ints, Table

FIRST_LOOK = 2  # rounds after which is told what is hopeless, and what rows are grown along
MOST = 8.0  # logarithm of odds up to which candidates hear of each other
KNOWN = 8.0  # what a candidate is worth of which a person has said that it is sewn; as much below 0 where it is not
STEADY = 4  # decimals of a result: the last bits of sums are left to no machine
BOLD = 1.1  # times the logarithms of odds are too sure of themselves on families of garments that were never learned from


@dataclass(frozen=True, slots=True)
class Scores:
    """For each candidate the logarithm of its odds (M), and for each line how likely it is sewn not at all, once, or more often (R, 3)."""

    odds: Floats
    lines: Floats

    @property
    def seams(self) -> Floats:
        """How likely each candidate is among garments as they were learned from (M): what rows are grown along."""
        return np.round(_odds(self.odds), STEADY)

    def calibrated(self, lean: Floats) -> Floats:
        """How likely each candidate is on a family of garments that was never learned from, and with what else is known of it (M).

        `lean` (M) is that knowledge, as logarithms of odds.
        """
        return np.round(_odds(self.odds / BOLD + lean), STEADY)


@cache
def weights() -> Mapping[str, Floats]:
    """The learned numbers of the network by their names."""
    with (files("seamcheck.pairing") / "weights.npz").open("rb") as file, np.load(file) as stored:
        return {name: stored[name].astype(np.float64) for name in stored.files if name != "about"}


def score(table: Table, known: Ints | None = None, rounds: int | None = None) -> Scores:
    """How likely the candidates of a pattern are after some rounds of talk, or after all; the same numbers on every machine.

    `known` (M) is what a person has said of each: 1 it is sewn, 0 it is not, NONE nothing.
    """
    if not len(table.first):
        return Scores(np.zeros(0), np.zeros((len(table.piece), 3)))
    seams, lines = _Network(weights()).run(table, known, rounds)
    return Scores(np.round(seams, STEADY), np.round(_softmax(lines), STEADY))


class _Network:
    """The rounds of talk; `tests/benchmarks/pairing_net.py` says the same for training."""

    def __init__(self, learned: Mapping[str, Floats]) -> None:
        self.learned = learned
        self.rounds = sum(name.endswith(".out.bias") for name in learned)

    def dense(self, name: str, x: Floats) -> Floats:
        return np.asarray(x @ self.learned[f"{name}.weight"].T + self.learned[f"{name}.bias"])

    def parts(self, name: str, first: Floats, *others: Floats) -> list[Floats]:
        """What each of some arrays that stand side by side adds to a layer, the first of them with its bias."""
        columns = np.split(self.learned[f"{name}.weight"].T, np.cumsum([x.shape[1] for x in (first, *others)])[:-1])
        told = [x @ own for x, own in zip((first, *others), columns, strict=True)]
        return [told[0] + self.learned[f"{name}.bias"], *told[1:]]

    def two(self, name: str, x: Floats) -> Floats:
        """Two layers with a bend between them."""
        return self.dense(f"{name}.2", np.maximum(self.dense(f"{name}.0", x), 0.0))

    def scaled(self, name: str, x: Floats) -> Floats:
        return np.clip((x - self.learned[f"{name}_mean"]) / self.learned[f"{name}_scale"], -5.0, 5.0)

    def run(self, table: Table, known: Ints | None, rounds: int | None) -> tuple[Floats, Floats]:
        count = len(table.piece)
        own = self.two("side", np.hstack([self.scaled("sides", table.sides), table.words]))
        own = own + self.two("end", self.scaled("ends", table.ends)).sum(axis=1)
        line = own[table.whole]
        of_side, in_side = table.parts.T
        candidate, wanted = table.wants.T
        # How much of a side is each line (S, R), and of what wants a line each candidate (R, M): sums are products of arrays.
        share, part = np.zeros((len(own), count)), np.zeros((count, len(table.first)))
        share[of_side, in_side] = 1.0 / np.bincount(of_side, minlength=len(own))[of_side]
        seams = self.scaled("seams", table.seams)
        # Many candidates are of the same two sides, or end beside the same two lines: those are compared once.
        a, b = table.first, table.second
        sides_a, sides_b, sides_at = _pairs(a, b)
        beside_b = np.where(table.turned[:, None], table.beside[b, ::-1], table.beside[b])
        ends_a, ends_b, ends_at = _pairs(table.beside[a] % (count + 1), beside_b % (count + 1))
        hidden = np.zeros((len(a), own.shape[1]))
        logit = np.zeros(len(a))
        rivals = np.zeros((len(a), 2))
        friends = np.zeros((len(a), 5))
        for turn in range(self.rounds if rounds is None else rounds):
            name = f"rounds.{turn}"
            side = own + share @ line
            seen, told = self.dense(f"{name}.look", side), self.dense(f"{name}.beside", line)
            beside = np.vstack([told, np.zeros((1, told.shape[1]))])  # the last row is NONE
            ends = self.two(f"{name}.ends", _both(beside[ends_a], beside[ends_b]))[ends_at].sum(axis=1)
            told, likeness, rest = self.parts(
                f"{name}.seam.0",
                seams,
                _both(seen[sides_a], seen[sides_b]),
                np.hstack([ends, hidden, rivals, friends]),
            )
            told += likeness[sides_at]
            told += rest
            hidden = hidden + self.dense(f"{name}.seam.2", np.maximum(told, 0.0))
            logit = self.dense(f"{name}.out", hidden)[:, 0]
            if known is not None:
                logit = np.where(known >= 0, KNOWN * (2.0 * known - 1.0), logit)
            wants = logit[candidate]
            top = np.zeros(count)
            np.maximum.at(top, wanted, wants)
            mass = np.exp(wants - top[wanted])
            total = np.exp(-top) + _summed(mass, wanted, count)
            part[wanted, candidate] = mass / total[wanted]
            heard = part @ self.dense(f"{name}.tell", hidden)
            busy = top + np.log(total)
            pieces = int(table.piece.max()) + 1
            size = np.maximum(np.bincount(table.piece, minlength=pieces), 1)[:, None]
            mean = (_summed(line, table.piece, pieces) / size)[table.piece]
            around = np.hstack([line, heard, busy[:, None], line[table.before], line[table.after], mean])
            around = np.hstack([around, np.broadcast_to(line.mean(axis=0), line.shape)])
            line = line + self.two(f"{name}.line", around)
            # What else wants the lines of a candidate: the least and the most of it.
            left = np.log(np.maximum(total[wanted] - mass, 1e-9)) + top[wanted]
            low, high = np.full(len(a), np.inf), np.full(len(a), -np.inf)
            np.minimum.at(low, candidate, left)
            np.maximum.at(high, candidate, left)
            rivals = np.clip(np.stack([low, high], axis=1), -12.0, 12.0)
            friends = _friends(table, logit)
        return logit, self.two("count", line)


def _friends(table: Table, logit: Floats) -> Floats:
    """What a candidate hears of those that belong to it: of its corners, its row, and the other seams of its two pieces (M, 5)."""
    count = len(logit)
    corners = np.full(2 * count, -MOST)
    np.maximum.at(corners, table.closing[:, 0], logit[table.closing[:, 1]])
    corners = np.clip(corners.reshape(-1, 2), -MOST, MOST)
    row = np.full(count, MOST)
    np.minimum.at(row, table.joined[:, 0], logit[table.joined[:, 1]])
    likely = _odds(logit)
    own, other = table.between.T
    total = _summed(likely, own, int(table.between.max()) + 1)
    return np.stack(
        [
            corners.min(axis=1) / MOST,
            corners.max(axis=1) / MOST,
            np.clip(row, -MOST, MOST) / MOST,
            np.log1p(total[own] - likely),
            np.log1p(total[other]),
        ],
        axis=1,
    )


def _odds(x: Floats) -> Floats:
    return np.asarray(1.0 / (1.0 + np.exp(-x)))


def _both(a: Floats, b: Floats) -> Floats:
    """What two sides are together, the same whichever is named first."""
    return np.concatenate([a + b, np.abs(a - b), a * b], axis=-1)


def _pairs(a: Ints, b: Ints) -> tuple[Ints, Ints, Ints]:
    """The pairs of numbers, each once whichever comes first, and which of them is each of the given ones."""
    count = int(max(a.max(), b.max())) + 1
    pairs, at = np.unique(np.minimum(a, b) * count + np.maximum(a, b), return_inverse=True)
    return pairs // count, pairs % count, at.reshape(a.shape)


def _summed(values: Floats, at: Ints, count: int) -> Floats:
    total = np.zeros((count, *values.shape[1:]))
    np.add.at(total, at, values)
    return total


def _softmax(x: npt.NDArray[np.float64]) -> Floats:
    grown = np.exp(x - x.max(axis=1, keepdims=True))
    return np.asarray(grown / grown.sum(axis=1, keepdims=True))

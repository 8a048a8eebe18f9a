"""Which pieces of one pattern answer to those of another that is planned, when neither measures nor names need be the same.

Pieces are taken one for another by form, size, name and place on the sheet. Then the seams of the plan have their say: with the right
pieces laid the right way, sides that are sewn together are to each other as they are there. A piece is exchanged, or laid
otherwise, as long as that costs less; where it would cost hardly more, nobody knows that it is the one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from seamcheck.comparison.likeness import MISFIT, Answering, Form, answering, ways
from seamcheck.comparison.piece_matching import closest
from seamcheck.pattern.model import Piece
from seamcheck.pattern.plan import SeamPlan

LIKE = 0.3  # misfit of pieces that may be taken for one another; where the name says so:
NAMED = 0.6
SIZES = 0.25, 0.15  # what logarithms of the ratios of the wide and the narrow radius of two pieces cost
LARGER = 0.5  # logarithm of how much larger or smaller a whole pattern may be
PLACED = 0.06  # what it costs that a piece lies at the other end of its sheet
CORNERS = 4.0  # cost of the corners of a piece, on average, up to which they answer to each other
SEAM, SEAM_OFF = 0.1, 0.08  # what it costs that a seam is not as it is there, from such a logarithm of a ratio on
MOST = 4  # pieces that one is tried for
ROUNDS = 4
CLOSE = 0.02, 0.2  # what another choice must cost more, and a share of the misfit


@dataclass(frozen=True, slots=True)
class LikePiece:
    """A piece, the number of the one that answers to it, and how its corners do.

    `named` says whether their names tell so too, `alone` whether no other choice is as good.
    """

    piece: Piece
    other: int
    answer: Answering
    named: bool
    alone: bool


Choice = tuple[int, int]  # a piece of the other pattern, and the way in which this one is laid on it


class LikePieces:
    """The pieces of a planned pattern, and those of another that answer to them."""

    def __init__(
        self,
        pieces: Sequence[Piece],
        seams: Sequence[SeamPlan],
        others: Sequence[Piece],
        names: np.ndarray,
        same: tuple[float, float],
        comes_to: Callable[[int, Answering], object],
    ) -> None:
        """`names` is what the names of each two pieces cost, inf where they tell that it is another; down to `same` they
        are of one kind, or it is the one.

        `comes_to` is equal for two ways of laying a piece that make no difference.
        """
        self.pieces, self.comes_to = pieces, comes_to
        self.mine, self.theirs = [Form(piece) for piece in pieces], [Form(piece) for piece in others]
        form = np.full((len(pieces), len(others)), np.inf)
        for i, a in enumerate(self.mine):
            for k, b in enumerate(self.theirs):
                form[i, k] = next((way.misfit for way in ways(a, b)), np.inf) if np.isfinite(names[i, k]) else np.inf
        size = self._unlike_in_size(form)
        spots = [_spots(one) for one in (pieces, others)]
        self.cost = size + names + PLACED * np.abs(spots[0][:, None] - spots[1])
        self.cost[form + size > np.where(names <= same[1], NAMED, LIKE)] = np.inf
        self.named = names <= same[0]
        self.misfit = form + size
        self._answers: dict[tuple[int, int], list[Answering]] = {}
        where = {piece.name: i for i, piece in enumerate(pieces)}
        self.seams = [seam for seam in seams if all(use.piece in where for side in seam.sides for use in side)]
        self.of_piece: list[list[int]] = [[] for _ in pieces]
        for number, seam in enumerate(self.seams):
            for i in {where[use.piece] for side in seam.sides for use in side}:
                self.of_piece[i].append(number)
        self.where = where
        likely = closest(np.where(np.isfinite(self.cost), self.cost + form, np.inf))
        self.taken: dict[int, Choice] = {i: (k, 0) for i, k in likely if self.answers(i, k)}
        self._improve()

    def _unlike_in_size(self, form: np.ndarray) -> np.ndarray:
        """What it costs that pieces are wider or narrower than the whole pattern is larger."""
        theirs, mine = (
            np.log(np.array([one.radii for one in own]).reshape(-1, 2)) for own in (self.theirs, self.mine)
        )
        sizes = theirs[None] - mine[:, None]
        likely = closest(np.where(form < LIKE, form + np.abs(sizes) @ SIZES, np.inf))
        larger = np.median([sizes[i, k, 0] for i, k in likely]) if likely else 0.0
        return np.asarray(np.abs(sizes - np.clip(larger, -LARGER, LARGER)) @ SIZES)

    def answers(self, i: int, k: int) -> list[Answering]:
        """The ways of laying a piece on another."""
        if (i, k) not in self._answers:
            found = answering(self.mine[i], self.theirs[k]) if np.isfinite(self.cost[i, k]) else []
            self._answers[i, k] = [one for one in found if one.cost - MISFIT * one.misfit <= CORNERS]
        return self._answers[i, k]

    def found(self) -> list[LikePiece]:
        """The pieces that have one that answers to them, in the order of the other pattern."""
        rows = [
            LikePiece(self.pieces[i], k, self.answers(i, k)[way], bool(self.named[i, k]), self._alone(i))
            for i, (k, way) in self.taken.items()
        ]
        return sorted(rows, key=lambda row: row.other)

    # Choices

    def _improve(self) -> None:
        for _ in range(ROUNDS):
            moves = [move for i in range(len(self.pieces)) for move in self._moves(i)]
            ranked = sorted((round(self._gain(move), 6), n) for n, move in enumerate(moves))
            if not ranked or ranked[0][0] > -1e-6:
                return
            for _, n in ranked:
                if self._gain(moves[n]) < -1e-6:
                    self.taken |= moves[n]

    def _moves(self, i: int) -> Iterator[dict[int, Choice]]:
        """Other choices for a piece; the one whose place it takes gets its own."""
        holders = {k: j for j, (k, _) in self.taken.items()}
        own = self.taken.get(i)
        for k in np.argsort(np.round(self.cost[i] + self.misfit[i], 6), kind="stable")[:MOST].tolist():
            for way in range(len(self.answers(i, k))):
                if (k, way) == own:
                    continue
                j = holders.get(k, i)
                if j == i:
                    yield {i: (k, way)}
                elif own is not None and self.answers(j, own[0]):
                    yield {i: (k, way), j: (own[0], 0)}

    def _gain(self, move: dict[int, Choice]) -> float:
        """What a move costs more; below 0 where it is better."""
        now = {i: self.taken[i] for i in move if i in self.taken}
        if len({k for k, _ in (self.taken | move).values()}) < len(self.taken | move):
            return 0.0  # what it stood on was moved meanwhile
        numbers = sorted({number for i in move for number in self.of_piece[i]})
        before, after = ({**self.taken, **one} for one in (now, move))
        own = [sum(self._own(i, choice) for i, choice in one.items()) for one in (now, move)]
        seams = [sum(self._seam(number, one) for number in numbers) for one in (before, after)]
        return own[1] - own[0] + seams[1] - seams[0] - LIKE * (len(move) - len(now))

    def _own(self, i: int, choice: Choice) -> float:
        k, way = choice
        return float(self.cost[i, k]) + self.answers(i, k)[way].cost / MISFIT

    def _seam(self, number: int, taken: dict[int, Choice]) -> float:
        """What it costs that a seam is not as it is there; nothing where it joins a piece to itself alone."""
        there, here = [], []
        for side in self.seams[number].sides:
            if any(self.where[use.piece] not in taken for use in side):
                return 0.0
            there.append(sum(self.pieces[self.where[use.piece]].edge(use.edge).length for use in side))
            lengths = [self._length(self.where[use.piece], use.edge, taken) for use in side]
            if any(length is None for length in lengths):
                return SEAM
            here.append(sum(length or 0.0 for length in lengths))
        if min(*there, *here) < 1e-6:
            return 0.0
        return SEAM * min(abs(float(np.log(here[0] / here[1] * there[1] / there[0]))) / SEAM_OFF, 1.0)

    def _length(self, i: int, name: str, taken: dict[int, Choice]) -> float | None:
        """How long an edge is on the piece that answers to its own, in mm."""
        k, way = taken[i]
        answer, edge, whole = self.answers(i, k)[way], self.pieces[i].edge(name), self.theirs[k].piece.outline.length
        ends = [(edge.start, edge.end), *edge.breaks]
        if edge.inside or any(corner not in answer.stations for pair in ends for corner in pair):
            return None
        back = edge.forward == answer.over
        ahead = [
            ((answer.stations[a] - answer.stations[b]) if back else (answer.stations[b] - answer.stations[a])) % whole
            for a, b in ends
        ]
        return (ahead[0] or whole) - sum(ahead[1:])

    def _alone(self, i: int) -> bool:
        """Whether every other choice for a piece costs clearly more, but for those that come to the same."""
        k, way = self.taken[i]
        if len(self.answers(i, k)[way].stations) > 1 and not self.answers(i, k)[way].corners:
            return False  # a disc: nothing tells how it is turned
        margin = CLOSE[0] + CLOSE[1] * self.misfit[i, k]
        own = self.comes_to(k, self.answers(i, k)[way])
        rivals = [move for j in range(len(self.pieces)) if j == i or j not in self.taken for move in self._moves(j)]
        for move in rivals:
            if i in move:
                same = self.comes_to(move[i][0], self.answers(i, move[i][0])[move[i][1]])
                if same != own and self._gain(move) < margin:
                    return False
        return all(
            j in self.taken or self.misfit[j, k] + self.cost[j, k] > self.misfit[i, k] + self.cost[i, k] + margin
            for j in range(len(self.pieces))
        )


def _spots(pieces: Sequence[Piece]) -> np.ndarray:
    """Where the middles of pieces lie on their sheet, from 0 to 1 across and down."""
    boxes = np.array([piece.outline.bounds() for piece in pieces]).reshape(-1, 4)
    middles = (boxes[:, 0] + boxes[:, 2]) / 2.0 + 0.5j * (boxes[:, 1] + boxes[:, 3])
    if len(pieces) and not pieces[0].y_down:
        middles = middles.conj()
    middles = middles - complex(middles.real.min(initial=np.inf), middles.imag.min(initial=np.inf))
    return np.asarray(middles / max(float(np.abs(middles).max(initial=0.0)), 1.0))

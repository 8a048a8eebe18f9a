"""Kinks and steps in a digitised line: what stands out from its own bending and its own unsteadiness.

A digitised line is a row of vertices; where it bends, every joint turns a little, and a hand or a tracing table puts
each vertex a little beside its place. The turns at the joints are taken for the sum of three things, each Gaussian:

bending  the curvature of the line, which wanders along it as fast as the joints around say
noise    vertices beside their place by an amount that the line itself tells
a break  a kink, which turns one joint or is shared by the two of a chord, or a step, which turns two to and fro

For every chord the break is estimated by generalised least squares over the joints on either side, with its
standard error, and counts when it exceeds that by far. It is looked for in the vertices as they are and again in means of
2, 4, 8 ... of them, where noise matters less; a break that a closer look rules out is none. What is found is put
right and the line looked at again, so that a break does not hide its neighbours.

A kink must exceed what the line's own bending and its own unsteadiness explain, 5.5 standard errors over. The turns
at the joints are a wandering curvature plus noise; how fast it wanders and how much noise there is, the line tells
itself. A fixed threshold cannot do both: at 2 mm chords, noise of 0.1 mm turns every joint by 7 degrees. Figures:
`tests/benchmarks/bench_edge_blend.py`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from math import comb
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamcheck.exact import EXACT, root_of_squares
from seamcheck.geometry.exact_arrays import median_of
from seamcheck.geometry.short_arrays import Number, batches, differences, in_parts, medians
from seamcheck.geometry.smoothing import noise_of

Reals = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Points = npt.NDArray[np.complex128]
Indices = npt.NDArray[np.intp]

# Joints on either side of a chord that are looked at: few, so that the next break is not among them, and many, against noise.
BESIDE = (5, 10)
FEWEST = 10  # vertices that a line can be judged by
# How fast the curvature may wander, in 1/mm per root of mm; of those that explain the joints the fastest is believed.
WANDERING = (4e-3, 1.5e-3, 5e-4, 1.5e-4, 5e-5)
EXPLAINS = 2.0  # of log likelihood: so much less likely than the best still explains
SHARPEST = 0.05  # 1/mm: curvature that is nothing out of the ordinary, a radius of 20 mm
LEAST_NOISE = 0.002  # mm: what the decimals of a file round off
SURE = 5.5  # standard errors that a break must exceed, see tests/benchmarks/bench_edge_blend.py
RULED_OUT = 3.0  # standard errors by which a closer look must fall short of a break to rule it out
BEND_SURE = 1.0  # standard errors by which the bending beside a break is taken for less than it seems
END = 2  # chords at either end with too little beside them to judge by
NEIGHBOURS = 4  # joints on either side whose turns tell how the bending changes there
UNSTEADY = 0.12  # noise by chord length: beyond this directions of chords mean nothing
COARSEST = 8.0  # mm: means of vertices are taken up to this distance ...
WORSE = 2.0  # ... or until the usual standard error grows by so much: then bending, not noise, is what hides a break
MOST = 20  # breaks in one line; more are no breaks but a drawing of another kind
NEAR = 2.5  # chords: breaks so near each other cannot be told apart
TO_AND_FRO = 20.0  # mm: so near each other, breaks of which one takes back what the other did are one
TOGETHER = 1 << 13  # vertices that are looked at together
SHARES = np.array([0.0, 0.25, 0.5, 0.75, 1.0])  # where in its chord a kink is looked for


class Break(NamedTuple):
    """A kink of `turn` radians, a sideways step of `jog` mm, or both; left positive, at a station along the chords.

    `turn_error` and `jog_error` are standard errors, `chord` how long the chords were in which it was seen.
    """

    station: float
    turn: float
    jog: float
    turn_error: float
    jog_error: float
    chord: float


class _Look(NamedTuple):
    """What the chords of one row of vertices show, in order: the kink and the step that fit each best.

    `share` is where in the chord the kink lies; `whole_turn` and `whole_jog` are those of a kink and a step together;
    `bending` what the turns of a joint change by from before the chord to behind it, `beyond` how many chords lie between this and
    the nearer end. Radians and mm.
    """

    stations: Reals
    chords: Reals
    turn: Reals
    turn_error: Reals
    share: Reals
    jog: Reals
    jog_error: Reals
    whole_turn: Reals
    whole_error: Reals
    whole_jog: Reals
    whole_jog_error: Reals
    bending: Reals
    beyond: Reals

    def at(self, start: float, end: float) -> int:
        """The chord that lies most on the stretch between two stations."""
        shared = np.minimum(self.stations + self.chords, end) - np.maximum(self.stations, start)
        return int(np.argmax(shared))

    def sure(self, smallest_turn: float, smallest_jog: float) -> tuple[Reals, Reals]:
        """By how many standard errors there is a kink, and a step, at each chord; 0 at the ends, and where they are too small."""
        within = self.beyond >= END
        large = np.abs(self.turn) >= np.maximum(smallest_turn, self.bending)
        wide = np.abs(self.jog) >= np.maximum(smallest_jog, self.bending * self.chords)
        return (
            _errors_in(self.turn, self.turn_error, large & within),
            _errors_in(self.jog, self.jog_error, wide & within),
        )


def _errors_in(amounts: Reals, errors: Reals, counted: npt.NDArray[np.bool_]) -> Reals:
    """How many standard errors an amount is worth where it counts, else 0; without end where chords lie on a line to the last bit."""
    result = np.where(counted, np.inf, 0.0)
    np.divide(np.abs(amounts), errors, out=result, where=counted & (errors > 0.0))
    return result


class _Looks(NamedTuple):
    """What the chords of several rows show, one row behind the other: `counts` tells by the number of a row how many are its own."""

    all: _Look
    counts: dict[int, slice]

    def of(self, number: int) -> _Look:
        """What one of the rows shows."""
        return _Look(*(values[self.counts[number]] for values in self.all))

    def shown(self, smallest_turn: float, smallest_jog: float) -> list[int]:
        """The rows in which a break seems sure."""
        kinks, steps = self.all.sure(smallest_turn, smallest_jog)
        sure = (kinks >= SURE) | (steps >= SURE)
        return [number for number, mine in self.counts.items() if sure[mine].any()]


def breaks_of(
    rows: Sequence[Points], smallest_turn: float, smallest_jog: float, noises: Sequence[float] | None = None
) -> list[list[Break]]:
    """All breaks of each of several rows of vertices that are at least so large (radians, mm), in order.

    `noises` are by how much their vertices lie beside their places at least, in mm, whatever they show themselves.
    """
    asked = list(zip(rows, noises or [0.0] * len(rows), strict=True))
    parts = in_parts(asked, map(len, rows), TOGETHER)
    return [found for some in parts for found in _breaks_of(some, smallest_turn, smallest_jog)]


def _breaks_of(
    asked_of: Sequence[tuple[Points, float]], smallest_turn: float, smallest_jog: float
) -> list[list[Break]]:
    """The same of so many rows, each with its noise, that what is seen in all of them takes little memory."""
    rows, noises = [row for row, _ in asked_of], [noise for _, noise in asked_of]
    found: list[list[Break]] = [[] for _ in rows]
    asked = list(range(len(rows)))
    while asked:
        surest = _surest([rows[k] for k in asked], [noises[k] for k in asked], smallest_turn, smallest_jog)
        broken = [(k, one) for k, one in zip(asked, surest, strict=True) if one is not None]
        for k, one in broken:
            found[k].append(one)
            rows[k] = _put_right(rows[k], one)
        asked = [k for k, _ in broken if len(found[k]) < MOST]
    return [
        [
            one
            for one in _together(mine, row, noise)
            if abs(one.turn) >= max(smallest_turn, SURE * one.turn_error)
            or abs(one.jog) >= max(smallest_jog, SURE * one.jog_error)
        ]
        for mine, row, noise in zip(found, rows, noises, strict=True)
    ]


def _together(found: Sequence[Break], row: Points, noise: float) -> list[Break]:
    """The breaks of a row in order, those that are parts of one as one; `row` is the line with all of them put right."""
    together: list[list[Break]] = []
    for one in sorted(found, key=lambda one: one.station):
        if together and _belong(together[-1][-1], one):
            together[-1].append(one)
        else:
            together.append([one])
    return [group[0] if len(group) == 1 else _whole(group, row, noise) for group in together]


def _belong(first: Break, second: Break) -> bool:
    """Whether two neighbouring breaks are parts of one."""
    apart = second.station - first.station
    if apart <= NEAR * max(first.chord, second.chord):
        return True
    return apart <= TO_AND_FRO and first.turn * second.turn <= 0.0


def _whole(parts: list[Break], row: Points, noise: float) -> Break:
    """Several breaks as one in their middle; `row` is the line with all of them put right.

    What was put right adds up; what is left of it is seen between the vertices before the first and behind the last.
    """
    start, end = parts[0].station, parts[-1].station
    middle = (start + end) / 2
    turn = sum(part.turn for part in parts)
    jog = sum(part.jog + np.sin(part.turn) * (middle - part.station) for part in parts)
    chord = max(part.chord for part in parts)
    along = np.concatenate([[0.0], np.cumsum(np.abs(differences(row)))])
    kept = (along < start - chord / 2) | (along > end + chord / 2)
    kept[[0, -1]] = True
    gap = float(along[kept & (along < middle)][-1]), float(along[kept & (along > middle)][0])
    looks = [(look := one.of(0), look.at(*gap)) for wide in _looks([row[kept]], [noise], {0}) for one in wide]
    if not looks:
        return Break(middle, turn, float(jog), parts[0].turn_error, parts[0].jog_error, chord)
    look, i = min(looks, key=lambda one: round(float(one[0].whole_error[one[1]]), 9))
    turn += float(look.whole_turn[i])
    jog += float(look.whole_jog[i])
    # A ruled bridge does not bend as the line beside it does, and that alone is no kink.
    bent = (
        _bend(row[kept & (along < middle)][::-1], gap[1] - gap[0]),
        _bend(row[kept & (along > middle)], gap[1] - gap[0]),
    )
    turn = float(np.copysign(max(abs(turn) - max(bent), 0.0), turn))
    return Break(middle, turn, jog, float(look.whole_error[i]), float(look.whole_jog_error[i]), chord)


def _bend(row: Points, length: float) -> float:
    """By how many radians a line surely turns over a length if it goes on bending as at its start, whatever noise makes of it."""
    points = row[: NEIGHBOURS + 2]
    chords = differences(points)
    if len(chords) < 2:
        return 0.0
    size = np.abs(chords[[0, -1]])
    unsure = BEND_SURE * noise_of(row) * root_of_squares((2**0.5 / size).tolist())
    turn = max(abs(float(np.angle(chords[-1] / chords[0]))) - unsure, 0.0)
    return length * turn / float(np.abs(points[-1] - points[0]))


def _surest(
    rows: Sequence[Points], noises: Sequence[float], smallest_turn: float, smallest_jog: float
) -> list[Break | None]:
    """The break of each row that exceeds its standard error most, in the closest look that shows one, if any is sure."""
    found: list[Break | None] = [None] * len(rows)
    closer: dict[int, list[_Look]] = {}
    asked = set(range(len(rows)))
    for wide in _looks(rows, noises, asked):
        shown = {k for looks in wide for k in looks.shown(smallest_turn, smallest_jog)}
        for k in sorted(asked):
            mine = [looks.of(k) for looks in wide if k in looks.counts]
            if k in shown and (best := _surest_in(mine, closer.get(k, ()), smallest_turn, smallest_jog)) is not None:
                found[k] = best
                asked.discard(k)
            else:
                closer.setdefault(k, []).extend(mine)
    return found


def _surest_in(
    looks: Iterable[_Look], closer: Iterable[_Look], smallest_turn: float, smallest_jog: float
) -> Break | None:
    """The break that exceeds its standard error most, of those that no closer look rules out."""
    best: tuple[float, Break] | None = None
    for look in looks:
        for sure, is_kink in zip(look.sure(smallest_turn, smallest_jog), (True, False), strict=True):
            for i in np.flatnonzero(sure >= SURE).tolist():
                if best is not None and sure[i] <= best[0] * (1 + EXACT):
                    continue
                if not any(_ruled_out(look, i, other, is_kink=is_kink) for other in closer):
                    best = float(sure[i]), _break(look, i, is_kink=is_kink)
    return None if best is None else best[1]


def _break(look: _Look, i: int, *, is_kink: bool) -> Break:
    return Break(
        station=float(look.stations[i] + (look.share[i] if is_kink else 0.5) * look.chords[i]),
        turn=float(look.turn[i]) if is_kink else 0.0,
        jog=0.0 if is_kink else float(look.jog[i]),
        turn_error=float(look.turn_error[i]),
        jog_error=float(look.jog_error[i]),
        chord=float(look.chords[i]),
    )


def _ruled_out(look: _Look, i: int, closer: _Look, *, is_kink: bool) -> bool:
    """Whether nothing near the place of a break could be that large when looked at more closely."""
    here, reach = look.stations[i] + look.chords[i] / 2, look.chords[i]
    near = np.abs(closer.stations + closer.chords / 2 - here) <= reach + closer.chords
    if not near.any():
        return False
    value, error = (look.turn, look.turn_error) if is_kink else (look.jog, look.jog_error)
    there, there_error = (closer.turn, closer.turn_error) if is_kink else (closer.jog, closer.jog_error)
    at_most = (np.sign(value[i]) * there + RULED_OUT * there_error)[near].max()
    return bool(at_most < abs(value[i]) - error[i])


def _looks(rows: Sequence[Points], noises: Sequence[float], asked: Collection[int]) -> Iterator[list[_Looks]]:
    """The rows as they are, and in means of 2, 4, 8 ... vertices as long as that may make something surer.

    `noises` are those that they have at least. Looked at are those rows whose numbers are in `asked`, which may grow less from one look to the next.
    """
    stations = {k: np.append(0.0, np.cumsum(np.abs(differences(rows[k])))) for k in asked}
    errors = dict.fromkeys(asked, np.inf)
    size = 1
    while numbers := [k for k in sorted(errors) if k in asked and len(rows[k]) // size >= FEWEST]:
        wide: list[_Looks] = []
        for mine, points, counts in batches([_means(rows[k], size) for k in numbers]):
            batch = [numbers[k] for k in mine]
            along = [_means(stations[k], size) for k in batch]
            least = np.array([noises[k] for k in batch]) / size**0.5
            wide += _look(points, counts, batch, along, errors, least, finest=size == 1)
        if wide:
            yield wide
        size *= 2


def _means(values: npt.NDArray[Number], size: int) -> npt.NDArray[Number]:
    """The means of so many values each."""
    return values if size == 1 else values[: len(values) // size * size].reshape(-1, size).mean(axis=1)


def _noise(turns: Reals, chords: Reals, counts: Indices) -> Reals:
    """How far the vertices of rows with so many joints lie beside their places, as standard deviations in mm.

    From high differences of the turns, which a smooth line hardly has; a kink is an outlier that the median passes over.
    """
    found, apart = np.full(len(turns), np.inf), turns * (chords[:, :-1] + chords[:, 1:]) / 2
    for order in (1, 2, 3, 4):
        apart = differences(apart)
        long = counts >= order + 6
        if long.any():
            told = medians(np.abs(apart[long]), counts[long] - order) / 0.6745 / comb(2 * order + 4, order + 2) ** 0.5
            found[long] = np.minimum(found[long], told)
    return np.maximum(LEAST_NOISE, np.where(found < np.inf, found, LEAST_NOISE))


def _look(
    points: Points,
    counts: Indices,
    numbers: Sequence[int],
    along: Sequence[Reals],
    errors: dict[int, float],
    least_noise: Reals,
    *,
    finest: bool,
) -> list[_Looks]:
    """What every chord between two joints of rows of vertices shows; `along` are the stations of the vertices.

    `errors` are the usual standard errors of the looks before; a row of which no closer look tells more is taken out of them.
    """
    steps = differences(points)
    chords = np.abs(steps)
    with np.errstate(divide="ignore", invalid="ignore"):
        turns = np.nan_to_num(np.angle(steps[:, 1:] / steps[:, :-1]))
    usual = medians(chords, counts - 1)
    least = np.where(np.arange(chords.shape[1]) < counts[:, None] - 1, chords, np.inf).min(axis=1)
    noise = np.maximum(_noise(turns, chords, counts - 2), least_noise)
    done = (least <= 0.0) | ((usual > COARSEST) & (not finest))
    for k in np.flatnonzero(done).tolist():
        del errors[numbers[k]]
    told = np.flatnonzero(~done & (noise <= UNSTEADY * usual)).tolist()
    if not told:
        return []
    joints = counts[told] - 2
    rows = _Rows(turns[told], chords[told], joints, noise[told])
    stations = np.concatenate([along[k][1:-2] for k in told])
    own = np.concatenate([differences(along[k][1:-1]) for k in told])
    looks = [_shown(rows, stations, own, beside) for beside in BESIDE]
    ends = np.cumsum(joints - 1).tolist()
    mine = {numbers[k]: slice(start, end) for k, start, end in zip(told, [0, *ends], ends, strict=False)}
    for number, part in list(mine.items()):
        now = median_of(looks[-1].turn_error[part])
        if now > WORSE * errors[number]:
            del errors[number], mine[number]
        else:
            errors[number] = min(errors[number], now)
    return [_Looks(look, mine) for look in looks] if mine else []


class _Rows:
    """Rows of joints of about one length, one under the other, and the chords between two joints of all of them, one behind the other."""

    def __init__(self, turns: Reals, chords: Reals, joints: Indices, noise: Reals) -> None:
        """Take the turns at the joints, the chords before and behind them, how many joints each row has, and its noise in mm."""
        self.turns, self.chords, self.joints, self.noise = turns, chords, joints, noise
        self.row, self.first = np.nonzero(
            np.arange(turns.shape[1]) < joints[:, None] - 1
        )  # of each chord: its row and the joint before it
        # Chord lengths are rounded to steps of a fifth, so that one inverse serves all chords whose surroundings are alike.
        last = joints[:, None]
        each = np.clip(np.arange(-2, chords.shape[1] + 2), 0, last)
        padded = np.take_along_axis(chords, each, axis=1)
        median_of_five = np.sort(np.stack([padded[:, k : k + chords.shape[1]] for k in range(5)]), axis=0)[2]
        # A chord shorter than those around it turns more by the same noise: taken for as long as they are, it would seem surer.
        usual = np.where((chords > 1.7 * median_of_five) | (chords < median_of_five / 1.2), chords, median_of_five)
        with np.errstate(divide="ignore"):
            self.steps = np.maximum(np.round(np.log(usual) / np.log(1.2)), -100.0)
        beyond = np.minimum(self.first, joints[self.row] - 2 - self.first)
        self.beyond = beyond.astype(np.float64)

    def around(self, beside: int) -> tuple[Reals, Reals, Flags]:
        """For each chord the turns of so many joints on either side, the chords between and beside those, and which joints there are."""
        each = self.first[:, None] + np.arange(1 - beside, beside + 2)
        row, last = self.row[:, None], self.joints[self.row][:, None]
        spaced = self.steps[row, np.clip(each, 0, last)]
        each = each[:, :-1]
        real = (each >= 0) & (each < last)
        return np.where(real, self.turns[row, np.clip(each, 0, last - 1)], 0.0), spaced, real

    def bending(self) -> Reals:
        """For each chord, the mean turn of the joints behind it less that of those before it, without its own two joints."""
        total = np.zeros((len(self.turns), self.turns.shape[1] + 1))
        np.cumsum(self.turns, axis=1, out=total[:, 1:])
        row, first, count = self.row, self.first, self.joints[self.row]
        low, high = np.maximum(first - NEIGHBOURS, 0), np.minimum(first + 2 + NEIGHBOURS, count)
        before = (total[row, first] - total[row, low]) / np.maximum(first - low, 1)
        after = (total[row, high] - total[row, np.minimum(first + 2, count)]) / np.maximum(high - first - 2, 1)
        return np.asarray(np.abs(after - before))


def _shown(rows: _Rows, stations: Reals, step: Reals, beside: int) -> _Look:
    """What every chord between two joints shows; `step` is how long it is along the row."""
    information, evidence = _estimates(rows, beside)
    (one, mixed), (also, other) = information.transpose(1, 2, 0)
    first, second = evidence.T
    before, behind = (1.0 - SHARES)[:, None], SHARES[:, None]
    weight = before**2 * one + before * behind * (mixed + also) + behind**2 * other
    kink = before * first + behind * second
    sure, turn, error = kink / np.sqrt(weight), kink / weight, 1.0 / np.sqrt(weight)
    # Of the places in the chord that do nearly as well, the one with the least of a kink is believed.
    nearly = sure**2 >= (sure**2).max(axis=0) - RULED_OUT**2
    best, each = np.argmin(np.where(nearly, np.round(np.abs(turn), 9), np.inf), axis=0), np.arange(len(first))
    weight = one - mixed - also + other
    # Both joints for themselves: the inverse of the information, two by two.
    size = one * other - mixed * also
    this, that = (other * first - mixed * second) / size, (one * second - also * first) / size
    sum_error, difference_error = np.sqrt(weight / size), np.sqrt((one + mixed + also + other) / size)
    return _Look(
        stations=stations,
        chords=step,
        turn=turn[best, each],
        turn_error=error[best, each],
        share=SHARES[best],
        jog=(first - second) / weight * step,
        jog_error=step / np.sqrt(weight),
        whole_turn=this + that,
        whole_error=sum_error,
        whole_jog=(this - that) / 2 * step,
        whole_jog_error=difference_error / 2 * step,
        bending=rows.bending(),
        beyond=rows.beyond,
    )


def _estimates(rows: _Rows, beside: int) -> tuple[Reals, Reals]:
    """For each chord, the information (n, 2, 2) and the evidence (n, 2) on breaks at its two joints: information times breaks is evidence."""
    window = 2 * beside
    around, spaced, real = rows.around(beside)
    noise = rows.noise[rows.row, None].view(np.uint8)
    surroundings = np.concatenate([spaced.astype(np.int8).view(np.uint8), real.view(np.uint8), noise], axis=1)
    numbers: dict[bytes, int] = {}
    # Neighbours are mostly of one kind: of each run of them the first is looked up.
    begins = np.flatnonzero(np.append(True, (surroundings[1:] != surroundings[:-1]).any(axis=1)))
    keys = surroundings[begins].view(f"V{surroundings.shape[1]}").ravel().tolist()
    found = np.array([numbers.setdefault(key, len(numbers)) for key in keys])
    kind = np.repeat(found, np.diff(np.append(begins, len(surroundings))))
    weights = _weights(list(numbers), window)
    seen, spread = np.empty((2, len(WANDERING), len(around))), np.empty((len(WANDERING), len(around)))
    order = np.argsort(kind, kind="stable")
    for one, mine in zip(weights, np.split(order, np.cumsum(np.bincount(kind))[:-1]), strict=True):
        own = around[mine]
        product = own @ one.inverse
        seen[:, :, mine] = product[:, :, beside - 1 : beside + 1].transpose(2, 0, 1)
        spread[:, mine] = np.einsum("rnk,nk->rn", product, own)
    inner, undone, size = (np.array(part) for part in zip(*(one[1:] for one in weights), strict=True))
    (one_one, one_two), (_, two_two) = undone.transpose(2, 3, 1, 0)[..., kind]
    first, second = seen
    explained = first * first * one_one + 2 * first * second * one_two + second * second * two_two
    likelihood = -0.5 * (size[kind].T + spread - explained)
    chosen = np.argmax(likelihood >= likelihood.max(axis=0) - EXPLAINS, axis=0)
    return inner[kind, chosen], seen[:, chosen, np.arange(len(around))].T


class _Weights(NamedTuple):
    """How the joints of one kind of surroundings weigh, for each rate at which the curvature may wander.

    The inverse of their covariance (rates, window, window), the part of it between the two joints of the chord with its own inverse
    (rates, 2, 2), and the logarithm of both their sizes (rates,).
    """

    inverse: Reals
    inner: Reals
    undone: Reals
    size: Reals


# The lines of a pattern are digitised alike, and the sizes of a nest even more so: few surroundings are new.
_known: dict[bytes, _Weights] = {}
_MOST_KNOWN = 400
_AT_ONCE = 32  # kinds that are worked out together, so that it takes little memory


def _weights(kinds: list[bytes], window: int) -> list[_Weights]:
    """The weights of kinds of surroundings: the chords before and behind each joint of a window, which joints there are, and the noise."""
    new = [kind for kind in kinds if kind not in _known]
    if len(_known) + len(new) > _MOST_KNOWN:
        _known.clear()
        new = kinds
    for low in range(0, len(new), _AT_ONCE):
        some = new[low : low + _AT_ONCE]
        rows = np.frombuffer(b"".join(some), np.uint8).reshape(len(some), -1)
        chords = 1.2 ** rows[:, : window + 1].view(np.int8).astype(np.float64)
        noise = rows[:, 2 * window + 1 :].copy().view(np.float64)[:, 0]
        known, wander = _covariance(chords, rows[:, window + 1 : 2 * window + 1] > 0, noise)
        own = slice(window // 2 - 1, window // 2 + 1)
        covariance = known[:, None] + np.array(WANDERING)[:, None, None] ** 2 * wander[:, None]
        inverse = np.linalg.inv(covariance)
        inner = inverse[:, :, own, own]
        size = np.linalg.slogdet(covariance)[1] + np.linalg.slogdet(inner)[1]
        parts = inverse, inner, np.linalg.inv(inner), size
        _known.update({kind: _Weights(*one) for kind, *one in zip(some, *parts, strict=True)})
    return [_known[kind] for kind in kinds]


def _covariance(chords: Reals, real: Flags, noise: Reals) -> tuple[Reals, Reals]:
    """Covariances of the turns in windows of joints: of noise and an unknown curvature, and of one that wanders by 1.

    `chords` (n, joints + 1) are the lengths between the joints; where `real` is false there is no joint and no
    information.
    """
    count, window = real.shape
    beside = window // 2
    before, after = 1.0 / chords[:, :-1], 1.0 / chords[:, 1:]
    at = np.arange(window)
    known = np.zeros((count, window, window))
    known[:, at, at] = before**2 + (before + after) ** 2 + after**2
    first = -((before + after)[:, :-1] * before[:, 1:] + after[:, :-1] * (before + after)[:, 1:])
    known[:, at[:-1], at[1:]] = known[:, at[1:], at[:-1]] = first
    known[:, at[:-2], at[2:]] = known[:, at[2:], at[:-2]] = after[:, :-2] * before[:, 2:]
    known = np.where(real[:, :, None] & real[:, None, :], known * noise[:, None, None] ** 2, 0.0)
    known[:, at, at] += np.where(real, 1e-10, 1.0)
    share = (chords[:, :-1] + chords[:, 1:]) / 2 * real  # of the line that each joint turns for, in mm
    shares = share[:, :, None] * share[:, None, :]
    along = np.cumsum(chords[:, :-1], axis=1)
    away = along - (along[:, beside - 1] + along[:, beside])[:, None] / 2
    nearer = np.minimum(np.abs(away)[:, :, None], np.abs(away)[:, None, :])
    same_side = away[:, :, None] * away[:, None, :] > 0
    return known + SHARPEST**2 * shares, np.where(same_side, nearer, 0.0) * shares


def _put_right(row: Points, found: Break) -> Points:
    """The row without a break: what lies behind it turned or shifted back."""
    along = np.concatenate([[0.0], np.cumsum(np.abs(differences(row)))])
    k = int(np.clip(np.searchsorted(along, found.station, side="left"), 1, len(row) - 1))
    chord = row[k] - row[k - 1]
    pivot = row[k - 1] + chord * (found.station - along[k - 1]) / abs(chord)
    right = row.copy()
    right[k:] = pivot + (row[k:] - pivot) * np.exp(-1j * found.turn)
    # A step turns the chord that it lies in; the lines on either side go the way that the vertices around it go.
    ahead = row[min(k + 2, len(row) - 1)] - row[max(k - 3, 0)]
    right[k:] -= found.jog * 1j * ahead / abs(ahead)
    return right

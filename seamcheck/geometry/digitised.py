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

from collections.abc import Iterator
from dataclasses import dataclass
from math import comb
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamcheck.exact import EXACT, root_of_squares
from seamcheck.geometry.short_arrays import differences, median
from seamcheck.geometry.smoothing import noise_of

Reals = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Points = npt.NDArray[np.complex128]

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
SHARES = np.array([0.0, 0.25, 0.5, 0.75, 1.0])  # where in its chord a kink is looked for


@dataclass(frozen=True, slots=True)
class Break:
    """A kink of `turn` radians, a sideways step of `jog` mm, or both; left positive, at a station along the chords.

    `turn_error` and `jog_error` are standard errors, `chord` how long the chords were in which it was seen.
    """

    station: float
    turn: float
    jog: float
    turn_error: float
    jog_error: float
    chord: float


@dataclass(frozen=True, slots=True)
class _Look:
    """What the chords of one row of vertices show, in order: the kink and the step that fit each best.

    `share` is where in the chord the kink lies; `whole_turn` and `whole_jog` are those of a kink and a step together;
    `bending` what the turns of a joint change by from
    before the chord to behind it. Radians and mm.
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

    def at(self, start: float, end: float) -> int:
        """The chord that lies most on the stretch between two stations."""
        shared = np.minimum(self.stations + self.chords, end) - np.maximum(self.stations, start)
        return int(np.argmax(shared))


def breaks(vertices: Points, smallest_turn: float, smallest_jog: float) -> list[Break]:
    """All breaks of a row of vertices that are at least so large (radians, mm), in order."""
    found: list[Break] = []
    row = np.asarray(vertices, dtype=np.complex128)
    while len(found) < MOST:
        best = _surest(row, smallest_turn, smallest_jog)
        if best is None:
            break
        found.append(best)
        row = _put_right(row, best)
    together: list[list[Break]] = []
    for one in sorted(found, key=lambda one: one.station):
        if together and _belong(together[-1][-1], one):
            together[-1].append(one)
        else:
            together.append([one])
    whole = [group[0] if len(group) == 1 else _whole(group, row) for group in together]
    return [
        one
        for one in whole
        if abs(one.turn) >= max(smallest_turn, SURE * one.turn_error)
        or abs(one.jog) >= max(smallest_jog, SURE * one.jog_error)
    ]


def _belong(first: Break, second: Break) -> bool:
    """Whether two neighbouring breaks are parts of one."""
    apart = second.station - first.station
    if apart <= NEAR * max(first.chord, second.chord):
        return True
    return apart <= TO_AND_FRO and first.turn * second.turn <= 0.0


def _whole(parts: list[Break], row: Points) -> Break:
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
    looks = [(look, look.at(*gap)) for both in _looks(row[kept]) for look in both]
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


def _surest(row: Points, smallest_turn: float, smallest_jog: float) -> Break | None:
    """The break that exceeds its standard error most, in the closest look that shows one, if any is sure."""
    closer: list[_Look] = []
    for looks in _looks(row):
        best: tuple[float, Break] | None = None
        for look in looks:
            middle = slice(END, len(look.turn) - END)
            kink = np.abs(look.turn) / look.turn_error
            kink[np.abs(look.turn) < np.maximum(smallest_turn, look.bending)] = 0.0
            step = np.abs(look.jog) / look.jog_error
            step[np.abs(look.jog) < np.maximum(smallest_jog, look.bending * look.chords)] = 0.0
            for sure, is_kink in ((kink, True), (step, False)):
                for i in map(int, END + np.flatnonzero(sure[middle] >= SURE)):
                    if best is not None and sure[i] <= best[0] * (1 + EXACT):
                        continue
                    if not any(_ruled_out(look, i, other, is_kink=is_kink) for other in closer):
                        best = float(sure[i]), _break(look, i, is_kink=is_kink)
        if best is not None:
            return best[1]
        closer += looks
    return None


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


def _looks(row: Points) -> Iterator[list[_Look]]:
    """The row as it is, and in means of 2, 4, 8 ... vertices as long as that may make something surer."""
    stations = np.concatenate([[0.0], np.cumsum(np.abs(differences(row)))])
    size, error = 1, np.inf
    while len(row) // size >= FEWEST:
        whole = len(row) // size * size
        points = row[:whole].reshape(-1, size).mean(axis=1)
        along = stations[:whole].reshape(-1, size).mean(axis=1)
        chords = np.abs(differences(points))
        if chords.min() <= 0.0 or (size > 1 and median(chords) > COARSEST):
            break
        turns = np.angle(differences(points)[1:] / differences(points)[:-1])
        noise = _noise(turns, chords)
        if noise <= UNSTEADY * median(chords):
            wide = [_look(turns, chords, along[1:-1], noise, beside) for beside in BESIDE]
            now = median(wide[-1].turn_error)
            if now > WORSE * error:
                break
            error = min(error, now)
            yield wide
        size *= 2


def _noise(turns: Reals, chords: Reals) -> float:
    """How far vertices lie beside their places, as a standard deviation in mm.

    From high differences of the turns, which a smooth line hardly has; a kink is an outlier that the median passes over.
    """
    beside = turns * (chords[:-1] + chords[1:]) / 2
    found = [
        median(np.abs(np.diff(beside, order))) / 0.6745 / comb(2 * order + 4, order + 2) ** 0.5
        for order in (1, 2, 3, 4)
        if len(beside) >= order + 6
    ]
    return max(LEAST_NOISE, min(found, default=LEAST_NOISE))


def _look(turns: Reals, chords: Reals, along: Reals, noise: float, beside: int) -> _Look:
    """What every chord between two joints shows; `along` are the stations of the joints."""
    information, evidence = _estimates(turns, chords, noise, beside)
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
    step = differences(along)
    # Both joints for themselves: the inverse of the information, two by two.
    size = one * other - mixed * also
    this, that = (other * first - mixed * second) / size, (one * second - also * first) / size
    sum_error, difference_error = np.sqrt(weight / size), np.sqrt((one + mixed + also + other) / size)
    return _Look(
        stations=along[:-1],
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
        bending=_bending(turns),
    )


def _bending(turns: Reals) -> Reals:
    """For each chord, the mean turn of the joints behind it less that of those before it, without its own two joints."""
    count = len(turns)
    total = np.concatenate([[0.0], np.cumsum(turns)])
    first = np.arange(count - 1)
    low, high = np.maximum(first - NEIGHBOURS, 0), np.minimum(first + 2 + NEIGHBOURS, count)
    before = (total[first] - total[low]) / np.maximum(first - low, 1)
    after = (total[high] - total[np.minimum(first + 2, count)]) / np.maximum(high - first - 2, 1)
    return np.asarray(np.abs(after - before))


def _estimates(turns: Reals, chords: Reals, noise: float, beside: int) -> tuple[Reals, Reals]:
    """For each chord, the information (n, 2, 2) and the evidence (n, 2) on breaks at its two joints.

    Information times breaks is evidence. Chord lengths are rounded to steps of a fifth, so that one inverse serves all chords
    whose surroundings are alike.
    """
    window = 2 * beside
    around = _windows(turns, beside - 1, window, 0.0, 0.0)
    usual = np.sort(_windows(chords, 2, 5, chords[0], chords[-1]), axis=1)[:, 2]
    # A chord shorter than those around it turns more by the same noise: taken for as long as they are, it would seem surer.
    usual = np.where((chords > 1.7 * usual) | (chords < usual / 1.2), chords, usual)
    even = 1.2 ** np.round(np.log(usual) / np.log(1.2))
    real = _windows(np.ones(len(turns)), beside - 1, window, 0.0, 0.0)
    spaced = _windows(even, beside - 1, window + 1, even[0], even[-1])
    numbers: dict[bytes, int] = {}
    windows = np.concatenate([spaced, real], axis=1)
    kind = np.array([numbers.setdefault(row.tobytes(), len(numbers)) for row in windows])
    weights = _weights(list(numbers), window, noise)
    own = slice(beside - 1, beside + 1)
    seen, spread = np.empty((len(WANDERING), len(around), 2)), np.empty((len(WANDERING), len(around)))
    order = np.argsort(kind, kind="stable")
    for one, mine in zip(weights, np.split(order, np.cumsum(np.bincount(kind))[:-1]), strict=True):
        product = around[mine] @ one.inverse
        seen[:, mine] = product[:, :, own]
        spread[:, mine] = (product * around[mine]).sum(axis=2)
    inner, undone, size = (np.array(part) for part in zip(*(one[1:] for one in weights), strict=True))
    explained = np.einsum("rni,nrij,rnj->rn", seen, undone[kind], seen)
    likelihood = -0.5 * (size[kind].T + spread - explained)
    chosen = np.argmax(likelihood >= likelihood.max(axis=0) - EXPLAINS, axis=0)
    return inner[kind, chosen], seen[chosen, np.arange(len(around))]


def _windows(row: Reals, pad: int, window: int, before: float, behind: float) -> Reals:
    """The stretches (n, window) of a row that has so many more values put before it and behind it."""
    padded = np.concatenate([np.full(pad, before), row, np.full(pad, behind)])
    return np.asarray(padded[np.arange(len(padded) - window + 1)[:, None] + np.arange(window)])


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
_known: dict[tuple[bytes, float], _Weights] = {}
_MOST_KNOWN = 400


def _weights(kinds: list[bytes], window: int, noise: float) -> list[_Weights]:
    """The weights of kinds of surroundings: spaces before and behind each joint of a window, and which joints there are."""
    new = [kind for kind in kinds if (kind, noise) not in _known]
    if len(_known) + len(new) > _MOST_KNOWN:
        _known.clear()
        new = kinds
    if new:
        rows = np.frombuffer(b"".join(new)).reshape(len(new), -1)
        known, wander = _covariance(rows[:, : window + 1], rows[:, window + 1 :] > 0, noise)
        own = slice(window // 2 - 1, window // 2 + 1)
        covariance = known[:, None] + np.array(WANDERING)[:, None, None] ** 2 * wander[:, None]
        inverse = np.linalg.inv(covariance)
        inner = inverse[:, :, own, own]
        size = np.linalg.slogdet(covariance)[1] + np.linalg.slogdet(inner)[1]
        parts = inverse, inner, np.linalg.inv(inner), size
        _known.update({(kind, noise): _Weights(*one) for kind, *one in zip(new, *parts, strict=True)})
    return [_known[kind, noise] for kind in kinds]


def _covariance(chords: Reals, real: Flags, noise: float) -> tuple[Reals, Reals]:
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
    known = np.where(real[:, :, None] & real[:, None, :], known * noise**2, 0.0)
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

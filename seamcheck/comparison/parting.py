"""Where two smooth lines part company, told from how their distance grows.

Lines drawn with curves part at a joint. Where a line was digitised there is a joint every few mm, and near the place the
lines are closer together than they can be told apart; but how the distance grows further on tells where it began.

Where two smooth lines part company is taken at the last joint that both reach. A digitised line has a joint at
every point, so there it is a corner that both reach, or told by how the distance grows: to 1 mm on the demo at
chords of 1 to 5 mm, so that a scoop is as deep in the middle, to 0.1 mm, as on curves.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from seamcheck.exact import EXACT, steady
from seamcheck.geometry.bezier import Reals
from seamcheck.geometry.exact_arrays import most_at

STEP = 1.0  # mm between the places at which the distance is taken
MOST = 400  # of them on either side
FAR = 1.0  # mm: what the lines do once they are further apart tells nothing of where they parted
BEHIND = 20.0  # mm of the shared line that are looked at, at least
AHEAD = 6.0  # mm over which the lines must grow apart, and be one before: behind a corner they part at once
SLACK = 3.0  # mm by which the lines may part later than was seen
GROWTHS = ((1, 2), (2, 3))  # powers of the way: lines that part at an angle, and lines that leave in one direction


def parting(distances: Callable[[Reals], Reals], behind: float, ahead: float, tolerance: float) -> float | None:
    """Where the distance begins to grow, in mm ahead (behind: negative) of a place near which it does.

    `distances` gives the signed distances in mm at places ahead of there; the lines are one for `behind` mm and not known to
    be beyond it for `ahead` mm. None where they part too suddenly to tell, as at a corner, or are one for too short a way.
    Least squares over a shared stretch followed by one on which the distance grows as a polynomial of the way.
    """
    step = max(STEP, ahead / MOST)
    onward = np.arange(0.0, ahead, step)
    apart = np.abs(distances(onward))
    far = np.flatnonzero(apart > max(FAR, 4 * tolerance))
    reach = float(onward[int(far[0]) if len(far) else most_at(apart)]) if len(onward) else 0.0
    if reach < AHEAD or behind < AHEAD:
        return None
    low = -min(behind, max(BEHIND, reach))
    places = np.arange(low, reach, step)
    found = distances(places)

    def misfit(start: float) -> float:
        """The square sum that the better growth from there leaves."""
        way = np.clip(places - start, 0.0, None) / reach
        left = []
        for growth in GROWTHS:
            one, other = (way**power for power in growth)
            (a, b, d), (p, q) = _sums(one * one, one * other, other * other), _sums(one * found, other * found)
            size = a * d - b * b
            first, second = ((d * p - b * q) / size, (a * q - b * p) / size) if size > 0.0 else (0.0, 0.0)
            left.append(float(((one * first + other * second - found) ** 2).sum()))
        return min(left)

    best, wide = 0.0, (SLACK - low) / 2
    middle = (SLACK + low) / 2
    for _ in range(3):  # the misfit may dip twice, so all of the stretch is tried before the best place is bettered
        tried = np.linspace(middle - wide, middle + wide, 41)
        misfits = np.array([misfit(float(one)) for one in tried])
        best = float(tried[np.argmax(misfits <= misfits.min() * (1 + EXACT))])
        middle, wide = best, wide / 10
    return round(steady(best), 3)  # the places that were tried lie no closer


def _sums(*products: Reals) -> list[float]:
    return [float(product.sum()) for product in products]

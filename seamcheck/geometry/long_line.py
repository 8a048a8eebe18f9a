"""A line led on straight over both its ends, and where it so meets another."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from seamcheck.geometry import bezier
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.intersections import crossings


class LongLine:
    """A line with its end tangents drawn on by `reach` mm; places on it are the stations of the line itself, below 0 before it."""

    def __init__(self, line: Curve, reach: float) -> None:
        """Draw a line on."""
        leaving, arriving = bezier.end_directions(bezier.clean_steps(line.segments))
        first, last = leaving[leaving != 0][0], arriving[arriving != 0][-1]
        self.line, self.length, self.reach = line, line.length, reach
        self.leaving, self.arriving = complex(first / abs(first)), complex(last / abs(last))

    @cached_property
    def drawn_on(self) -> Curve:
        """The line with what it is drawn on by."""
        before, after = self.reach * self.leaving, self.reach * self.arriving
        rows = [
            bezier.lines(np.array([self.line.start - before, self.line.start])),
            self.line.segments,
            bezier.lines(np.array([self.line.end, self.line.end + after])),
        ]
        return Curve(np.concatenate(rows))

    def between(self, start: float, end: float) -> Curve:
        """The line from one place on it to another."""
        return self.drawn_on.between(start + self.reach, end + self.reach)

    def meeting(self, after: LongLine, *, facing: int = 0) -> tuple[float, float] | None:
        """The crossing with the line that follows that takes or adds least, as a place on either.

        Of lines that face each other, inward being to the side of the sign of `facing`, it adds nothing and cloth lies behind it.
        """
        i, t, j, u = crossings(self.drawn_on.segments, after.drawn_on.segments)
        met = [
            (self.drawn_on.station_of(a, b) - self.reach, after.drawn_on.station_of(c, d) - after.reach)
            for a, b, c, d in zip(i.tolist(), t.tolist(), j.tolist(), u.tolist(), strict=True)
        ]
        if facing:
            met = [(here, there) for here, there in met if 0.0 < here < self.length and 0.0 < there < after.length]
            ways = [after.line.tangent(there) / self.line.tangent(here) for here, there in met]
            met = [one for one, way in zip(met, ways, strict=True) if facing * way.imag > 0.0]
        return min(met, key=lambda at: round(abs(at[0] - self.length) + abs(at[1]), 6), default=None)

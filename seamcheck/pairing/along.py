"""Where a line may be parted because another is likely sewn along it from one of its corners, though nothing marks where it ends.

So a fly facing ends along a crotch, and a pocket bag along a side seam.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from seamcheck.pairing.alike import Classes
from seamcheck.pairing.candidates import MOST_MARKS, Candidate, Kind, lines_of, made, ways_of, whole_lines
from seamcheck.pairing.lines import Use

LEFT = 25.0  # mm: a line that is sewn along another from its corner is as long at least, and so is what is left
MOST_ALONG = 600  # pairs of such lines, those that leave the least first
LIKELY_ALONG = 0.01
OFF = 1.0  # mm by which a place may differ from where the shorter line ends


def along_ends(classes: Classes) -> tuple[Classes, list[Candidate]]:
    """The lines parted wherever a shorter one would end that is sewn along them from a corner, with all that are so sewn, pairs and twins.

    They are too many to look for stretches between them: `ends_along` tells which places are likely.
    """
    lines = lines_of(classes)
    open_lines = [line for line in lines if not line.closed]
    shorter = [
        (round(-one.length / line.length, 6), line.index, one.index)
        for line in open_lines
        for one in open_lines
        if one.piece != line.piece and not line.darts and LEFT < one.length < line.length - LEFT
    ]
    tried = [(line, one) for _, line, one in sorted(shorter)[:MOST_ALONG]]
    places: dict[int, list[float]] = {}
    for line, one in tried:
        length = classes.lines[one].length
        places.setdefault(line, []).extend((length, classes.lines[line].length - length))
    parted = classes.parted(places, MOST_MARKS)
    found = whole_lines(parted, lines, [Use(line.index) for line in open_lines])
    for line, one in tried:
        marks, length, last = parted.lines[line].marks, classes.lines[one].length, len(parted.lines[line].marks) - 1
        for at in (length,) if line in classes.either_way else (length, marks[-1] - length):
            k = min(range(1, last), key=lambda k: abs(marks[k] - at)) if last > 1 else 0
            if k and abs(marks[k] - at) < OFF and marks[k] in parted.lines[line].cuts:
                part = Use(line, False, 0, k) if at == length else Use(line, False, k, -1)
                found += [made(parted, Kind.STRETCH, (Use(one),), (way,)) for way in ways_of(parted, Use(one), part)]
    return parted, found


def ends_along(
    classes: Classes, candidates: Sequence[Candidate], likely: npt.NDArray[np.float64]
) -> dict[int, list[float]]:
    """Where lines are to be parted because another is likely sewn along them to there (class -> stations in mm)."""
    found: dict[int, list[float]] = {}
    numbers = [k for k, one in enumerate(candidates) if one.kind is Kind.STRETCH and likely[k] >= LIKELY_ALONG]
    for k in sorted(numbers, key=lambda k: (-round(float(likely[k]), 6), k)):
        (part,) = candidates[k].second
        line = classes.lines[part.line]
        found.setdefault(part.line, []).append(line.marks[part.low or part.high])
    return found

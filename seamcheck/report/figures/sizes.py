"""One seam in all sizes: small rails below one another, all by one scale and one factor, the broken ones first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.checks.base import Severity
from seamcheck.report import pen
from seamcheck.report.figures.base import SMALL, TEXT, Figure, disc, length, line, plain, stroke, text
from seamcheck.report.figures.parts import Walked, round_up, scale_bar, side_name, walked
from seamcheck.report.figures.seam import NONE, SEEN

if TYPE_CHECKING:
    from seamcheck.engine.result import FileResult

WIDTH = 92.0  # as wide as a page that is as narrow as a hand
LEFT, RIGHT = 14.0, 90.0
STEP = 15.5
APART = 4.2
BELOW = 6.0  # from the middle of the rails to the words


def sizes_figure(file: FileResult, seam: str) -> Figure:
    """A seam in every size that it was walked in; KeyError where there is none."""
    each = [walked(file, seam, told.size) for told in file.seams if told.name == seam]
    if not each:
        raise KeyError(seam)
    each.sort(key=_order)  # stable: otherwise as the file lists its sizes
    whole = max(max(one.seam.first.length, one.seam.second.length) for one in each)
    scale = (RIGHT - LEFT - 6.0) / whole
    off = max(abs(one.walk.deviation) for one in each)
    found = any(one.findings for one in each) and off > NONE and each[0].walk.seam.plan.ratio is None
    factor = max(1.0, round_up(SEEN / (scale * off))) if found else 1.0
    longest = max(max(_ends(one, factor)) for one in each)
    scale = (RIGHT - LEFT) / longest
    parts = []
    for row, one in enumerate(each):
        parts.append(f'<g class="size grade-{one.grade or "none"}" data-size="{pen.words(one.seam.size)}">\n')
        parts += _row(one, row * STEP, scale, factor)
        parts.append("</g>\n")
    foot = len(each) * STEP + 1.0
    parts.append(scale_bar(complex(LEFT, foot), scale, WIDTH / 3)[0])
    factor_told = (
        "differences to scale" if factor == 1.0 else f"differences drawn {pen.number(factor)} times as large"
    )
    parts.append(text(complex(LEFT, foot + 5.0), plain(factor_told), SMALL, "quiet"))
    return Figure(
        parts=tuple(parts),
        box=(0.0, -5.0, WIDTH, foot + 12.0),
        title=f"Seam {seam} in every size",
        description=_described(each),
        exaggerated=factor,
    )


def _order(one: Walked) -> tuple[int, float]:
    rank = Severity(one.grade).rank if one.grade else len(Severity)
    return rank, -abs(one.walk.deviation) if one.grade else 0.0


def _ends(one: Walked, factor: float) -> tuple[float, float]:
    """How long both sides are drawn, in mm: the second as it is, the first with the difference times the factor."""
    return one.seam.second.length + factor * one.seam.difference, one.seam.second.length


def _row(one: Walked, y: float, scale: float, factor: float) -> list[str]:
    first, second = (LEFT + scale * end for end in _ends(one, factor))
    parts = [text(complex(LEFT - 3.0, y + APART / 2 + 1.1), plain(one.seam.size), TEXT, "end strong")]
    parts.append(
        f'<path class="sewn" data-side="first" d="{pen.polyline([complex(LEFT, y), complex(first, y)])}"/>\n'
        f'<path class="sewn" data-side="second" '
        f'd="{pen.polyline([complex(LEFT, y + APART), complex(second, y + APART)])}"/>\n'
    )
    parts += [disc(complex(LEFT, at), 0.7, "dot") for at in (y, y + APART)]
    allowed = min(max(one.seam.difference, one.seam.allowed[0]), one.seam.allowed[1])
    ought = LEFT + scale * (one.seam.second.length + factor * allowed)
    if one.grade and abs(first - ought) > 0.2:
        parts.append(stroke(pen.polyline([complex(min(first, ought), y), complex(max(first, ought), y)]), "off"))
        parts.append(line(complex(ought, y - 1.6), complex(ought, y + APART + 1.6), "ought"))
    name = side_name(one.walk.seam.first, one.walk.seam.second)
    difference = one.seam.difference
    if abs(difference) < NONE:
        words = length(one.seam.second.length, "both ")
    else:
        words = length(difference, f"{name} ", " longer" if difference > 0 else " shorter")
    kind = "told" if one.grade else "quiet"
    parts.append(text(complex(LEFT, y + APART / 2 + 1.1 + BELOW), words, TEXT, kind))
    return parts


def _described(each: list[Walked]) -> str:
    broken = [one.seam.size for one in each if one.grade]
    if not broken:
        return f"It trues in all {len(each)} sizes." if len(each) > 1 else "It trues."
    rest = len(each) - len(broken)
    return f"Out in {', '.join(broken)}" + (f"; it trues in the other {rest}." if rest else ".")

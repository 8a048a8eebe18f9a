"""Words and amounts as the report's page writes them.

Every amount stands there in millimetres and in inches; the page shows both, or those that its reader chose.
"""

from __future__ import annotations

from collections.abc import Sequence

from seamcheck import amounts
from seamcheck.amounts import Fact, Length, Spoken
from seamcheck.exact import steady
from seamcheck.report.paper import words
from seamcheck.report.telling import MOST_NAMES


def prose(said: Fact) -> str:
    """What is said as HTML, each of its lengths in both units, reckoned from the length itself."""
    return "".join(map(_part, amounts.spoken(said)))


def _part(part: Spoken) -> str:
    told = amounts.fact(part)
    if not isinstance(part, Length):
        return words(told)
    if told == amounts.length(part):
        return _both(amounts.millimetres(part), amounts.inches(part))
    return _either(told, amounts.inches(part))


def _both(mm: str, inches: str) -> str:
    return (
        f'<span class="amount"><span class="units-mm">{mm}</span><span class="units-both"> (</span>'
        f'<span class="units-inch">{inches}</span><span class="units-both">)</span></span>'
    )


def _either(mm: str, inches: str) -> str:
    """An amount that is told in millimetres alone, as long as nobody chose inches."""
    return f'<span class="amount"><span class="units-mm">{mm}</span><span class="units-inch units-alone">{inches}</span></span>'


def length(mm: float) -> str:
    """A length to a tenth of a millimetre, and to 1/16 inch."""
    return _both(f"{round(steady(mm), 1) + 0.0:.1f} mm", amounts.inches(mm))


def signed(mm: float) -> str:
    """A difference with its sign; what rounds to nothing is 0."""
    if abs(mm) < 0.005:
        return "0"
    sign = "+" if mm > 0 else "\N{MINUS SIGN}"
    inches = amounts.inches(mm)
    return _both(f"{sign}{amounts.millimetres(mm)}", inches if inches.startswith("under") else f"{sign}{inches}")


def spread(least: float, most: float) -> str:
    """Lengths from the least to the most, or the one that all have."""
    least, most = steady(least), steady(most)
    if round(least, 1) == round(most, 1):
        return length(least)
    return _both(
        f"{round(least, 1) + 0.0:.1f} to {round(most, 1) + 0.0:.1f} mm",
        f"{amounts.inches(least)} to {amounts.inches(most)}",
    )


def allowed(ends: tuple[float, float]) -> str:
    """What a difference may be."""
    low, high = ends
    if low == high == 0.0:
        return "none"
    return signed(low) if low == high else f"{signed(low)} to {signed(high)}"


def place(at: complex) -> str:
    """A place in the drawing, in the file's own axes."""
    x, y = (round(steady(value), 1) + 0.0 for value in (at.real, at.imag))
    inches = [round(steady(value / amounts.MM_PER_INCH), 2) + 0.0 for value in (at.real, at.imag)]
    return _either(f"x {x:.1f}, y {y:.1f} mm", f"x {inches[0]:.2f}, y {inches[1]:.2f} in")


def table(heads: list[str], rows: list[tuple[str, list[str]]], caption: str) -> str:
    """A table of ready cells; each row with the attributes of its tr, its first cell names it."""
    head = "".join(f'<th scope="col">{one}</th>' for one in heads)
    body = "\n".join(
        f'<tr{more}><th scope="row">{cells[0]}</th>{"".join(f"<td>{cell}</td>" for cell in cells[1:])}</tr>'
        for more, cells in rows
    )
    return (
        f'<div class="scroller"><table><caption>{caption}</caption><thead><tr>{head}</tr></thead>\n'
        f"<tbody>\n{body}\n</tbody></table></div>\n"
    )


def folded(summary: str, inside: str) -> str:
    """What is there for those who ask for it; the summary is ready HTML."""
    return f"<details><summary>{summary}</summary>\n{inside}\n</details>\n"


def named(names: Sequence[str]) -> str:
    """Names in a row, the first of them where there are many."""
    return words(", ".join(names[:MOST_NAMES]) + (" ..." if len(names) > MOST_NAMES else ""))

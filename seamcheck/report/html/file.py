"""One file on the report's page: its verdict, and section by section what was found and what was looked at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from seamcheck import amounts
from seamcheck.amounts import count
from seamcheck.report import telling
from seamcheck.report.html.amounts import allowed, folded, named, prose, signed, spread, table
from seamcheck.report.html.figures import figure_element, linked
from seamcheck.report.html.findings import about, accepted, findings, short
from seamcheck.report.html.pieces import piece_pictures, pieces
from seamcheck.report.paper import words

if TYPE_CHECKING:
    from seamcheck.engine.result import WalkedSeam
    from seamcheck.report.figures.base import Linked
    from seamcheck.report.html.view import View


def file_section(view: View, head: str) -> str:
    """All of one file; `head` is what its heading begins with."""
    file = view.file
    verdict, kind = telling.verdict(file, [told.group for told in view.told])
    parts = [
        f'<div class="verdict {kind}">',
        view.heading(0, f"{head}<span>{words(verdict[:1].upper() + verdict[1:])}</span>", f"{view.prefix}-title"),
        *(f'<p class="failure"><b>Not judged:</b> {prose(one.where_named(file.path))}</p>' for one in file.failures),
        f'<p class="quiet">{prose(telling.looked_at(file))}</p>' if file.sizes else "",
        _list_of_findings(view),
        "</div>",
    ]
    pictures = piece_pictures(view)
    parts += [
        findings(view, pictures),
        _seams(view),
        _junctions(view),
        pieces(view, pictures),
        _sizes(view),
        _graph(view),
        accepted(view),
        _skipped(view),
        _notes(view),
        _tolerances(view),
    ]
    return "\n".join(part for part in parts if part)


def contents(view: View) -> list[tuple[str, str]]:
    """The sections that a file has: ids and names, in their order."""
    file = view.file
    several = len([size for size in file.sizes if size]) > 1
    each = [
        ("findings", f"Findings ({sum(1 for _ in view.every())})", bool(view.told)),
        ("seams", f"Seams ({len(view.seams)})", bool(view.seams)),
        ("junctions", "Junctions", bool(file.junctions)),
        ("pieces", f"Pieces ({len(file.pieces)})", bool(file.pieces) and file.geometry is not None),
        ("sizes", f"Sizes ({len(file.sizes)})", several and bool(file.seams or view.told)),
        ("graph", "Which piece is sewn to which", bool(file.seams) and file.geometry is not None),
        ("accepted", "Accepted", bool(view.accepted)),
        ("skipped", "Skipped checks", bool(file.skipped)),
        ("notes", "Notes on the file", bool(file.notes)),
        ("tolerances", "Tolerances", bool(file.in_force)),
    ]
    return [(f"{view.prefix}-{kind}", name) for kind, name, there in each if there]


def _list_of_findings(view: View) -> str:
    """All findings in a line each, as ways to them."""
    if not view.told:
        return ""
    rows = "\n".join(
        f'<li class="{told.group.severity.value}"><a href="#{view.id("finding", told.number)}">'
        f'<span class="ring {told.group.severity.value}">{told.number}</span> <span class="severity">{told.group.severity.value.capitalize()}:</span> '
        f"{words(short(told.group, view))}</a></li>"
        for told in view.told
    )
    return f'<ol class="list">\n{rows}\n</ol>'


def numbers(view: View, found: Sequence[int]) -> str:
    """Links to findings by their numbers."""
    grades = {told.number: told.group.severity.value for told in view.every()}
    return (
        " ".join(
            f'<a class="number" href="#{view.id("finding", number)}" aria-label="finding {number}">'
            f'<span class="ring {grades[number]}">{number}</span></a>'
            for number in found
        )
        or "nothing"
    )


# Seams


def _seams(view: View) -> str:
    if not view.seams:
        return ""
    loud = [name for name in view.seams if view.numbers_of_seam(name)]
    quiet = [name for name in view.seams if name not in loud]
    parts = []
    if loud:
        parts.append(_seam_table(view, loud, "Seams with findings"))
    if quiet:
        inside = _seam_table(view, quiet, "Seams without a finding") + "".join(_quiet_seams(view, quiet))
        parts.append(folded(f"Nothing to put right in {count(len(quiet), 'seam')}: {named(quiet)}", inside))
    return view.section("seams", "Seams", "".join(parts))


def _seam_table(view: View, names: Sequence[str], caption: str) -> str:
    heads = [
        "Seam",
        "First side",
        "Second side",
        "First is long",
        "Second is long",
        "First less second",
        "Planned",
        "Found",
    ]
    rows = []
    for name in names:
        each = [seam for seam in view.file.seams if seam.name == name]
        cells = [
            words(name) + (" (guessed)" if any(one.inferred for one in each) else ""),
            words(_sides(each[0].first.edges)),
            words(_sides(each[0].second.edges)),
            spread(*_ends([one.first.length for one in each])),
            spread(*_ends([one.second.length for one in each])),
            _difference(each),
            allowed(each[0].allowed) if len({one.allowed for one in each}) == 1 else "by size",
            numbers(view, view.numbers_of_seam(name)),
        ]
        rows.append((f' id="{view.id("seam", view.seams.index(name))}" tabindex="-1"', cells))
    return table(heads, rows, caption)


def _sides(edges: Sequence[str]) -> str:
    """The edges of a side, without the plan's sign for those that are walked backwards."""
    return " + ".join(edge.lstrip("-") for edge in edges)


def _ends(values: Sequence[float]) -> tuple[float, float]:
    return min(values), max(values)


def _difference(each: Sequence[WalkedSeam]) -> str:
    low, high = _ends([one.difference for one in each])
    return signed(low) if high - low < 0.005 else f"{signed(low)} to {signed(high)}"


def _quiet_seams(view: View, names: Sequence[str]) -> Iterator[str]:
    """A drawing of each seam where there is one size; where there are more, the section of the sizes has them."""
    from seamcheck.report.figures.seam import seam_figure

    if view.file.geometry is None or len(view.file.sizes) != 1:
        return
    for name in names:
        figure, narrow = (seam_figure(view.file, name, view.file.sizes[0], narrow=one) for one in (False, True))
        yield figure_element(figure, view.id("seam-drawing", view.seams.index(name)), narrow=narrow, kind="seam")


# Junctions


def _junctions(view: View) -> str:
    file = view.file
    if not file.junctions:
        return ""
    places: dict[tuple[str, ...], list[int]] = {}
    for index, junction in enumerate(file.junctions):
        places.setdefault(junction.corners, []).append(index)
    found = {corners: view.numbers_of_junction(indices) for corners, indices in places.items()}
    loud = [corners for corners in places if found[corners]]
    quiet = [corners for corners in places if not found[corners]]
    parts = []
    if loud:
        parts.append(_junction_table(view, places, loud, found, "Junctions with findings"))
    if quiet:
        inside = _junction_table(view, places, quiet, found, "Junctions without a finding")
        inside += "".join(_quiet_junctions(view, places, quiet))
        parts.append(folded(f"Nothing to put right at {count(len(quiet), 'junction')}", inside))
    return view.section("junctions", "Junctions, where corners are sewn to one point", "".join(parts))


def _worst(view: View, indices: Sequence[int]) -> int:
    junctions = view.file.junctions
    return max(indices, key=lambda k: (round(abs(junctions[k].angle - junctions[k].expected), 3), -k))


def _junction_table(
    view: View,
    places: dict[tuple[str, ...], list[int]],
    these: Sequence[tuple[str, ...]],
    found: dict[tuple[str, ...], tuple[int, ...]],
    caption: str,
) -> str:
    several = len(view.file.sizes) > 1
    heads = ["Corners", "Angles add to", "Expected", "Off by", *(["Worst in size"] if several else []), "Found"]
    rows = []
    for corners in these:
        junction = view.file.junctions[_worst(view, places[corners])]
        cells = [
            words(amounts.listed(corners)),
            amounts.angle(junction.angle),
            amounts.angle(junction.expected),
            amounts.angle(abs(junction.angle - junction.expected)),
            *([words(junction.size)] if several else []),
            numbers(view, found[corners]),
        ]
        rows.append(("", cells))
    return table(heads, rows, caption)


def _quiet_junctions(
    view: View, places: dict[tuple[str, ...], list[int]], these: Sequence[tuple[str, ...]]
) -> Iterator[str]:
    from seamcheck.report.figures.junction import junction_figure

    if view.file.geometry is None:
        return
    for corners in these:
        index = _worst(view, places[corners])
        yield figure_element(junction_figure(view.file, index), view.id("junction-drawing", index), kind="junction")


# Sizes


def _sizes(view: View) -> str:
    """What was found in which size, and every seam that is out as it is in each of them."""
    file = view.file
    if len([size for size in file.sizes if size]) < 2 or not (file.seams or view.told):
        return ""
    parts = [_by_size(view)] if view.told else []
    if file.geometry is not None:
        loud = [name for name in view.seams if view.numbers_of_seam(name)]
        parts += _seams_in_sizes(view, loud)
        quiet = [name for name in view.seams if name not in loud]
        if quiet:
            said = f"Nothing to put right in {count(len(quiet), 'seam')} in any size"
            parts.append(folded(said, "".join(_seams_in_sizes(view, quiet))))
    return view.section("sizes", "Sizes", "".join(parts))


def _by_size(view: View) -> str:
    """Findings against sizes, those with the worst first."""
    letters = {"error": "E", "warning": "W", "note": "N"}
    rank = {size: k for k, size in enumerate(view.file.sizes)}
    grades: dict[tuple[int, str], str] = {}
    for told in view.every():
        for finding in sorted(told.group.findings, key=lambda one: -one.severity.rank):
            grades[told.number, finding.size] = finding.severity.value
    tally = {
        size: tuple(-sum(grade == one for (_, s), grade in grades.items() if s == size) for one in letters)
        for size in view.file.sizes
    }
    sizes = sorted(view.file.sizes, key=lambda size: (tally[size], rank[size]))
    found = [size for size in sizes if any(tally[size])]
    rows = [
        (
            "",
            [
                f'<a href="#{view.id("finding", told.number)}"><span class="ring {told.group.severity.value}">{told.number}</span> '
                f"{words(about(told.group, view) or told.group.worst.check)}</a>",
                *(
                    f'<abbr class="grade {grade}" title="{grade}">{letters[grade]}</abbr>'
                    if (grade := grades.get((told.number, size)))
                    else ""
                    for size in found
                ),
            ],
        )
        for told in view.every()
    ]
    rest = len(sizes) - len(found)
    caption = "What was found in which size: E an error, W a warning, N a note"
    if rest:
        caption += f"; nothing in the other {rest}"
    return table(["Finding", *(words(size) or "all" for size in found)], rows, caption)


def _seams_in_sizes(view: View, names: Sequence[str]) -> Iterator[str]:
    from seamcheck.report.figures.sizes import sizes_figure

    for name in names:
        yield figure_element(
            sizes_figure(view.file, name), view.id("sizes-drawing", view.seams.index(name)), kind="sizes"
        )


# The graph, and what is told in words alone


def _graph(view: View) -> str:
    from seamcheck.report.figures.graph import graph_figure

    file = view.file
    if not file.seams or file.geometry is None:
        return ""

    def link(part: Linked) -> str:
        if part.kind == "piece":
            (name,) = part.names
            found = view.numbers_of_piece(name)
            target, said = view.id("piece", file.pieces.index(name)), words(part.said)
        elif len(part.names) == 1:
            (name,) = part.names
            found = view.numbers_of_seam(name)
            target, said = view.id("seam", view.seams.index(name)), f"seam {words(name)}"
        else:  # several quiet ones in one line
            return f'<a href="#{view.prefix}-seams" aria-label="seams {words(" ".join(part.names))}: nothing found">'
        told = f"findings {amounts.listed([str(n) for n in found])}" if found else "nothing found"
        return f'<a href="#{target}" aria-label="{said}: {told}">'

    drawing = figure_element(
        linked(graph_figure(file), link), f"{view.prefix}-graph-drawing", interactive=True, kind="graph"
    )
    return view.section("graph", "Which piece is sewn to which", drawing)


def _skipped(view: View) -> str:
    rows = "\n".join(f"<li>{prose(one)}</li>" for one in telling.skipped(view.file.skipped, every=True))
    if not rows:
        return ""
    return view.section("skipped", "Skipped, for want of something to judge by", f'<ul class="plain">\n{rows}\n</ul>')


def _notes(view: View) -> str:
    rows = "\n".join(f"<li>{prose(note.said)}</li>" for note in view.file.notes)
    return view.section("notes", "Of the file", f'<ul class="plain">\n{rows}\n</ul>') if rows else ""


def _tolerances(view: View) -> str:
    rows = [("", [f"<code>{words(check)}</code>", prose(told)]) for check, told in telling.in_force(view.file)]
    if not rows:
        return ""
    caption = f"By default where no source is named; {telling.BANDS_TOLD}"
    return view.section(
        "tolerances",
        "Tolerances in force",
        f'<details class="printed"><summary>Tolerances of {len(rows)} checks</summary>\n'
        f"{table(['Check', 'Tolerance'], rows, caption)}</details>",
    )

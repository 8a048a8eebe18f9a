"""The pieces on the report's page: each drawn with the marks of its findings, and its edges, corners and notches in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from seamcheck import amounts
from seamcheck.amounts import count
from seamcheck.report.html.amounts import folded, length, named, table
from seamcheck.report.html.figures import figure_element, linked
from seamcheck.report.paper import words

if TYPE_CHECKING:
    from seamcheck.pattern.model import Edge, Piece
    from seamcheck.report.figures.base import Figure, Linked
    from seamcheck.report.html.view import View

Pictures = Mapping[tuple[str, str], tuple[str, "Figure"]]


def piece_pictures(view: View) -> dict[tuple[str, str], tuple[str, Figure]]:
    """Every piece as it is drawn: in the sizes in which something is marked on it, else in the middle one of its own."""
    from seamcheck.report.figures.piece import Marked, piece_figure

    pictures: dict[tuple[str, str], tuple[str, Figure]] = {}
    if view.file.geometry is None:
        return pictures
    sizes: dict[str, list[str]] = {}
    for piece in view.file.geometry.pieces:
        sizes.setdefault(piece.name, []).append(piece.size)
    for k, (name, own) in enumerate(sizes.items()):
        marked = view.marks_of(name) or {own[len(own) // 2]: {}}
        for size, marks in marked.items():
            identifier = f"{view.prefix}-piece-drawing-{k}-{len(pictures)}"
            places = {number: Marked(mark.at, mark.grade) for number, mark in marks.items()}
            pictures[name, size] = identifier, piece_figure(view.file, name, size, places)
    return pictures


def pieces(view: View, pictures: Pictures) -> str:
    """The section of the pieces."""
    if view.file.geometry is None or not view.file.pieces:
        return ""
    first: set[int] = set()
    told = {name: _piece(view, k, name, pictures, first) for k, name in enumerate(view.file.pieces)}
    quiet = [name for name in told if not view.numbers_of_piece(name)]
    loud = "\n".join(each for name, each in told.items() if name not in quiet)
    if not quiet:
        return view.section("pieces", "Pieces", loud)
    said = f"Nothing was found on {count(len(quiet), 'piece')}"
    return view.section(
        "pieces", "Pieces", loud + folded(f"{said}: {named(quiet)}", "\n".join(told[name] for name in quiet))
    )


def _piece(view: View, index: int, name: str, pictures: Pictures, first: set[int]) -> str:
    identifier = view.id("piece", index)
    found = view.numbers_of_piece(name)
    links = ", ".join(f'<a href="#{view.id("finding", n)}">finding {n}</a>' for n in found)
    told = f"Found on it: {links}." if links else "Nothing was found on it."
    parts = [
        f'<section class="piece" id="{identifier}" tabindex="-1" aria-labelledby="{identifier}-title">',
        view.heading(2, words(name), f"{identifier}-title"),
        f'<p id="{identifier}-found">{told}</p>',
    ]
    for (piece, size), (drawing, figure) in pictures.items():
        if piece == name:
            shown = _drawing(view, figure, drawing, found=bool(found), piece=identifier, first=first)
            parts.append(_once(shown, view.drawn.get(("piece", name, size))))
            parts.append(_tables(view, piece, size))
    return "\n".join([*parts, "</section>"])


def _once(drawing: str, finding: int | None) -> str:
    """A drawing that on paper stands with the finding alone that shows all of it too, if there is one."""
    if finding is None:
        return drawing
    return f'<div class="again">{drawing}</div><p class="on-paper">It is drawn with finding {finding}.</p>'


def _drawing(view: View, figure: Figure, drawing: str, *, found: bool, piece: str, first: set[int]) -> str:
    """A piece whose marks lead to their findings, and whose cloth leads to the list of all of them."""

    def link(part: Linked) -> str:
        if part.kind == "cloth":
            return f'<a href="#{piece}" aria-label="what was found on this piece">' if found else ""
        number = int(part.names[0])
        told = next((one for one in view.every() if one.number == number), None)
        if told is None:
            return ""
        own = "" if number in first else f' id="{view.id("mark", number)}"'
        first.add(number)
        name = f"finding {number}, {told.group.severity.value}"
        return f'<a{own} href="#{view.id("finding", number)}" data-finding="{number}" aria-label="{name}">'

    return figure_element(linked(figure, link), drawing, interactive=found, kind="piece")


def _tables(view: View, name: str, size: str) -> str:
    geometry = view.file.geometry
    piece = next((one for one in geometry.pieces if (one.name, one.size) == (name, size)), None) if geometry else None
    if piece is None:
        return ""
    sewn = _seams_by_edge(view, size)
    rows = [
        ("", [*_edge(edge), words(", ".join(sewn.get(f"{name}.{edge.name}", [])) or "none")]) for edge in piece.edges
    ]
    inside = table(
        ["Edge", "From", "To", "Length", "Notches from its start", "Seams"], rows, f"Edges of {words(name)}"
    )
    summary = f"Edges, notches and grain of {words(name)}" + (
        f", size {words(size)}" if len(view.file.sizes) > 1 else ""
    )
    return f"<details><summary>{summary}</summary>\n{inside}<p>{_grain(piece)}</p>\n</details>"


def _edge(edge: Edge) -> list[str]:
    notches = [
        length(notch.station) + (" (double)" if notch.count == 2 else f" ({notch.count})" if notch.count > 2 else "")
        for notch in edge.notches
    ]
    return [words(edge.name), words(edge.start), words(edge.end), length(edge.length), ", ".join(notches) or "none"]


def _grain(piece: Piece) -> str:
    if not piece.grainlines:
        return "It has no grain arrow."
    each = [f"{length(grain.length)} long at {amounts.angle(grain.angle)}" for grain in piece.grainlines]
    return f"Grain arrow: {'; '.join(each)} in the axes of the file."


def _seams_by_edge(view: View, size: str) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for seam in view.file.seams:
        if seam.size == size:
            for use in dict.fromkeys(edge.lstrip("-") for edge in (*seam.first.edges, *seam.second.edges)):
                found.setdefault(use, []).append(seam.name)
    return found

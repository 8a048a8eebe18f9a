"""What `pieces.html` asks of the pieces: how each is drawn with the marks of its findings, and what its edges are sewn to."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from seamcheck.pattern.model import Edge, Piece
    from seamcheck.report.figures.base import Figure, Linked
    from seamcheck.report.html.figures import Link
    from seamcheck.report.html.view import View

Pictures = Mapping[tuple[str, str], tuple[str, "Figure"]]


def piece_pictures(view: View) -> dict[tuple[str, str], tuple[str, Figure]]:
    """Every piece as it is drawn: in the sizes in which something is marked on it, else in the middle one of its own."""
    from seamcheck.report.figures.piece import piece_figure

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
            places = {number: mark.marked for number, mark in marks.items()}
            pictures[name, size] = identifier, piece_figure(view.file, name, size, places, compact=True)
    return pictures


def pictures_of(pictures: Pictures, name: str) -> list[tuple[str, str, Figure]]:
    """The drawings of a piece: size, id and figure."""
    return [(size, drawing, figure) for (piece, size), (drawing, figure) in pictures.items() if piece == name]


def piece_links(view: View, pictures: Pictures) -> dict[str, Callable[[Linked], Link | None]]:
    """For each drawing, by its id: its marks lead to their findings, and its cloth to the list of all of them.

    A finding that is marked in several drawings is led to in the first of them.
    """
    first: dict[int, str] = {}
    for name in view.file.pieces:
        for _, drawing, figure in pictures_of(pictures, name):
            for part in figure.parts:
                if not isinstance(part, str) and part.kind != "cloth":
                    first.setdefault(int(part.names[0]), drawing)
    return {drawing: _links(view, drawing, name, first) for (name, _), (drawing, _) in pictures.items()}


def _links(view: View, drawing: str, name: str, first: Mapping[int, str]) -> Callable[[Linked], Link | None]:
    grades = {told.number: told.severity for told in view.every()}
    found = bool(view.numbers_of_piece(name))
    piece = view.id("piece", view.file.pieces.index(name))

    def link(part: Linked) -> Link | None:
        if part.kind == "cloth":
            return {"href": f"#{piece}", "aria-label": "what was found on this piece"} if found else None
        number = int(part.names[0])
        if number not in grades:
            return None
        own = {"id": view.id("mark", number)} if first[number] == drawing else {}
        return own | {
            "href": f"#{view.id('finding', number)}",
            "data-finding": str(number),
            "aria-label": f"finding {number}, {grades[number]}",
        }

    return link


def drawn_piece(view: View, name: str, size: str) -> Piece | None:
    """A piece in a size, as it was measured."""
    geometry = view.file.geometry
    return next((one for one in geometry.pieces if (one.name, one.size) == (name, size)), None) if geometry else None


def edges_of(view: View, piece: Piece) -> list[tuple[Edge, list[str]]]:
    """The edges of a piece, each with the seams that it is sewn in."""
    sewn = _seams_by_edge(view, piece.size)
    return [(edge, sewn.get(f"{piece.name}.{edge.name}", [])) for edge in piece.edges]


def _seams_by_edge(view: View, size: str) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for seam in view.file.seams:
        if seam.size == size:
            for use in dict.fromkeys(edge.lstrip("-") for edge in (*seam.first.edges, *seam.second.edges)):
                found.setdefault(use, []).append(seam.name)
    return found

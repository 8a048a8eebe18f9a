"""Drawings of general vector editors: every drawn line and text of an SVG file, in mm, where the editor shows it.

The tree is walked here, from the root down: units, viewports, transforms, `use`, styles, names and hidden state
follow SVG 2 (with SVG 1.1 where files are older). Hidden things are read and flagged; what is not drawn or not
understood is counted in the ledger or told in a note.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from seamcheck.errors import InputError
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.drawing import Drawing, Ledger, LineMark, Note, Place, PointMark, Role, TextMark
from seamcheck.pattern.scale import labelled_square, stated_square
from seamcheck.pattern.words import NEW_LINES, NO_VERDICT, OLD_LINES, Verdict, is_generic, role_by_words
from seamcheck.reading.arrowheads import with_arrowheads
from seamcheck.reading.base import Importer, Source
from seamcheck.reading.svg import path, units
from seamcheck.reading.svg.css import GEOMETRY, INHERITED, Style, Styles, dashed, hides, unseen
from seamcheck.reading.svg.sheet import sheet_of
from seamcheck.reading.svg.text import chunks
from seamcheck.reading.svg.tree import GZIP, UNDRAWN, Node, Tree, in_words, read_tree, unpacked

FURTHEST = 1e7  # mm; ten kilometres of cloth
SAME = 1e-9  # mm; a segment smaller than this is a dot
MEETS = 1e-6  # mm; ends this near are one point
ROUNDING = 1e-3  # mm; what editors' rounding leaves between the last point of a closed path and its first
SHORT = 15.0  # mm; an open line up to this may be a notch, whatever layer it stands on

_SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})
_TEXTS = frozenset({"text", "flowRoot"})
_GROUPS = frozenset({"svg", "g", "a", "switch", "symbol", "use"})
_PLAIN_ENDS = re.compile(r"dot|circle|square|diamond|stop|tick|bar|scissor", re.IGNORECASE)
_PATH = re.compile(r"""path\(\s*(?:(?:nonzero|evenodd)\s*,\s*)?(["'])(.*)\1\s*\)""", re.IGNORECASE | re.DOTALL)
_UNITLESS = re.compile(r"[+-]?[\d.]+(?:[eE][+-]?\d+)?")
_ROOT = re.compile(rb"<(?:[\w.-]+:)?svg[\s>/]")
_ESCAPE = re.compile(r"_x([0-9A-Fa-f]{2,4})_")


@dataclass(frozen=True, slots=True)
class _State:
    """What an element gets from those around it."""

    affine: Affine
    style: Style
    viewport: tuple[float, float]
    groups: tuple[str, ...] = ()
    layer: str = ""
    hidden: bool = False
    clipped: bool = False
    shown_by: str = ""  # the place of the outermost use element that shows it


def recognises(source: Source) -> bool:
    """Whether an svg element stands near the start of the file, compressed or in any text encoding."""
    head = source.data[: 1 << 16]
    if head.startswith(GZIP):
        try:
            head = unpacked(source)[: 1 << 16]
        except InputError:
            return source.path.lower().endswith((".svgz", ".svg"))
    head = head.replace(b"\x00", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")
    return head.startswith(b"<") and _ROOT.search(head) is not None


def read(source: Source) -> Drawing:
    """Read all marks of an SVG or SVGZ file; InputError when it is broken, over budget or of unknown size."""
    tree = read_tree(source)
    styles = Styles(sheet_of(tree, source), source)
    size = units.root_size(tree.root, source.options.dpi)
    reader = _Reader(source, tree, styles, size)
    if size.assumed or size.unknown:
        square = stated_square(reader.lines, reader.texts)
        if square is not None:
            # Read once more at the scale that gives the square the side that is written in it.
            size = units.root_size(tree.root, size.per_inch * square.drawn / square.stated)
            told = f"{size.per_inch:.4g} px are taken for one inch, since {square.why}"
            reader = _Reader(source, tree, styles, replace(size, assumed=told))
        elif size.unknown:
            raise InputError(
                "the file does not say how large the drawing is",
                path=source.path,
                place=tree.root.place,
                remedy="give --dpi (96 for most programs, 90 or 72 for some), save it with its width in mm,"
                ' or draw a test square and write its size in it, say "5 cm"',
            )
    return reader.drawing()


class _Reader:
    """One walk over the tree at one scale."""

    def __init__(self, source: Source, tree: Tree, styles: Styles, size: units.Size) -> None:
        self.source, self.tree, self.size = source, tree, size
        self.styles = styles
        self.shown = {id(target) for node in tree.root.walk() if node.tag == "use" and (target := tree.target(node))}
        self.lines: list[LineMark] = []
        self.points: list[PointMark] = []
        self.texts: list[TextMark] = []
        self.told: dict[str, list[str]] = {}  # what went wrong, by note code, in order
        self.aside: Counter[str] = Counter()
        self.met = self.used = self.segments = 0
        self._walk()
        self.lines = list(with_arrowheads(self.lines))
        self._find_square()

    def _tell(self, code: str, what: str) -> None:
        told = self.told.setdefault(code, [])
        if what not in told:
            told.append(what)

    # The tree

    def _walk(self) -> None:
        state = _State(self.size.affine, INHERITED, self.size.viewport)
        waiting = [(self.tree.root, state)]
        while waiting:
            node, outer = waiting.pop()
            if node.tag in UNDRAWN:
                self._pass_by(node)
                continue
            if node.tag not in _GROUPS | _SHAPES | _TEXTS | {"image"}:
                if ":" not in node.tag and not node.tag.startswith("{"):
                    self._tell("unknown-element", in_words(node.tag))
                    self._set_aside(in_words(node.tag))
                continue
            state = self._enter(node, outer)
            if node.tag in _SHAPES:
                self._draw(node, state)
            elif node.tag in _TEXTS:
                self._write(node, state)
            elif node.tag == "image":
                self._set_aside("image")
            else:
                inside = (
                    self._follow(node, state)
                    if node.tag == "use"
                    else self._inside(node, state, node is self.tree.root)
                )
                waiting.extend(reversed(inside))

    def _pass_by(self, node: Node) -> None:
        """Count what stands in a container that is not drawn, unless a use shows it somewhere."""
        if node.tag == "foreignObject" and any(below.tag in _SHAPES for below in node.walk()):
            self._tell("foreign-object", str(node.place))
        waiting = [node]
        while waiting:
            below = waiting.pop()
            if id(below) in self.shown:
                continue
            if below.tag in _SHAPES | _TEXTS | {"image"}:
                self._set_aside(f"{below.tag} in {node.tag}")
            waiting.extend(below.children)

    def _set_aside(self, kind: str) -> None:
        self.met += 1
        self.aside[kind] += 1

    def _enter(self, node: Node, outer: _State) -> _State:
        """The state inside an element: its own style, transform and hiding on top of its surroundings'."""
        style = self.styles.of(node, outer.style)
        affine = outer.affine @ self._transform(node, style)
        return replace(
            outer,
            affine=affine,
            style=style,
            hidden=outer.hidden or hides(style),
            clipped=outer.clipped or style["clip-path"] != "none" or style["mask"] != "none",
        )

    def _shaped(self, node: Node, style: Style) -> Node:
        """An element with what its style says of its geometry in place of its attributes; the same one where that says nothing."""
        told: dict[str, str] = {}
        for name in GEOMETRY.get(node.tag, ()):
            value = style.get(name)
            if value is None or (_UNITLESS.fullmatch(value) and value.strip("+-0.eE")):
                continue  # a number without a unit is no length in a style, and CSS throws it away
            data = _PATH.fullmatch(value) if name == "d" else None
            if data is not None:
                told[name] = data[2]
            elif name != "d" and units.length(value, 1.0) is not None:
                told[name] = value
            else:
                self._tell("css-geometry", f'{node.place} has "{name}: {in_words(value)}"')
        return replace(node, attributes={**node.attributes, **told}) if told else node

    def _transform(self, node: Node, style: Style) -> Affine:
        """An element's own transform; the CSS property goes before the attribute (CSS Transforms 1, section 4)."""
        text = style["transform"] or node.get("transform")
        separate = [style[name] for name in ("translate", "rotate", "scale")]
        if text.strip() in ("", "none") and separate == ["none"] * 3:
            return Affine.identity()
        step = Affine.identity() if text.strip() in ("", "none") else units.transform(text)
        first = units.separate_transforms(*separate)
        if first is None:
            self._tell("css-geometry", f'{node.place} has "{in_words("; ".join(separate))}"')
            first = Affine.identity()
        if step is None or node is self.tree.root:
            self._tell("transform", f'{node.place} has the transform "{in_words(text)}"')
            return Affine.identity()
        step = first @ step
        origin = style["transform-origin"]
        if style["transform-box"] not in ("", "view-box"):
            self._tell("transform", f'{node.place} has the transform-box "{in_words(style["transform-box"])}"')
        if not origin:
            return step
        about = [units.length(word, math.nan) for word in origin.split()]
        if len(about) != 2 or not all(value is not None and math.isfinite(value) for value in about):
            self._tell("transform", f'{node.place} has the transform-origin "{in_words(origin)}"')
            return step
        move = Affine.translation(complex(about[0] or 0.0, about[1] or 0.0))
        return move @ step @ move.inverse()

    def _inside(
        self, node: Node, state: _State, is_root: bool, *, referenced: bool = False
    ) -> list[tuple[Node, _State]]:
        """The children of a group, each with its state."""
        if node.tag == "svg" and not is_root:
            state = self._nested(node, state, node)
        if is_root:
            for name in ("width", "height"):
                value = state.style.get(name, "%")
                if not value.endswith("%") and units.length(value, 1.0) != units.length(node.get(name), 1.0):
                    self._tell("css-geometry", f'{node.place} has "{name}: {in_words(value)}"')
        if node.tag == "switch":
            chosen = self.tree.drawn(node)
            for child in node.children:
                if all(child is not one for one in chosen) and any(below.tag in _SHAPES for below in child.walk()):
                    self._tell("switch", str(child.place))
                    self._pass_by(child)
        name = self._name(node, keep_generic=True)
        if name and not is_root and name.casefold() == NEW_LINES:
            return [(child, state) for child in self.tree.drawn(node, referenced=referenced)]
        if name and not is_root:
            is_layer = node.get("inkscape:groupmode") == "layer" or (
                node.parent is self.tree.root and not state.layer
            )
            state = replace(state, groups=(*state.groups, name), layer=name if is_layer else state.layer)
        return [(child, state) for child in self.tree.drawn(node, referenced=referenced)]

    def _follow(self, use: Node, state: _State) -> list[tuple[Node, _State]]:
        """What a use element shows, with its state."""
        target = self.tree.target(use)
        if target is None:
            reference = use.get("href") or use.get("xlink:href")
            self._tell("use-missing", f'{use.place} shows "{in_words(reference)}"')
            self._set_aside("use without target")
            return []
        use = self._shaped(use, state.style)
        width, height = state.viewport
        at = complex(*(units.length_of(use.attributes, name, of) for name, of in (("x", width), ("y", height))))
        name = self._name(use)
        state = replace(
            state,
            affine=state.affine @ Affine.translation(at if math.isfinite(abs(at)) else 0j),
            groups=(*state.groups, name) if name else state.groups,
            shown_by=state.shown_by or str(use.place),
        )
        if target.tag not in ("symbol", "svg"):
            return [(target, state)]
        inner = self._enter(target, state)
        inner = self._nested(target, inner, use)
        label = self._name(target, keep_generic=True)
        inner = replace(inner, groups=(*inner.groups, label) if label else inner.groups)
        return [(child, inner) for child in self.tree.drawn(target, referenced=True)]

    def _nested(self, node: Node, state: _State, sized_by: Node) -> _State:
        """The state inside a nested svg or a symbol; width and height may come from the use that shows it."""
        across, down = state.viewport
        sized_by = sized_by if sized_by is not node else self._shaped(node, state.style)
        node = self._shaped(node, state.style)
        shift = 0j
        if node.tag == "svg":
            values = [units.length_of(node.attributes, name, of) for name, of in (("x", across), ("y", down))]
            shift = complex(*(value if math.isfinite(value) else 0.0 for value in values))
        extent = []
        for name, of in (("width", across), ("height", down)):
            text = sized_by.get(name) or (node.get(name) if node.tag == "svg" else "")
            value = units.length(text, of)
            extent.append(of if value is None else value)
        affine = state.affine @ Affine.translation(shift)
        box = units.view_box(node)
        if box is None:
            return replace(state, affine=affine, viewport=(extent[0], extent[1]))
        if not (extent[0] > 0.0 and extent[1] > 0.0):
            return replace(state, affine=affine @ Affine.scaling(0.0, 0.0))
        inner = units.fit(box, extent[0], extent[1], node.get("preserveAspectRatio"))
        return replace(state, affine=affine @ inner, viewport=(box[2], box[3]))

    # Names

    def _name(self, node: Node, *, keep_generic: bool = False) -> str:
        """What the user calls an element: its label, else its title, else an id that is more than a number."""
        if given := self._given_name(node):
            return given
        name = self._decoded(node.get("id"))
        return name if keep_generic or not is_generic(name) else ""

    def _given_name(self, node: Node) -> str:
        """The label or the title of an element; "" where it has neither."""
        for key in ("inkscape:label", "data-name", "serif:id"):
            if node.get(key).strip():
                return node.get(key).strip()
        for child in node.children:
            if child.tag == "title" and child.text().strip():
                return " ".join(child.text().split())
        return ""

    def _decoded(self, identity: str) -> str:
        """An id as its author wrote it: `_x20_` is a blank, and `_2_` or `-2` numbers a second one of that name."""
        numbered = re.fullmatch(r"(.+?)(?:_\d+_|-\d+)", identity)
        if numbered and numbered[1] in self.tree.by_id:
            identity = numbered[1]
        return _ESCAPE.sub(lambda code: chr(int(code[1], 16)), identity).replace("_", " ").strip()

    def _verdict(self, node: Node, state: _State, label: str, *, closed: bool = False) -> tuple[Verdict, Verdict]:
        """The role by the element's own words, and by those of its groups."""
        shop = self.source.options.layers
        words = (label, *node.get("class").split())
        return (
            role_by_words(words, (), shop, closed=closed),
            role_by_words((), state.groups, shop, closed=closed),
        )

    # Lines

    def _draw(self, node: Node, state: _State) -> None:
        self.met += 1
        place = _shown(node, state)
        shaped = self._shaped(node, state.style)
        self._check(state.affine, place)
        scale = abs(state.affine.a) + abs(state.affine.b)
        try:
            strokes = path.shape(shaped, state.viewport, scale) if scale > 0.0 else []
        except path.ShapeError as error:
            if error.endless:
                raise self._endless(place, str(error)) from None
            self._tell("left-out", f"{place}: {error}")
            self.aside[f"{node.tag} that cannot be read"] += 1
            return
        for stroke in strokes:
            if len(stroke.segments) > self.source.limits.line:
                what = "segments of one line"
                self.source.limits.check("line", len(stroke.segments), what, path=self.source.path, place=place)
        self.segments += sum(len(stroke.segments) for stroke in strokes)
        self.source.limits.check("commands", self.segments, "path segments", path=self.source.path, place=place)
        if not strokes or abs(state.affine.determinant) < 1e-24:
            self.aside[f"{node.tag} without extent"] += 1
            return
        if state.clipped:
            self._tell("clipped", str(place))
        self.used += 1
        for number, stroke in enumerate(strokes, start=1):
            part = (
                place
                if len(strokes) == 1
                else Place(f"{place}, part {number}", place.line, place.column, place.words)
            )
            self._mark(node, state, stroke, part)

    def _mark(self, node: Node, state: _State, stroke: path.Subpath, place: Place) -> None:
        label = self._name(node)
        points = state.affine.apply(stroke.array)
        start = state.affine.apply(stroke.start)
        if not np.isfinite(points).all() or not np.abs(points).max(initial=abs(start)) <= FURTHEST:
            raise self._endless(place, f"it reaches further than {FURTHEST:.0g} mm")
        hidden = state.hidden or unseen(state.style)
        curve, closed = _curve(points, stroke.closed)
        shaped = self._shaped(node, state.style)
        own, around = self._verdict(node, state, label, closed=closed)
        if curve is None:
            verdict = own if own.role else around
            self.points.append(
                PointMark(
                    at=start,
                    place=place,
                    role=verdict.role,
                    why=verdict.why,
                    layer=state.layer,
                    label=label,
                    groups=state.groups,
                    hidden=hidden,
                )
            )
            return
        arrow = self._has_arrow(state.style, jointed=len(points) > 1)
        verdict = own if own.role else around
        if around.role is Role.OLD or OLD_LINES in state.groups:
            own = verdict = Verdict(Role.OLD, f'group "{OLD_LINES}"')
        if (
            not own.role
            and around.role in (Role.SEW, Role.CUT, Role.OUTLINE)
            and not closed
            and curve.length <= SHORT
        ):
            verdict = NO_VERDICT
        if verdict.role is None and arrow and not closed and curve.is_straight(0.01):
            verdict = Verdict(Role.GRAIN, "a straight line with an arrow")
        self.lines.append(
            LineMark(
                curve=curve,
                closed=closed,
                place=place,
                role=verdict.role,
                why=verdict.why,
                layer=state.layer,
                label=label,
                groups=state.groups,
                label_is_id=bool(label) and not self._given_name(node),
                hidden=hidden,
                dashed=dashed(state.style),
                arrow=arrow,
                cloned=bool(state.shown_by),
                span=None if state.shown_by or shaped.get("d") != node.get("d") else node.span,
                frame=state.affine,
                stroke=(units.length(state.style["stroke-width"], 0.0) or 0.0) * state.affine.scale,
            )
        )

    def _has_arrow(self, style: Style, *, jointed: bool) -> bool:
        """Whether a marker that is no mere dot or bar stands at an end, or at a vertex between them where there is one."""
        for name in ("marker-start", "marker-end", *(("marker-mid",) if jointed else ())):
            match = re.match(r"url\(\s*['\"]?#([^)'\"]+)", style[name])
            target = self.tree.by_id.get(match[1]) if match else None
            if target is not None and not _PLAIN_ENDS.search(f"{target.get('id')} {self._name(target)}"):
                return True
        return False

    def _check(self, affine: Affine, place: Place) -> None:
        """Refuse a transform that no drawing can need."""
        parts = [part for number in (affine.a, affine.b, affine.c) for part in (number.real, number.imag)]
        if not all(abs(part) <= path.LARGEST for part in parts):
            raise self._endless(place, "its transform is too large")

    def _endless(self, place: Place, what: str) -> InputError:
        return InputError(what, path=self.source.path, place=place, remedy="delete that element or draw it anew")

    # Texts

    def _write(self, node: Node, state: _State) -> None:
        self.met += 1
        place = _shown(node, state)
        found = chunks(node, state.style, state.hidden, state.viewport, self.styles)
        if not found:
            self.aside[f"{node.tag} without letters"] += 1
            return
        self.used += 1
        self._check(state.affine, place)
        label = self._name(node)
        own, around = self._verdict(node, state, label)
        verdict = own if own.role else around
        if state.affine.mirrors:
            self._tell("mirrored-text", str(place))
        for chunk in found:
            at = state.affine.apply(chunk.at)
            if not (math.isfinite(abs(at)) and abs(at) <= FURTHEST):
                raise self._endless(place, "its place is not finite")
            self.texts.append(
                TextMark(
                    at=at,
                    text=chunk.text,
                    place=place,
                    role=verdict.role,
                    label=label,
                    layer=state.layer,
                    groups=state.groups,
                    hidden=chunk.hidden,
                )
            )

    # The outcome

    def _find_square(self) -> None:
        square = labelled_square(self.lines, self.texts)
        if square is not None:
            line = self.lines[square.at]
            self.lines[square.at] = replace(line, role=Role.TEST_SQUARE, why=square.why)

    def drawing(self) -> Drawing:
        """Everything that the walk found."""
        if not self.lines and "left-out" in self.told:
            what = self.told["left-out"][0]
            raise InputError(f"nothing in it can be read ({what})", path=self.source.path, remedy="draw it anew")
        return Drawing(
            path=self.source.path,
            format="svg",
            y_down=True,
            units=self.size.units,
            dpi=self.size.per_inch if self.size.units == "px" else None,
            lines=tuple(self.lines),
            points=tuple(self.points),
            texts=tuple(self.texts),
            name=self._title(),
            notes=tuple(self._notes()),
            ledger=Ledger(read=self.met, used=self.used, aside=dict(sorted(self.aside.items()))),
        )

    def _title(self) -> str:
        titles = [child.text() for child in self.tree.root.children if child.tag == "title"]
        return " ".join(titles[0].split()) if titles else ""

    def _notes(self) -> list[Note]:
        notes = []
        if self.size.assumed:
            remedy = "give --dpi or draw a test square with its size in it if that is wrong"
            notes.append(Note("units-assumed", f"{self.size.assumed}; {remedy}."))
        if self.size.uneven:
            notes.append(Note("non-square-units", self.size.uneven))
        hidden = sum(mark.hidden for marks in (self.lines, self.points, self.texts) for mark in marks)
        if hidden:
            kept = "1 line or text is" if hidden == 1 else f"{hidden} lines and texts are"
            notes.append(Note("hidden", f"{kept} kept out of the checks, since hidden or not painted."))
        endings = {
            "left-out": "Left out, because {}.",
            "clipped": "Clipped in the drawing, but judged whole: {}.",
            "use-missing": "Clones of something that is not in the file: {}.",
            "mirrored-text": "Writing that is mirrored, as its piece may be: {}.",
            "transform": "Transforms that cannot be applied as written: {}.",
            "foreign-object": "Drawn in a foreignObject, which is not read: {}; draw it in the SVG itself if it is a piece.",
            "switch": "Alternatives of a switch that is shown in another form, not read: {}.",
            "css-geometry": "Styles that move or shape what is drawn, not applied: {}; write them as attributes.",
            "unknown-element": "Elements of unknown kind are passed by: {}.",
        }
        notes.extend(Note(code, endings[code].format(_listed(told))) for code, told in self.told.items())
        skipped = self.styles.sheet.skipped if self.styles.sheet is not None else ()
        if skipped:
            listed = _listed(list(dict.fromkeys(skipped)))
            notes.append(
                Note("css-not-understood", f"Style rules that are not understood and not applied: {listed}.")
            )
        return notes


def _listed(items: list[str], most: int = 5) -> str:
    rest = f" and {len(items) - most} more" if len(items) > most else ""
    return "; ".join(items[:most]) + rest


def _curve(points: npt.NDArray[np.complex128], closed: bool) -> tuple[Curve | None, bool]:
    """The curve of a stroke in mm without its dots, and whether it closes; None when nothing is left.

    A stroke that ends where it began is closed, whether the file says so or not.
    """
    extent = np.abs(points - points[:, :1]).max(axis=1, initial=0.0)
    kept = points[extent > SAME]
    if not len(kept):
        return None, False
    # The closing line of a path whose last point already is the first but for rounding has no direction of its own.
    if closed and len(kept) > 2 and abs(kept[-1, 3] - kept[-1, 0]) <= ROUNDING and extent[-1] <= ROUNDING:
        kept = kept[:-1].copy()
    gap = abs(kept[-1, 3] - kept[0, 0])
    closed = closed or gap <= MEETS
    if closed and gap:
        kept = kept.copy()
        kept[-1, 3] = kept[0, 0]
    return Curve(kept), bool(closed)


def _shown(node: Node, state: _State) -> Place:
    """Where an element stands, and by which use element it is shown."""
    own = node.place
    return Place(f"{own} shown by {state.shown_by}", own.line, own.column) if state.shown_by else own


IMPORTER = Importer(
    name="svg",
    meaning="an SVG drawing",
    recognises=recognises,
    read=read,
)

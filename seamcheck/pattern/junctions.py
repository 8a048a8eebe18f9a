"""Junctions: corners that come to lie on one point once the seams are sewn, and what their angles add to.

sector    the angle of cloth that one corner (or a straight stretch of edge) brings to a junction

A seam end inside its mate lays 180 degrees there. Where two joints of the two sides lie within 1/2 in they are
meant for one another, and a miss is a jog. Places where copies of one piece mix (gores in a row under a band) are
left aside with the reason: one drawing stands for several points there. Where seams were inferred, a line that
turns by more than 30 degrees across one is meant.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.amounts import Listed, Name, Reason, phrase
from seamcheck.exact import least, root_of_squares, steady
from seamcheck.geometry.end_directions import CornerAngle, corner_angles
from seamcheck.geometry.kept import kept
from seamcheck.pattern.model import Piece
from seamcheck.pattern.plan import Plan
from seamcheck.pattern.seams import Boundary, Node, Ray, Seam, Side

if TYPE_CHECKING:
    from seamcheck.geometry.curve import Curve

BOX = 270.0  # degrees of cloth round the corner of a box
BESIDE_BOX = 20.0  # degrees by which the three may be off and still be meant for it
TURNED_ABOUT = 300.0  # degrees: so much cloth beside a mouth is none at all, counted the long way round
SLIVER = 10.0  # degrees of cloth beside a mouth beyond which no edge runs on
UNPAIRED = "unpaired"  # the reason of a junction that an edge leaves which the plan neither sews nor leaves unsewn
MEETING = 12.7  # mm: two boundaries of the sides of a seam nearer than this (1/2 in) are meant for one another


class Join(NamedTuple):
    """Two rays that are laid on one another at a junction.

    The corner of the second lies `beyond` mm further out along the first ray than the corner of the first, where the
    joints of a seam miss each other. `seam` is "" for the legs of a dart or the folds of a pleat, which close its mouth.
    """

    first: Ray
    second: Ray
    seam: str = ""
    beyond: float = 0.0


class EdgePlace(NamedTuple):
    """A place inside an edge that corners of the mate are laid on: `share` of its straight angle counts.

    `node` stands for it in joins as a corner does. `station` is along the edge, from its own start.
    """

    node: Node
    edge: str
    station: float
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Junction:
    """Corners that come to lie on one point: what their angles add to and what they should.

    `uncertainty` is by how many degrees the sum may be off because lines are noisy chords.
    `dart` marks the closed mouth of a dart and nothing else; `line` are the unsewn edges that run on across the point, if any.
    `at` is the place of the first corner. `joins` and `stretches` tell how its sectors lie side by side, `mirrored` which
    rays lie on a fold or on the piece's own twin.
    """

    corners: tuple[Node, ...]
    angles: tuple[float, ...]
    straight: float
    angle: float
    expected: float
    halved: bool
    open: bool
    dart: bool
    seams: tuple[str, ...]
    line: tuple[str, ...]
    at: complex
    joins: tuple[Join, ...] = ()
    stretches: tuple[EdgePlace, ...] = ()
    mirrored: tuple[Ray, ...] = ()
    uncertainty: float = 0.0

    @property
    def boxed(self) -> bool:
        """Whether it is the corner of a box: three right angles, or nearly."""
        return self.expected == BOX and len(self.corners) == 3 and not self.open

    @property
    def names(self) -> tuple[str, ...]:
        """The corners as "piece.corner"."""
        return tuple(f"{piece}.{corner}" for piece, corner in self.corners)


class Jog(NamedTuple):
    """Two joints on the two sides of a seam that should meet and miss each other by `amount` mm."""

    seam: str
    first: Boundary
    second: Boundary
    amount: float
    at: complex


class _Places(NamedTuple):
    """Corners of a piece that its copies bring to several places along a seam, and the corners they meet at each."""

    own: frozenset[Node]
    at: tuple[frozenset[Node], ...]


class _Gluing:
    """Lays corners on one another along the seams and judges what comes together."""

    def __init__(self, pieces: Mapping[str, Piece], plan: Plan | None, seams: Sequence[Seam]) -> None:
        self.pieces = pieces
        self.plan = plan
        self.seams = seams
        self.laid: dict[Node, set[Node]] = {}  # on each corner, those that are laid on it
        self.sewn: dict[Ray, set[str]] = {}
        self.mirrored: set[Ray] = set()
        self.free: dict[Ray, str] = {}
        self.straight: dict[Node, dict[tuple[str, tuple[Node, ...]], float]] = {}
        self.why_not: dict[Node, Reason] = {}
        self.dart_nodes: set[Node] = set()
        self.seams_at: dict[Node, set[str]] = {}
        self.jogs: list[Jog] = []
        self.joins: list[Join] = []
        self.stretches: dict[Node, list[EdgePlace]] = {}
        self.places: list[_Places] = []
        self.legs = {ray for piece in pieces.values() for ray in _leg_rays(piece)}

    def judge(self) -> tuple[tuple[Junction, ...], tuple[tuple[tuple[str, ...], Reason], ...], tuple[Jog, ...]]:
        self._darts()
        for seam in self.seams:
            self._glue(seam)
        self._folds_and_free_edges()
        junctions, unjudged = [], []
        for nodes in sorted(_together(self.laid)):
            for part in self._told_apart(nodes):
                judged = self._junction(part)
                if isinstance(judged, Junction):
                    junctions.append(judged)
                else:
                    unjudged.append((tuple(f"{p}.{c}" for p, c in part), judged))
        return tuple(junctions), tuple(unjudged), tuple(self.jogs)

    def _darts(self) -> None:
        for piece in self.pieces.values():
            for first, last, _ in _mouths(piece):
                nodes = [(piece.name, first), (piece.name, last)]
                self._lay(nodes)
                self.dart_nodes.update(nodes)
                self.joins.append(Join(_leg_ray(piece, first, last), _leg_ray(piece, last, first)))

    def _glue(self, seam: Seam) -> None:
        if seam.twin:
            for boundary in seam.first.boundaries:
                self._lay_together(boundary.corners, seam)
                self.mirrored.update(boundary.rays)
            return
        first, second = seam.first, seam.second
        for side in (first, second):
            at_ends = {node for boundary in (side.boundaries[0], side.boundaries[-1]) for node in boundary.corners}
            for boundary in side.boundaries[1:-1]:
                for node in at_ends.intersection(boundary.corners):
                    names = {"piece": Name(node[0]), "seam": Name(seam.name)}
                    why = phrase("copies of {piece} come together at several places along seam {seam}", **names)
                    self.why_not[node] = Reason("copies-along-seam", why)
        ends = [(first.boundaries[0], second.boundaries[0]), (first.boundaries[-1], second.boundaries[-1])]
        inner_first, inner_second = list(first.boundaries[1:-1]), list(second.boundaries[1:-1])
        pairs = list(ends)
        for boundary in inner_first:
            mate = _mate(boundary, inner_second, first.length, second.length)
            if mate is not None:
                inner_second.remove(mate)
                pairs.append((boundary, mate))
                amount = _distance(boundary.station, mate.station, first.length, second.length)
                self.jogs.append(Jog(seam.name, boundary, mate, amount, first.place(boundary.station)))
            else:
                self._lay_on_edge(boundary, seam, first, second)
        for boundary in inner_second:
            self._lay_on_edge(boundary, seam, second, first)
        self._note_places(pairs)
        self._note_places([(b, a) for a, b in pairs])
        for a, b in pairs:
            self._lay_together((*a.corners, *b.corners), seam)
            self._join(a, b, seam)
            for ray in (*a.rays, *b.rays):
                self.sewn.setdefault(ray, set()).add(seam.name)
            if any(not boundary.rays for boundary in (a, b)):
                why = phrase("seam {seam} runs along a line inside a piece", seam=Name(seam.name))
                self.why_not[a.corners[0]] = Reason("line-inside", why)

    def _note_places(self, pairs: Sequence[tuple[Boundary, Boundary]]) -> None:
        """Keep where a piece and its copies are laid on different corners: at either end of a band cut in one length."""
        mates: dict[frozenset[Ray], dict[frozenset[Node], None]] = {}
        for a, b in pairs:
            mates.setdefault(frozenset(a.rays), {})[frozenset(b.corners)] = None
        for rays, places in mates.items():
            if rays and len(places) > 1:
                self.places.append(_Places(frozenset(ray[:2] for ray in rays), tuple(places)))

    def _told_apart(self, nodes: Sequence[Node]) -> list[list[Node]]:
        """The nodes of every point of the garment among nodes that copies of one piece have drawn together.

        Where the places cannot be told apart the nodes stay together and are left unjudged, with the reason.
        """
        here = set(nodes)
        places = [one for one in self.places if one.own <= here]
        if not places or any(node in self.why_not for node in nodes):
            return [list(nodes)]
        own, at = places[0].own, places[0].at
        rest = here - own
        reached = [{node for start in one - own for node in _reached(self.laid, start, rest)} for one in at]
        if len(places) > 1 or sum(map(len, reached)) > len(set().union(*reached)):
            piece = min(own)[0]
            why = "copies of {piece} are sewn to different corners that come together there"
            self.why_not[min(own)] = Reason("copies-at-corners", phrase(why, piece=Name(piece)))
            return [list(nodes)]
        shared = here.difference(*reached)
        return [sorted(shared | part) for part in reached]

    def _lay(self, nodes: Sequence[Node]) -> None:
        for node in nodes:
            self.laid.setdefault(node, set()).add(nodes[0])
            self.laid[nodes[0]].add(node)

    def _lay_together(self, nodes: Sequence[Node], seam: Seam) -> None:
        self._lay(nodes)
        for node in nodes:
            self.seams_at.setdefault(node, set()).add(seam.name)

    def _join(self, a: Boundary, b: Boundary, seam: Seam) -> None:
        """The rays of two boundaries lie on one another, those before the point and those behind it."""
        lengths = seam.first.length, seam.second.length
        miss = 0.0 if len(a.rays) == 1 else _distance(a.station, b.station, *lengths)
        for ray, other, ahead in zip(a.rays, b.rays, (-1.0, 1.0), strict=False):
            self.joins.append(Join(ray, other, seam.name, -ahead * miss))

    def _lay_on_edge(self, boundary: Boundary, seam: Seam, own: Side, other: Side) -> None:
        """A boundary that falls inside the mate's side meets a straight angle there.

        Copies of one piece come to many such places, all alike, and one stands for them. Where a piece meets its own
        copy, mirrored, only the drawn half is counted, and half of the straight angle with it.
        """
        self._lay_together(boundary.corners, seam)
        # A mirrored copy comes there with the same corners in the other order.
        corners = tuple(sorted(boundary.corners))
        # The same ray twice is a piece and its copy turned over; its two rays are one piece that goes on.
        share = 0.5 if len(boundary.rays) > 1 and len(set(boundary.rays)) == 1 else 1.0
        known = self.straight.setdefault(corners[0], {})
        if (seam.name, corners) not in known:
            self._stretch(boundary, share, seam, own, other)
        known[seam.name, corners] = share
        for ray in boundary.rays:
            self.sewn.setdefault(ray, set()).add(seam.name)

    def _stretch(self, boundary: Boundary, share: float, seam: Seam, own: Side, other: Side) -> None:
        """Note where on the other side a boundary comes to lie, and that its rays lie on the edge there."""
        station = boundary.station
        if abs(own.length - other.length) > MEETING:  # gathered or eased in: each side has its share
            station *= other.length / own.length
        elif station > own.length / 2:
            station += other.length - own.length
        use, edge, along = other.within(station)
        node = (use.piece, f"{edge.name} at {steady(along):.3f}")
        self.stretches.setdefault(boundary.corners[0], []).append(EdgePlace(node, edge.name, along, share))
        # Whoever walks the edge clockwise comes in by the ray before the point.
        ways = ("in", "out") if edge.forward != use.backwards else ("out", "in")
        for ray, way in zip(dict.fromkeys(boundary.rays), ways, strict=False):
            self.joins.append(Join(ray, (*node, way), seam.name))

    def _folds_and_free_edges(self) -> None:
        for piece_plan in self.plan.pieces if self.plan else ():
            piece = self.pieces.get(piece_plan.name)
            if piece is None:
                continue
            for edge in piece.edges:
                fold, free = edge.name == piece_plan.fold, edge.name in piece_plan.unsewn
                if not (fold or free):
                    continue
                away, towards = ("out", "in") if edge.forward else ("in", "out")
                rays = [(piece.name, edge.start, away), (piece.name, edge.end, towards)]
                for before, after in edge.breaks:
                    rays += [(piece.name, before, towards), (piece.name, after, away)]
                for ray in rays:
                    if fold:
                        self.mirrored.add(ray)
                        self._lay([ray[:2]])
                    else:
                        self.free[ray] = f"{piece.name}.{edge.name}"

    def _junction(self, nodes: Sequence[Node]) -> Junction | Reason:
        """The junction of corners that lie on one point, or why it is not judged."""
        reasons = [self.why_not[node] for node in nodes if node in self.why_not]
        if reasons:
            return reasons[0]
        free: list[str] = []
        halved = False
        here = set(nodes)
        for piece, corner in nodes:
            for way in ("in", "out"):
                ray = (piece, corner, way)
                seams = self.sewn.get(ray, set())
                if len(seams) > 1:
                    layers = Listed(tuple(map(Name, sorted(seams))), between=" and ")
                    return Reason(
                        "many-layers", phrase("three or more layers meet there (seams {seams})", seams=layers)
                    )
                if ray in self.mirrored:
                    halved = True
                elif ray in self.free:
                    free.append(self.free[ray])
                elif not seams and ray not in self.legs:
                    why = "an edge at {corner} is neither sewn nor unsewn in the plan"
                    return Reason(UNPAIRED, phrase(why, corner=Name(f"{piece}.{corner}")))
        sectors = [self._sector(node) for node in nodes]
        angles = tuple(sector.degrees for sector in sectors)
        straight = sum(share for node in nodes for share in self.straight.get(node, {}).values())
        total = sum(angles) + 180.0 * straight
        expected = expected_angle(total, halved=halved, open_=bool(free), walls=0 if straight else len(nodes))
        copies = self._copies(nodes)
        if copies is not None:
            return copies
        shaped = next((s for s in (self.plan.shaped if self.plan else ()) if s.corner in nodes), None)
        if shaped is not None:
            if shaped.angle is None:
                why = "it is meant to be pointed ({why})" if shaped.why else "it is meant to be pointed"
                return Reason("shaped", phrase(why, why=shaped.why))
            expected = shaped.angle
        stretches = tuple(stretch for node in nodes for stretch in self.stretches.get(node, ()))
        laid = here.union(stretch.node for stretch in stretches)
        return Junction(
            corners=tuple(nodes),
            angles=angles,
            uncertainty=root_of_squares(sector.uncertainty for sector in sectors),
            straight=straight,
            angle=total,
            expected=expected,
            halved=halved,
            open=bool(free),
            dart=all(node in self.dart_nodes for node in nodes),
            seams=tuple(sorted({seam for node in nodes for seam in self.seams_at.get(node, ())})),
            line=tuple(dict.fromkeys(free)),
            at=self.pieces[nodes[0][0]].corner(nodes[0][1]).at,
            joins=tuple(
                dict.fromkeys(join for join in self.joins if join.first[:2] in here and join.second[:2] in laid)
            ),
            stretches=stretches,
            mirrored=tuple(sorted(ray for ray in self.mirrored if ray[:2] in here)),
        )

    def _copies(self, nodes: Sequence[Node]) -> Reason | None:
        """Several copies of one piece may share a point; how many come together there is not in the plan."""
        for seam in self.seams:
            if seam.twin:
                continue
            for a, b in (
                (seam.first.boundaries[i].corners[0], seam.second.boundaries[i].corners[0]) for i in (0, -1)
            ):
                if a == b and a in nodes:
                    return Reason("several-copies", phrase("several copies of {piece} meet there", piece=Name(a[0])))
        return None

    def _sector(self, node: Node) -> CornerAngle:
        piece = self.pieces[node[0]]
        if node in self.dart_nodes:
            return dart_sector(piece, node[1])
        corner = piece.corner(node[1])
        return CornerAngle(corner.angle, corner.uncertainty)


def _leg_rays(piece: Piece) -> Iterable[Ray]:
    for first, last, _ in _mouths(piece):
        yield _leg_ray(piece, first, last)
        yield _leg_ray(piece, last, first)


def _leg_ray(piece: Piece, corner: str, other: str) -> Ray:
    """The ray of a mouth corner that runs inwards along its leg or fold line."""
    return (piece.name, corner, "out" if _mouth_ahead(piece, corner, other) else "in")


def _mouths(piece: Piece) -> Iterator[tuple[str, str, tuple[Curve, Curve]]]:
    """The mouth corners of every dart and pleat, and the lines that are laid on one another, run inwards."""
    for dart in piece.darts:
        yield dart.corners[0], dart.corners[2], dart.legs
    for pleat in piece.pleats:
        yield *pleat.corners, pleat.folds


def _mouth_ahead(piece: Piece, corner: str, other: str) -> bool:
    """Whether the mouth of a dart lies clockwise of one of its mouth corners."""
    station, across, total = piece.corner(corner).station, piece.corner(other).station, piece.outline.length
    return (across - station) % total < (station - across) % total


def expected_angle(total: float, *, halved: bool, open_: bool, walls: int = 0) -> float:
    """What the angles at a junction should add to, in degrees.

    Cloth all round: 360. A border across: 180, or 360 where two borders lie together and form an opening. On a
    mirror or fold line only the drawn half is counted and half is expected. Where three corners, `walls`, close round a point
    with three right angles or nearly, they are the corner of a box: 270.
    """
    whole = total * 2 if halved else total
    if walls == 3 and not halved and not open_ and abs(total - BOX) <= BESIDE_BOX:
        return BOX
    expected = 360.0 if not open_ or whole >= 270.0 else 180.0
    return expected / 2 if halved else expected


@kept
def dart_sector(piece: Piece, corner: str) -> CornerAngle:
    """The angle of cloth at a mouth corner of a dart or a pleat, between the edge and the leg or fold line.

    Where the piece ends at the fold line there is none, or less than none: then 0 or below.
    """
    degrees, uncertainty = corner_angles([mouth_lines(piece, corner)], piece.y_down, piece.noise)[0]
    return CornerAngle(degrees - 360.0 if degrees > TURNED_ABOUT else degrees, uncertainty)


def is_at_end(piece: Piece, corner: str) -> bool:
    """Whether a mouth takes up the end of its edge, so that at this corner of it there is no cloth beyond its fold line, or a sliver."""
    return dart_sector(piece, corner).degrees < SLIVER


def mouth_lines(piece: Piece, corner: str) -> tuple[Curve, Curve]:
    """The lines on either side of the cloth at a mouth corner: the one that arrives there clockwise and the one that leaves.

    One is the edge, up to the next corner and no more than 40 mm of it, the other the leg or the fold line. KeyError where the
    corner is at no mouth.
    """
    for first, last, legs in _mouths(piece):
        for here, other, leg in ((first, last, legs[0]), (last, first, legs[1])):
            if here != corner:
                continue
            station, total = piece.corner(corner).station, piece.outline.length
            reach = min(total / 8, 40.0, _to_next_corner(piece, corner, ahead=not _mouth_ahead(piece, corner, other)))
            # The edge goes on from the mouth corner on the side away from the mouth.
            if _mouth_ahead(piece, corner, other):
                return piece.outline.between((station - reach) % total, station), leg
            return leg.reversed(), piece.outline.between(station, (station + reach) % total)
    raise KeyError(corner)


def _to_next_corner(piece: Piece, corner: str, *, ahead: bool) -> float:
    """How far it is along the outline to the next corner, clockwise or back."""
    station, total = piece.corner(corner).station, piece.outline.length
    others = [one.station for one in piece.corners if one.name != corner]
    away = [((other - station) if ahead else (station - other)) % total for other in others]
    return min((one for one in away if one > 1e-6), default=total)


def _distance(a: float, b: float, first: float, second: float) -> float:
    """How far two stations on the sides of a seam miss each other, signed, from the end from which it is less."""
    return least((a - b, (first - a) * -1 - (second - b) * -1), key=abs)


def _mate(boundary: Boundary, others: Sequence[Boundary], first: float, second: float) -> Boundary | None:
    near = [(abs(_distance(boundary.station, other.station, first, second)), k) for k, other in enumerate(others)]
    if not near or min(near)[0] > MEETING:
        return None
    return others[min(near)[1]]


def _together(laid: Mapping[Node, set[Node]]) -> Iterator[list[Node]]:
    """The corners that come to lie on one point, in order, for every such point."""
    seen: set[Node] = set()
    for start in laid:
        if start not in seen:
            found = _reached(laid, start, laid)
            seen |= found
            yield sorted(found)


def _reached(laid: Mapping[Node, set[Node]], start: Node, within: Collection[Node]) -> set[Node]:
    """The corners that lie on one, itself among them, by way of others `within` alone."""
    found, ahead = {start}, [start]
    while ahead:
        new = {node for node in laid[ahead.pop()] if node in within} - found
        found |= new
        ahead += new
    return found

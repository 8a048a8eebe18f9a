"""The grammar of garments is what it promises: true seams, sound outlines, different structures, files that are read.

Lengths are taken by Gauss-Legendre quadrature (numpy), outlines are judged by shapely and structures told apart by networkx,
not by the code that drew them.
"""

import hashlib
import os
import re
import subprocess
import sys
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from random import Random

import networkx as nx
import numpy as np
import pytest
from shapely.geometry import Polygon

import seamcheck

FIXTURES = Path(__file__).parent.parent / "fixtures"
sys.path.insert(0, str(FIXTURES))

from corpus_drafting.draw import Pattern, Seam, strip, uses  # noqa: E402
from drafting.shapes import Arc, Line  # noqa: E402
from garments.changes import both_sides_drawn, changed, cut_across, edged, loose  # noqa: E402
from garments.compose import composed, families, names  # noqa: E402
from garments.doubling import doubled  # noqa: E402
from garments.gussets import gusseted  # noqa: E402
from garments.hip_pockets import hip_pocket  # noqa: E402
from garments.laps import lapped, overlapped  # noqa: E402
from garments.layers import layered  # noqa: E402
from garments.openings import fly, left_open, slit  # noqa: E402
from garments.parting import parted  # noqa: E402
from garments.parts import UNALTERED  # noqa: E402
from garments.ribs import openings, ribbed  # noqa: E402
from garments.side_panels import side_panel, under_sleeve  # noqa: E402
from garments.side_pockets import side_pocket  # noqa: E402

FAMILIES = sorted(families())
TRUE = 0.01  # mm
BETWEEN = ("dart", "pleat")  # stretches that are folded away and belong to no edge
NODES, WEIGHTS = np.polynomial.legendre.leggauss(40)
STRUCTURES = 400
CHANGES = (
    cut_across,
    edged,
    loose,
    left_open,
    doubled,
    side_pocket,
    fly,
    slit,
    gusseted,
    ribbed,
    side_panel,
    changed,
)


@cache
def drafted(family, seed):
    """What the garments of a family are with a seed."""
    return tuple(garment(Random(seed)) for garment in dict.fromkeys(families()[family]))


def some(family):
    return [pattern for seed in range(3) for pattern in drafted(family, seed)]


def altered(family):
    """Garments after each change of structure by itself, and after those that chance picks."""
    for number, pattern in enumerate(drafted(family, 0)):
        rng = Random(number)
        yield CHANGES[number % len(CHANGES)](pattern, rng)
        yield both_sides_drawn(pattern, [one.key for one in pattern.pieces if one.fold or one.cut == "pair"])


@cache
def stroke_length(stroke):
    if isinstance(stroke, Line):
        return abs(stroke.end - stroke.start)
    if isinstance(stroke, Arc):
        return stroke.radius * abs(np.radians(stroke.sweep))
    first, middle, last = 3 * np.diff([stroke.start, stroke.first, stroke.second, stroke.end])
    t = (NODES + 1) / 2
    speed = abs((1 - t) ** 2 * first + 2 * t * (1 - t) * middle + t * t * last)
    return float(WEIGHTS @ speed) / 2


def side_length(pattern, side):
    return sum(
        stroke_length(stroke)
        for key, edge, _ in uses(side)
        for stretch in pattern.piece(key).stretches
        if stretch.edge == edge
        for stroke in stretch.strokes
    )


def edges(piece):
    return list(dict.fromkeys(stretch.edge for stretch in piece.stretches if stretch.edge not in BETWEEN))


def seam_faults(pattern):
    for seam in pattern.seams:
        first, second = side_length(pattern, seam.first), side_length(pattern, seam.second)
        told = f"{pattern.slug}, {seam.name}: {first:.3f} and {second:.3f} mm"
        if seam.ratio is not None:
            if not seam.ratio[0] - 1e-4 <= first / second <= seam.ratio[1] + 1e-4:
                yield f"{told}, ratio {seam.ratio}"
        else:
            low, high = seam.ease or (0.0, 0.0)
            if not low - TRUE <= first - second <= high + TRUE:
                yield f"{told}, ease {(low, high)}"


def edge_faults(pattern):
    sewn = {
        (key, edge) for seam in pattern.seams for side in (seam.first, seam.second) for key, edge, _ in uses(side)
    }
    known = {(piece.key, edge) for piece in pattern.pieces for edge in edges(piece)}
    yield from (f"{pattern.slug}: no edge {key}.{edge}" for key, edge in sorted(sewn - known))
    for piece in pattern.pieces:
        for edge in edges(piece):
            told = [((piece.key, edge) in sewn, "sewn"), (edge in piece.unsewn, "free"), (edge == piece.fold, "fold")]
            is_it = [word for true, word in told if true]
            if len(is_it) != 1:
                yield f"{pattern.slug}, {piece.key}.{edge}: {is_it or 'neither sewn nor free nor a fold'}"


def outline_faults(pattern):
    for piece in pattern.pieces:
        told = f"{pattern.slug}, {piece.key}"
        rows = (*piece.stretches, piece.stretches[0])
        gaps = [abs(a.strokes[-1].end - b.strokes[0].start) for a, b in pairwise(rows)]
        if max(gaps) > 1e-6:
            yield f"{told}: a gap of {max(gaps):.6f} mm"
        if len(piece.corners) < len(piece.stretches):
            yield f"{told}: a corner's name twice"
        points = np.concatenate([s.curve.points(np.linspace(0, s.curve.length, 40)[:-1]) for s in piece.stretches])
        outline = Polygon(np.column_stack([points.real, points.imag]))
        if not outline.is_valid:
            yield f"{told}: the outline crosses itself"
        elif outline.exterior.is_ccw:
            yield f"{told}: the outline runs counter-clockwise"
    keys = [piece.key for piece in pattern.pieces]
    yield from (f"{pattern.slug}: the key {one} twice" for one in sorted(set(keys)) if keys.count(one) > 1)


@pytest.mark.parametrize("family", FAMILIES)
def test_what_is_sewn_together_is_as_long_as_each_other(family):
    assert [fault for pattern in some(family) for fault in seam_faults(pattern)] == []


@pytest.mark.parametrize("family", FAMILIES)
def test_every_edge_is_sewn_free_or_a_fold(family):
    assert [fault for pattern in some(family) for fault in edge_faults(pattern)] == []


@pytest.mark.parametrize("family", FAMILIES)
def test_outlines_are_closed_and_do_not_cross(family):
    assert [fault for pattern in some(family) for fault in outline_faults(pattern)] == []


@pytest.mark.parametrize("family", FAMILIES)
def test_a_change_of_structure_keeps_the_seams_true(family):
    faults = [
        fault
        for pattern in altered(family)
        for faults in (seam_faults, edge_faults, outline_faults)
        for fault in faults(pattern)
    ]
    assert faults == []


def test_every_piece_has_a_name_in_every_language():
    used = {piece.name for family in FAMILIES for pattern in some(family) for piece in pattern.pieces}
    bare = {re.sub(r" \d+$", "", name) for name in used}
    assert sorted(bare - set(names())) == []
    assert {len(row) for row in names().values()} == {5}
    assert all(all(row) for row in names().values())


def structure(pattern):
    """Which edges follow each other round a piece, and which are sewn together; no length and no name."""
    graph = nx.Graph()
    for piece in pattern.pieces:
        own = edges(piece)
        graph.add_nodes_from(((piece.key, edge) for edge in own), label="edge")
        graph.add_edges_from(
            ((piece.key, a), (piece.key, b), {"label": "next"}) for a, b in zip(own, own[1:] + own[:1], strict=True)
        )
    for number, seam in enumerate(pattern.seams):
        for which, side in enumerate((seam.first, seam.second)):
            graph.add_node((number, which), label="side")
            graph.add_edge((number, 0), (number, which), label="seam")
            graph.add_edges_from(((number, which), (key, edge), {"label": "of"}) for key, edge, _ in uses(side))
    return nx.weisfeiler_lehman_graph_hash(graph, node_attr="label", edge_attr="label", iterations=4)


def test_the_structures_are_many():
    """Graphs with different Weisfeiler-Lehman hashes are not isomorphic (networkx)."""
    found = {structure(pattern) for family in FAMILIES for seed in range(6) for pattern in drafted(family, seed)}
    assert len(found) >= STRUCTURES


def test_a_seed_gives_the_same_bytes_in_every_process():
    script = (
        "import sys, hashlib; sys.path.insert(0, sys.argv[1]); from garments.compose import composed\n"
        "made = [composed(seed) for seed in range(5)]\n"
        "print(hashlib.sha256(''.join(one.text + one.plan for one in made).encode()).hexdigest())"
    )

    def digest(seed):
        return subprocess.run(
            [sys.executable, "-c", script, str(FIXTURES)],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout.strip()

    made = [composed(seed) for seed in range(5)]
    here = hashlib.sha256("".join(one.text + one.plan for one in made).encode()).hexdigest()
    assert digest("1") == digest("2") == here
    assert len({one.text for one in made}) == len(made)


@pytest.mark.parametrize("family", FAMILIES)
def test_a_composed_file_is_read_with_its_plan_and_trues(family, tmp_path):
    for seed in range(2):
        made = composed(seed, (family,))
        path, plan = tmp_path / f"{seed}{made.suffix}", tmp_path / f"{seed}.seams.toml"
        path.write_text(made.text, encoding="utf-8")
        plan.write_text(made.plan, encoding="utf-8")
        report = seamcheck.check(path, plan=plan, plugins=False, geometry=False)
        (file,) = report.files
        assert file.failures == (), (seed, made.design)
        assert [str(one.message) for one in report.findings if one.check == "seam-length"] == [], (seed, made.design)
        assert {seam.name for seam in file.seams} == set(re.findall(r'\[\[seams\]\]\nname = "(.*)"', made.plan))


class Always(Random):
    """A generator of chance that says yes to every share."""

    def random(self):
        return 0.0


class OneLayer(Always):
    """One that says yes, but to what comes after the first time."""

    def __init__(self):
        super().__init__()
        self.asked = 0

    def random(self):
        self.asked += 1
        return 0.0 if self.asked == 1 else 0.99


RIM = ("upper", "right", "lower", "left")


def small(key, cut, long=160, wide=60):
    piece = strip(key, key.capitalize(), long, wide, cut=cut, free=RIM)
    return Pattern(slug="one", title="One", pieces=(piece,), seams=(), alteration=UNALTERED)


@pytest.mark.parametrize(("key", "hangs"), [("pocket-flap", "upper"), ("tab", "left")])
def test_a_small_piece_that_is_cut_twice_for_a_place_is_sewn_to_its_copy_but_where_it_hangs(key, hangs):
    made = layered(small(key, "4"), Always())
    assert {seam.first for seam in made.seams} == {f"{key}.{edge}" for edge in RIM if edge != hangs}
    assert all(seam.first == seam.second for seam in made.seams)
    assert made.pieces[0].unsewn == (hangs,)
    assert [*edge_faults(made), *seam_faults(made)] == []


def test_a_strip_is_folded_along_and_its_long_edges_meet():
    made = layered(small("tie", "2", long=300, wide=30), OneLayer())
    assert [{seam.first.lstrip("-"), seam.second.lstrip("-")} for seam in made.seams] == [{"tie.upper", "tie.lower"}]
    assert [*edge_faults(made), *seam_faults(made)] == []


@pytest.mark.parametrize(("key", "cut"), [("flap", "one"), ("flap", "pair"), ("front", "4")])
def test_what_is_cut_once_for_a_place_and_what_is_no_small_piece_stay_as_they_are(key, cut):
    made = small(key, cut)
    assert layered(made, Always()) == made


def sides_of(pattern):
    return [(seam.first, seam.second) for seam in pattern.seams]


def tube():
    """A front and a back that are sewn at one side, and free all else."""
    pieces = [
        strip(key, key.capitalize(), 200, 500, cut="fold", fold="left", free=("upper", "lower")) for key in "ab"
    ]
    seam = Seam("side", "a.right", "b.right")
    return Pattern(slug="tube", title="Tube", pieces=tuple(pieces), seams=(seam,), alteration=UNALTERED)


@pytest.mark.parametrize("seed", range(12))
def test_a_seam_left_open_is_sewn_on_the_rest_alone(seed):
    made = left_open(tube(), Random(seed))
    rest = [seam for seam in made.seams if seam.name.startswith("side ")]
    assert rest
    assert 500 > sum(side_length(made, seam.first) for seam in rest) > 0
    assert all(side_length(made, seam.first) == pytest.approx(side_length(made, seam.second)) for seam in rest)
    assert [*edge_faults(made), *seam_faults(made), *outline_faults(made)] == []


def whole_side(made):
    """The length of the side of a tube's front, all its parts together."""
    return sum(side_length(made, f"a.{edge}") for edge in edges(made.piece("a")) if edge.startswith("side"))


def sewn_to(made, mouth):
    """The sides that are sewn to some edge, and where."""
    sides = [
        (one, other) for seam in made.seams for one, other in ((seam.first, seam.second), (seam.second, seam.first))
    ]
    return [other.lstrip("-") for one, other in sides if one.lstrip("-") == mouth]


def sided(**more):
    """A tube whose sides are called so."""
    rows = {
        "edges": ("upper", "side", "lower", "middle"),
        "cut": "fold",
        "fold": "middle",
        "free": ("upper", "lower"),
    }
    pieces = [strip(key, key.capitalize(), 200, 700, **(rows | more)) for key in "ab"]
    seam = Seam("side", "a.side", "b.side")
    return Pattern(slug="sided", title="Sided", pieces=tuple(pieces), seams=(seam,), alteration=UNALTERED)


@pytest.mark.parametrize("seed", range(12))
def test_a_pocket_in_a_side_seam_is_sewn_to_both_sides_of_what_is_open_below_the_waist(seed):
    made = side_pocket(sided(), Random(seed))
    mouth = side_length(made, "a.side-open")
    assert 120 <= mouth <= 190
    assert 20 <= side_length(made, "a.side-before") <= 190
    bags = [one for one in made.pieces if one.key.startswith("open-pocket")]
    assert {words for one in bags for words in sewn_to(made, f"{one.key}.opening")} == {"a.side-open", "b.side-open"}
    assert whole_side(made) == pytest.approx(700)
    assert [*edge_faults(made), *seam_faults(made), *outline_faults(made)] == []


def test_the_mouth_of_a_pocket_is_told_by_two_notches_by_one_or_by_none():
    told = {sum(len(seam.marks) for seam in side_pocket(sided(), Random(seed)).seams) for seed in range(30)}
    assert told == {0, 1, 2}


@pytest.mark.parametrize("seed", range(6))
def test_a_slit_is_at_the_foot(seed):
    made = slit(sided(), Random(seed))
    foot = made.piece("a").runs("side-open")[0]
    assert min(foot.start.imag, foot.end.imag) == 0
    assert [*edge_faults(made), *seam_faults(made), *outline_faults(made)] == []


def legs():
    """A front and a back leg, each of which has a crotch seam with its twin."""
    rows = {"edges": ("waist", "inside", "hem", "side"), "cut": "pair", "free": ("waist", "hem", "side")}
    pieces = []
    for key in ("front", "back"):
        one = strip(key, key.capitalize(), 200, 700, **rows)
        made = Pattern(slug="legs", title="Legs", pieces=(one,), seams=(), alteration=UNALTERED)
        pieces += parted(made, key, "inside", [250.0], ["rise", "inside"]).pieces
    seams = [Seam(f"{key} rise", f"{key}.rise", f"{key}.rise") for key in ("front", "back")]
    seams.append(Seam("inside", "front.inside", "back.inside"))
    return Pattern(slug="legs", title="Legs", pieces=tuple(pieces), seams=tuple(seams), alteration=UNALTERED)


@pytest.mark.parametrize("seed", range(12))
def test_a_fly_is_open_from_the_waist_and_has_a_facing_as_long_or_a_little_longer(seed):
    made = fly(legs(), Random(seed))
    opening = made.piece("front").runs("rise-open")[0]
    assert max(opening.start.imag, opening.end.imag) == 700
    assert -TRUE <= side_length(made, "open-facing.left") - opening.length <= 15 + TRUE
    assert [*edge_faults(made), *seam_faults(made), *outline_faults(made)] == []


def test_a_gusset_is_sewn_in_where_the_crotch_seams_meet_or_at_a_free_foot():
    found = [gusseted(legs(), Random(seed)) for seed in range(20)]
    crotch = [made for made in found if any(one.key == "crotch-gusset" for one in made.pieces)]
    assert 0 < len(crotch) < len(found)
    for made in found:
        rest = next(seam for seam in made.seams if seam.name.startswith("inside "))
        opening = side_length(made, "front.inside-open")
        assert side_length(made, rest.first) + opening == pytest.approx(450)
        assert all(side_length(made, words) == pytest.approx(opening) for words in sewn_to(made, "front.inside-open"))
        assert [*edge_faults(made), *seam_faults(made), *outline_faults(made)] == []


def collared(facing):
    """A front and a back with a collar half round the neck, and with a facing of the front or without."""
    neck = {"edges": ("neck", "side", "hem", "middle"), "free": ("hem", "side")}
    front = strip("front", "Front", 200, 500, **neck, cut="pair")
    back = strip("back", "Back", 150, 500, **neck, cut="fold", fold="middle")
    edges = ("outer", "end", "lower", "cb")
    collar = strip("collar", "Collar", 350, 60, edges=edges, cut="fold", fold="cb", free=("outer", "end"))
    seams = [Seam("neck", "front.neck -back.neck", "collar.lower")]
    more = [replace(front, key="front-facing", name="Front facing")] if facing else []
    seams += [Seam("edge", "front.middle", "front-facing.middle")] if facing else []
    seams += [Seam("facing", "front-facing.neck -back.neck", "collar.lower")] if facing else []
    front = front if facing else replace(front, unsewn=("hem", "side", "middle"))
    pieces = (front, back, collar, *more)
    return Pattern(slug="collared", title="Collared", pieces=pieces, seams=tuple(seams), alteration=UNALTERED)


@pytest.mark.parametrize("facing", [False, True])
def test_a_collar_begins_inside_the_neck_and_the_lap_is_free_or_sewn_to_that_of_the_facing(facing):
    found = [lapped(collared(facing), Random(seed)) for seed in range(12)]
    for made in found:
        lap = side_length(made, "front.neck-lap")
        assert 12 <= lap <= 65
        assert side_length(made, "front.neck") == pytest.approx(200 - lap)
        assert side_length(made, "collar.lower") == pytest.approx(350 - lap)
        assert (("front.neck-lap", "front-facing.neck-lap") in sides_of(made)) == facing
        assert ("neck-lap" in made.piece("front").unsewn) != facing
        assert [*edge_faults(made), *seam_faults(made), *outline_faults(made)] == []
    notched = [made for made in found if made.piece("front").notches]
    assert 0 < len(notched) < len(found)


@pytest.mark.parametrize("seed", range(4))
def test_a_band_goes_on_past_its_seam_by_a_lap_that_is_free(seed):
    made = overlapped(banded(), Random(seed))
    (band,) = (one for one in made.pieces if "lower-lap" in one.edges)
    assert 15 <= band.length("lower-lap") <= 50
    assert band.length("lower") == 200
    assert band.length("upper") == 200 + band.length("lower-lap")
    assert "lower-lap" in band.unsewn
    assert [*edge_faults(made), *seam_faults(made), *outline_faults(made)] == []


def test_a_gusset_under_the_arm_has_two_edges_for_the_body_and_two_for_the_sleeve():
    body = {"edges": ("armhole", "side", "hem", "middle"), "cut": "fold", "fold": "middle", "free": ("hem",)}
    sleeve = {"edges": ("cap", "under-b", "wrist", "under-a"), "cut": "pair", "free": ("wrist",)}
    pieces = (
        *(strip(key, key.capitalize(), 160, 500, **body) for key in ("front", "back")),
        strip("sleeve", "Sleeve", 320, 400, **sleeve),
    )
    seams = (
        Seam("side", "front.side", "back.side"),
        Seam("underarm", "-sleeve.under-a", "sleeve.under-b"),
        Seam("armhole", "-front.armhole back.armhole", "sleeve.cap"),
    )
    made = Pattern(slug="arm", title="Arm", pieces=pieces, seams=seams, alteration=UNALTERED)
    found = [gusseted(made, Random(seed)) for seed in range(20)]
    under = [one for one in found if any(piece.key == "underarm-gusset" for piece in one.pieces)]
    assert 0 < len(under) < len(found)
    for one in under:
        sewn_in = {uses(seam.second)[0][1]: seam.first.lstrip("-") for seam in one.seams if "gusset" in seam.name}
        assert {sewn_in["low-right"], sewn_in["low-left"], sewn_in["high-right"], sewn_in["high-left"]} == {
            "front.side-open",
            "back.side-open",
            "sleeve.under-a-open",
            "sleeve.under-b-open",
        }
        assert [*edge_faults(one), *seam_faults(one), *outline_faults(one)] == []


def test_an_under_sleeve_takes_the_lowest_of_the_cap_on_both_sides_of_the_underarm():
    edges = {"edges": ("cap", "under-b", "wrist", "under-a"), "free": ("wrist",), "cut": "pair"}
    sleeve = strip("sleeve", "Sleeve", 320, 500, **edges)
    body = strip("body", "Body", 320, 400, free=("upper", "right", "left"), cut="pair")
    seams = (Seam("underarm", "-sleeve.under-a", "sleeve.under-b"), Seam("armhole", "sleeve.cap", "-body.lower"))
    made = Pattern(slug="sleeve", title="Sleeve", pieces=(sleeve, body), seams=seams, alteration=UNALTERED)
    found = [under_sleeve(made, Random(seed)) for seed in range(6)]
    for made in found:
        armhole = next(seam for seam in made.seams if seam.name == "armhole")
        assert [key for key, _, _ in uses(armhole.first)] == ["under-sleeve", "sleeve", "under-sleeve"]
        assert made.piece("under-sleeve").interior_angle("top-middle") == pytest.approx(180)
        assert [*edge_faults(made), *seam_faults(made), *outline_faults(made)] == []


def banded():
    """A tube with a band at the top of each piece."""
    made = sided()
    bands = [strip(f"band-{key}", "Band", 200, 40, cut="2", free=("upper", "right", "left")) for key in "ab"]
    tops = [Seam(f"top {key}", f"{key}.upper", f"-band-{key}.lower") for key in "ab"]
    pieces = [replace(one, unsewn=("lower",)) for one in made.pieces]
    return replace(made, pieces=(*pieces, *bands), seams=(*made.seams, *tops))


@pytest.mark.parametrize("seed", range(8))
def test_the_waist_runs_over_a_part_of_the_facing_that_shows_at_the_hip(seed):
    made = hip_pocket(banded(), Random(seed))
    facing, bag = made.piece("hip-facing"), made.piece("hip-bag")
    shown = [round_(seam.first) for seam in made.seams if seam.name.startswith("top")]
    front = next(key for key in "ab" if f"{key}.hip-mouth" in {seam.first for seam in made.seams})
    assert {f"{front}.upper", "hip-facing.upper-hip"} in shown
    assert 16 <= facing.length("upper-hip") <= 80
    assert side_length(made, f"{front}.upper") + facing.length("upper-hip") == pytest.approx(200)
    assert facing.length("under") == pytest.approx(bag.length("under"))
    assert [*edge_faults(made), *seam_faults(made), *outline_faults(made)] == []


@pytest.mark.parametrize("seed", range(8))
def test_half_of_the_top_of_a_side_panel_goes_to_the_band_of_the_front_and_half_to_that_of_the_back(seed):
    made = side_panel(banded(), Random(seed))
    panel = made.piece("side-panel")
    tops = {seam.name: round_(seam.first) for seam in made.seams if seam.name.startswith("top")}
    assert tops == {"top a": {"a.upper", "side-panel.top-a"}, "top b": {"b.upper", "side-panel.top-b"}}
    assert panel.length("top-a") == pytest.approx(panel.length("top-b"))
    assert panel.interior_angle("top-middle") == pytest.approx(180)
    assert side_length(made, "a.upper") + panel.length("top-a") == pytest.approx(200)
    assert panel.unsewn == ("foot-b", "foot-a")
    assert [*edge_faults(made), *seam_faults(made), *outline_faults(made)] == []


def test_a_rib_goes_round_both_halves_and_all_seams_of_an_opening():
    made = legs()
    assert [(round_(one.words), one.ends) for one in openings(made)] == [
        ({"front.waist"}, ("open", "fold")),
        ({"front.hem", "back.hem"}, ("open", "open")),
        ({"back.waist"}, ("open", "fold")),
    ]
    closed = tuple(replace(one, unsewn=("waist", "hem")) for one in made.pieces)
    made = replace(made, pieces=closed, seams=(*made.seams, Seam("side", "front.side", "back.side")))
    assert [(round_(one.words), one.ends) for one in openings(made)] == [
        ({"front.waist", "back.waist"}, ("fold", "fold")),
        ({"front.hem", "back.hem"}, ("ring", "ring")),
    ]


def round_(words):
    return {f"{key}.{edge}" for key, edge, _ in uses(words)}


@pytest.mark.parametrize("seed", range(12))
def test_ribs_are_shorter_than_their_openings_by_one_share(seed):
    made = ribbed(sided(), Random(seed))
    ribs = [one for one in made.pieces if one.key.startswith("rib-")]
    seams = [seam for seam in made.seams if seam.name.endswith("to its opening")]
    shares = {round(side_length(made, seam.first) / side_length(made, seam.second), 2) for seam in seams}
    assert len(ribs) in (1, 2)
    assert len(shares) == 1
    assert 0.65 <= min(shares) <= 0.95
    assert all(len(uses(seam.second)) in (2, 4) for seam in seams)
    assert [*edge_faults(made), *seam_faults(made), *outline_faults(made)] == []


def test_a_shell_and_its_lining_are_sewn_to_one_rib():
    shell = sided()
    pieces = [replace(one, unsewn=("lower",)) for one in shell.pieces]
    lining = [replace(one, key=f"{one.key}-lining", name=f"{one.name} lining") for one in pieces]
    joins = [Seam(f"top {key}", f"{key}.upper", f"{key}-lining.upper") for key in "ab"]
    sides = (*shell.seams, Seam("side of the lining", "a-lining.side", "b-lining.side"))
    whole = replace(shell, pieces=(*pieces, *lining), seams=(*sides, *joins))
    both = next(one for one in openings(called_hem(whole)) if one.inner)
    assert round_(both.inner) == {"a-lining.hem", "b-lining.hem"}
    made = next(
        m for m in (ribbed(called_hem(whole), Random(seed)) for seed in range(20)) if "rib-1 to the lining" in told(m)
    )
    assert not {"top a", "top b"} & told(made)
    assert [*edge_faults(made), *seam_faults(made), *outline_faults(made)] == []


def told(pattern):
    return {seam.name for seam in pattern.seams}


def called_hem(pattern):
    """The pattern with the upper edges called hem, as the tops of a tube are no openings by their name."""
    for one in pattern.pieces:
        pattern = parted(pattern, one.key, "upper", [], ["hem"])
    return pattern


def test_layers_are_sewn_to_their_own_layer_at_the_sides_and_to_each_other_where_they_were_free():
    found = [doubled(tube(), Random(seed)) for seed in range(40)]
    both = [made for made in found if len(made.pieces) == 4]
    assert both
    assert all(("a-in.right", "b-in.right") in sides_of(made) for made in both)
    assert not any(("a.right", "a-in.right") in sides_of(made) for made in both)
    closed = [made for made in both if ("a.upper", "a-in.upper") in sides_of(made)]
    assert 0 < len(closed) < len(both)
    assert all("upper" not in made.piece("a").unsewn for made in closed)


def test_what_is_sewn_to_nothing_gets_no_second_layer():
    made = small("band", "one")
    assert all(doubled(made, Random(seed)) == made for seed in range(20))

"""What hangs on an edge that is corrected follows it: a pocket, a lining, a fly; each is named, and keeps what else it is sewn to."""

import sys
from dataclasses import replace
from pathlib import Path

import pytest
from skirt_making import Sheet, seam_plan, side

from seamcheck.config.plan_file import format_plan
from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.plan import PiecePlan
from seamcheck.testing import Draft, Panel, PanelEdge, PanelNotch
from seamcheck.truing.propose import Wishes
from seamcheck.truing.run import true_file

sys.path.insert(0, str(Path(__file__).parents[1] / "checks"))
sys.path.insert(0, str(Path(__file__).parents[2] / "fixtures"))

from faulty_skirts import GOOD, lengthened

SETTINGS = Settings()
REGISTRY = plugins.load(SETTINGS)


def with_panel(draft: Draft, panel: Panel, seams, **more) -> Draft:
    """The skirt with one more piece, all of its edges named, and the seams that it is in."""
    edges = {}
    for edge, after in zip(panel.edges, [*panel.edges[1:], panel.edges[0]], strict=True):
        edges[edge.name] = (edge.start, after.start)
    corners = {edge.start: edge.line.start for edge in panel.edges}
    planned = PiecePlan(name=panel.name, in_file=panel.name, corners=corners, edges=edges, **more)
    plan = replace(
        draft.plan,
        pieces=(*draft.plan.pieces, planned),
        seams=(*draft.plan.seams, *(seam_plan(*seam) for seam in seams)),
    )
    return replace(draft, panels=(*draft.panels, panel), plan=plan)


def lined(draft: Draft) -> Draft:
    """The skirt with a lining that is mounted on its front: sewn in with it at the waist and at the side."""
    top = 600 + 20j
    seam = side(top + 180, 1)
    hem = complex(600, seam.end.imag)
    lining = Panel(
        name="lining",
        edges=(
            PanelEdge("waist", "cf-waist", Curve.line(top, top + 180)),
            PanelEdge("side", "side-waist", seam),
            PanelEdge("hem", "side-hem", Curve.line(seam.end, hem)),
            PanelEdge("fold", "cf-hem", Curve.line(hem, top)),
        ),
        notches=(PanelNotch("waist", 90.0), PanelNotch("side", 100.0), PanelNotch("side", 250.0, 2)),
        grain=(680 + 380j, 680 + 60j),
        texts=("Ferryhand skirt", "Lining", "Size 40", "Cut 1"),
    )
    seams = (("lining-waist", ["front.waist"], ["lining.waist"]), ("lining-side", ["front.side"], ["lining.side"]))
    return with_panel(draft, lining, seams, cut="fold", fold="fold", unsewn=("hem",))


def trued(draft: Draft, folder, before=None):
    path, plan = folder / "skirt.svg", folder / "skirt.seams.toml"
    path.write_text(Sheet.of(draft).svg, encoding="utf-8")
    plan.write_text(format_plan(draft.plan), encoding="utf-8")
    (size,) = true_file(str(path), Request(plan=plan), REGISTRY, SETTINGS, Wishes(), before).sizes
    return size


def back_let_down(draft: Draft, amount: float) -> Draft:
    """The back let down at the hem; its notches stay."""
    back = draft.panel("back")
    seam, hem, centre = (back.edge(name).line for name in ("side", "hem", "centre"))
    down = amount * 1j
    waist, *notches = back.notches
    draft = draft.with_lines(
        "back",
        side=Curve.join([Curve.line(seam.start + down, seam.point(150)), seam.between(150, seam.length)]),
        hem=Curve.line(hem.start + down, hem.end + down),
        centre=Curve.join([centre, Curve.line(centre.end, centre.end + down)]),
    )
    moved = [replace(notch, station=notch.station + amount) for notch in notches]
    return draft.with_panel("back", notches=(waist, *moved))


def alternatives(size, seam: str):
    (proposal,) = [one for one in size.proposals if one.finding.seam == seam]
    return proposal.alternatives


def lengths(state, *edges: str):
    return [state.pieces[piece].edge(name).length for piece, _, name in (edge.partition(".") for edge in edges)]


def test_a_lining_follows_the_side_that_it_is_mounted_on(tmp_path):
    size = trued(back_let_down(lined(GOOD), 4.0), tmp_path)
    found = alternatives(size, "side")
    assert [set(one.pieces) for one in found[:2]] == [{"back"}, {"front", "lining"}]
    follow = found[1]
    assert follow.what.endswith(", and let lining follow: lengthen its side by 4.0 mm (3/16 in) at side-hem")
    before = lengths(size.before, "front.side", "lining.side")
    assert lengths(follow.state, "front.side", "lining.side") == pytest.approx([one + 4.0 for one in before])
    assert lengths(follow.state, "front.waist", "lining.waist") == pytest.approx([180.0, 180.0], abs=0.4)
    assert follow.remains == 0.0
    assert follow.beyond < 0.1
    assert {stray.edge.partition(".")[0] for stray in follow.strays} == {"front", "lining"}
    both = next(one for one in found if "front.side by 4.0 mm (3/16 in), half of it" in one.what)
    assert both.what.endswith(
        "let lining follow: lengthen its side by 2.0 mm (3/32 in) at side-waist "
        "and lengthen its side by 2.0 mm (3/32 in) at side-hem"
    )


def test_a_lining_that_is_right_as_it_is_never_follows(tmp_path):
    draft = lined(GOOD)
    pieces = tuple(replace(one, master=one.name == "lining") for one in draft.plan.pieces)
    draft = replace(draft, plan=replace(draft.plan, pieces=pieces))
    found = alternatives(trued(back_let_down(draft, 4.0), tmp_path), "side")
    assert {one.pieces for one in found} == {("back",)}


def test_what_the_plan_sews_to_nothing_that_moves_stays(tmp_path):
    draft = lined(GOOD)
    seams = tuple(seam for seam in draft.plan.seams if seam.name != "lining-side")
    pieces = tuple(replace(one, unsewn=("side", "hem")) if one.name == "lining" else one for one in draft.plan.pieces)
    draft = replace(draft, plan=replace(draft.plan, seams=seams, pieces=pieces))
    found = alternatives(trued(back_let_down(draft, 4.0), tmp_path), "side")
    assert all("lining" not in one.pieces for one in found)


@pytest.mark.parametrize(
    ("case", "follower", "corner"),
    [
        (("fly facing", "front-left.fly", "centre-waist", 6.0), "facing.edge", "top-right"),
        (("fly facing", "front-left.fly", "centre-waist", -6.0), "facing.edge", "top-right"),
        (("pocket mouth", "front.pocket-mouth", "mouth-top", 6.0), "bag.mouth", "mouth-top"),
    ],
)
@pytest.mark.parametrize("against", [False, True])
def test_a_fly_and_a_pocket_follow_the_front_that_was_altered(case, follower, corner, against, tmp_path):
    from corpus_drafting.draw import Alteration
    from corpus_drafting.files import pattern_files
    from corpus_drafting.habits import Habits
    from corpus_drafting.trousers import slant_pockets
    from corpus_drafting.unseen.breeches import fly_trousers

    drafted = slant_pockets() if follower == "bag.mouth" else fly_trousers()
    pattern = replace(drafted, alteration=Alteration(*case))
    for name, text in pattern_files(pattern, Habits()).items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    before = str(tmp_path / f"{pattern.slug}.svg") if against else None
    request = Request(plan=tmp_path / f"{pattern.slug}.seams.toml")
    altered = str(tmp_path / f"{pattern.slug}-altered.svg")
    (size,) = true_file(altered, request, REGISTRY, SETTINGS, Wishes(), before).sizes
    first, *others = alternatives(size, case[0])
    verb = "lengthen" if case[3] > 0 else "shorten"
    assert first.what.startswith(f"{verb} {follower} by 6.0 mm (1/4 in) at {corner}: ")
    assert first.pieces == (follower.partition(".")[0],)
    assert any(one.pieces == (case[1].partition(".")[0],) for one in others)


def test_a_lining_follows_the_skirt_that_was_let_down(tmp_path):
    draft = lengthened(back_let_down(lined(GOOD), 4.0), 4.0)
    (proposal,) = trued(draft, tmp_path).proposals
    assert proposal.finding.seam == "lining-side"
    assert [one.pieces for one in proposal.alternatives[:2]] == [("lining",), ("lining",)]
    assert proposal.alternatives[0].what.startswith("lengthen lining.side by 4.0 mm (3/16 in) at side-hem: ")


def test_a_piece_as_large_as_its_mate_does_not_follow_it_unasked(tmp_path):
    """Front and back: against the earlier file the one that was altered gives way."""
    old = tmp_path / "old.svg"
    old.write_text(Sheet.of(GOOD).svg, encoding="utf-8")
    size = trued(back_let_down(GOOD, 4.0), tmp_path, str(old))
    assert alternatives(size, "side")[0].pieces == ("back",)

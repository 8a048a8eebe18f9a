"""What a check leaves aside it says by a code, with what it is about: one case for every code that no other test brings about."""

from dataclasses import replace
from types import SimpleNamespace

import pattern_making
import pytest
from faulty_pieces import front_cut
from faulty_skirts import GOOD
from skirt_making import CHECKS, SHOP, Sheet
from skirt_nest import SkirtNest

from seamcheck.amounts import Name, PlainLength, phrase
from seamcheck.checks.against_earlier import GRAIN_TURNED, NOTCH_DRIFT
from seamcheck.checks.allowances import HEM_TURN_UP
from seamcheck.checks.base import Context, Skip
from seamcheck.checks.darts import DART_LEGS
from seamcheck.checks.mirror_and_square import MIRROR_PAIR
from seamcheck.checks.pleats import PLEAT
from seamcheck.checks.sizes import SIZE_RUN
from seamcheck.config.settings import Settings
from seamcheck.engine.judge import judge
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.plan import DartPlan, PleatPlan
from seamcheck.pattern.seam_graph import build_graph
from seamcheck.pattern.walk import walk_seams


def contexts(pattern, plan, before):
    for size in pattern.sizes:
        pieces = {piece.name: piece for piece in pattern.in_size(size)}
        graph = build_graph(pieces, plan)
        yield Context(
            pattern=pattern,
            size=size,
            pieces=pieces,
            plan=plan,
            graph=graph,
            walks=walk_seams(graph),
            settings=Settings(),
            before=before,
        )


def skips(check, context):
    return [one for one in check.run(context) if isinstance(one, Skip)]


def context_of(sheet: Sheet, **changes) -> Context:
    """The one size of a sheet; `changes` are pieces in the stead of its own, by name with _ for -."""
    (context,) = contexts(sheet.pattern(), sheet.plan, None)
    pieces = {name: changes.get(name.replace("-", "_"), piece) for name, piece in context.pieces.items()}
    return replace(context, pieces=pieces)


def of_hem(piece, hem: Curve):
    edges = tuple(replace(edge, runs=(hem,)) if edge.name == "hem" else edge for edge in piece.edges)
    return replace(piece, edges=edges)


def hemmed(depth: float) -> Sheet:
    """The front with so much to turn up at its hem, and 12 mm elsewhere."""
    return front_cut(complex(242, 420 + depth), complex(8, 420 + depth))


def test_a_hem_that_is_curved_is_left_aside():
    sheet = hemmed(40.0)
    front = context_of(sheet).pieces["front"]
    hem = front.edge("hem").runs[0]
    assert skips(HEM_TURN_UP, context_of(sheet)) == []
    bowed = Curve.polyline([hem.start, (hem.start + hem.end) / 2 + 1.2j, hem.end])
    (skip,) = [one for one in skips(HEM_TURN_UP, context_of(sheet, front=of_hem(front, bowed))) if one.piece]
    assert (skip.reason, skip.piece, skip.edge) == ("hem-curved", "front", "hem")


def test_a_piece_whose_cut_line_ends_above_its_hem_is_left_aside():
    sheet = hemmed(40.0)
    cut = Curve.polyline([8 + 0j, 242 + 0j, 242 + 395j, 8 + 395j, 8 + 0j])
    front = replace(context_of(sheet).pieces["front"], drawn=cut)
    (skip,) = [one for one in skips(HEM_TURN_UP, context_of(sheet, front=front)) if one.piece]
    assert (skip.reason, skip.piece, skip.edge) == ("shorter-than-hem", "front", "hem")


def test_where_no_hem_is_wide_enough_the_width_is_a_fact():
    (skip,) = skips(HEM_TURN_UP, context_of(Sheet.of(GOOD)))
    assert (skip.reason, dict(skip.why.facts)) == ("no-hem", {"hem": PlainLength(20.0, 0)})
    assert isinstance(dict(skip.why.facts)["hem"], PlainLength)


@pytest.mark.parametrize(
    ("check", "plan"),
    [
        (DART_LEGS, {"darts": (DartPlan(piece="back", corners=("in", "tip", "out")),)}),
        (PLEAT, {"pleats": (PleatPlan(piece="back", corners=("in", "out")),)}),
    ],
)
def test_a_dart_or_a_pleat_that_is_not_there_says_why(check, plan):
    sheet = Sheet.of(GOOD)
    context = context_of(sheet)
    context = replace(context, plan=replace(sheet.plan, **plan))
    back = replace(context.pieces["back"], darts=(), pleats=())
    doubt = phrase("its neighbour {corner} was not found", corner=Name("side-waist"))

    def told(pieces):
        return [(one.reason, one.why, one.piece) for one in skips(check, replace(context, pieces=pieces))]

    assert told({}) == [("piece-missing", "the piece is not in the file in this size", "back")]
    assert told({"back": back}) == [("corners-missing", "its corners were not found", "back")]
    assert told({"back": replace(back, unsure={"out": doubt})}) == [("corner-unsure", doubt, "back")]


def test_sizes_with_other_numbers_of_corners_that_no_plan_names_are_left_aside():
    pattern = SkirtNest().pattern()
    pieces = [
        replace(piece, corners=tuple(replace(corner, named=False) for corner in piece.corners))
        for piece in pattern.pieces
    ]
    pieces[0] = replace(pieces[0], corners=pieces[0].corners[:-1])
    name = pieces[0].name
    context = next(contexts(replace(pattern, pieces=tuple(pieces)), None, None))
    assert [(one.reason, one.piece) for one in skips(SIZE_RUN, context)] == [("corners-differ", name)]


def test_a_left_and_a_right_of_which_one_has_a_sew_line_and_one_a_cut_line_are_left_aside():
    context = context_of(Sheet.of(GOOD))
    left = replace(context.pieces["front"], name="one", in_file="front left", line="sew")
    right = replace(left, name="other", in_file="front right", line="cut")
    (skip,) = skips(MIRROR_PAIR, replace(context, pieces={"one": left, "other": right}))
    assert skip.reason == "not-comparable"
    assert dict(skip.why.facts) == {"left": "one", "right": "other"}


def test_against_an_earlier_file_a_piece_is_left_aside_for_what_it_lacks():
    context = context_of(Sheet.of(GOOD))
    context = replace(context, pieces={"front": context.pieces["front"]})

    def against(change, check=GRAIN_TURNED):
        earlier = SimpleNamespace(piece=lambda name, size: change)
        return [(one.reason, one.piece) for one in skips(check, replace(context, before=earlier))]

    assert against(None) == against(None, NOTCH_DRIFT) == [("new-piece", "front")]
    assert against(SimpleNamespace(name="front", grain=None)) == [("no-grain", "front")]
    assert against(SimpleNamespace(name="front", grain=1, parts=())) == [("redrawn", "front")]


def test_where_seams_were_inferred_the_plan_is_not_judged():
    from seamcheck.checks.plans import PLAN_COMPLETE

    sheet = Sheet.of(GOOD)
    result = judge(sheet.pattern(), sheet.plan, [PLAN_COMPLETE], SHOP, inferred={})
    assert [(one.check, one.reason) for one in result.skipped] == [("plan-complete", "inferred")]


def test_what_a_bare_piece_has_not_is_left_aside_by_its_code():
    result = judge(
        pattern_making.pattern([pattern_making.line_mark(pattern_making.box(), label="Front")]),
        None,
        CHECKS,
        Settings(),
    )
    left = {one.reason for one in result.skipped}
    assert left >= {"no-darts", "no-folds", "no-notches", "no-pleats", "no-seams"}

"""A pairing told what a plan says: all of it at once, in the plan's own names."""

import dataclasses
import sys
from functools import cache
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

import judging

from seamcheck.config.plan_file import read_plan
from seamcheck.engine.read import Request, read_whole
from seamcheck.engine.workspace import Shops
from seamcheck.pairing.again import Again, taken_in
from seamcheck.pairing.plans import proposal_of
from seamcheck.pairing.propose import propose
from seamcheck.pieces.build import build_pattern

DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand"
TRUE = read_plan(DEMO / "ferryhand.seams.toml")


@cache
def reading():
    settings, registry = Shops(plugins=False).tolerant(str(DEMO / "ferryhand.svg"))
    return read_whole(str(DEMO / "ferryhand.svg"), Request(), registry, settings)


def again(plan=None):
    """The demo's pairing and the plan that it is told by: one of its own names, or the true one."""
    read = reading()

    def build(one):
        return build_pattern(read.drawing, read.sheet, one, line=None, allowance=None)

    solution, drawn = propose(read.drawing, read.sheet), build(None)
    plan = dataclasses.replace(proposal_of(solution, drawn, build).plan, seams=()) if plan is None else plan
    return Again(solution, drawn, build(plan)), plan


def sewn(seam):
    return frozenset(frozenset(use.name for use in side) for side in seam.sides)


def test_every_edge_of_a_plan_is_found_among_the_lines_of_pairing():
    told, plan = again()
    assert set(told.uses) == {f"{piece.name}.{edge}" for piece in plan.pieces for edge in piece.edges}
    by_hand, _ = again(TRUE)
    # The fly ends where the drawing has no corner; a place that is found by length lies there.
    assert {f"{piece.name}.{edge}" for piece in TRUE.pieces for edge in piece.edges} - set(by_hand.uses) == set()


def test_what_is_told_is_taken_and_the_rest_is_proposed_in_the_names_of_the_plan():
    told, _ = again(TRUE)
    half = dataclasses.replace(TRUE, seams=TRUE.seams[:5])
    told.tell(half)
    found = told.proposed(half)
    assert not {use.name for one in found for side in one.seam.sides for use in side} & taken_in(half)
    assert {sewn(one.seam) for one in found} <= {sewn(seam) for seam in TRUE.seams}
    assert len(found) >= 4
    everything = told.proposed(TRUE)
    assert everything == ()


def test_what_is_refused_is_not_proposed_and_an_unknown_edge_not_asked_of_again():
    told, plan = again()
    told.tell(plan)
    first = told.proposed(plan)[0]
    told.tell(plan, refused=[first.seam.sides])
    assert sewn(first.seam) not in {sewn(one.seam) for one in told.proposed(plan)}
    asked = told.question(plan)
    told.tell(plan, unknown=[asked], refused=[first.seam.sides])
    assert told.question(plan) != asked
    # What is told later takes the place of what was told before.
    told.tell(plan)
    assert sewn(first.seam) in {sewn(one.seam) for one in told.proposed(plan)}


def test_an_edge_that_stays_free_is_sewn_to_nothing():
    told, plan = again()
    told.tell(plan)
    used = told.proposed(plan)[0].seam.sides[0][0]
    free = dataclasses.replace(
        plan,
        pieces=tuple(
            dataclasses.replace(piece, unsewn=(*piece.unsewn, used.edge)) if piece.name == used.piece else piece
            for piece in plan.pieces
        ),
    )
    told.tell(free)
    assert used.name not in {use.name for one in told.proposed(free) for side in one.seam.sides for use in side}


def test_the_mates_of_an_edge_are_named_with_its_own_side_first():
    told, _ = again(TRUE)
    nothing = dataclasses.replace(TRUE, seams=())
    told.tell(nothing)
    found = told.mates("front.inseam")
    assert [[use.name for use in side] for side in found[0].sides] == [["front.inseam"], ["back.inseam"]]
    assert found[0].reasons
    assert all(found[k].likely >= found[k + 1].likely for k in range(len(found) - 1))
    assert told.mates("front.nowhere") == ()


def test_a_mate_the_other_way_round_is_named_as_such_where_it_is_likely_too():
    told, _ = again(TRUE)
    told.tell(dataclasses.replace(TRUE, seams=()))
    solver = told.solution.solver
    own, mate = ((told.uses[name],) for name in ("front.inseam", "back.inseam"))
    for one, _ in solver.ways(own, mate):
        solver.likely[solver.candidates.index(one)] = 0.4
    both = [one for one in told.mates("front.inseam") if one.sides[1][0].name == "back.inseam"]
    assert [one.other_way for one in both] == [False, True]
    assert len({(one.sides[0][0].backwards != one.sides[1][0].backwards) for one in both}) == 2


def test_answers_told_at_once_are_as_those_given_one_by_one():
    told, plan = again()
    seams = [one.seam for one in told.proposed(plan) if one.standing == "sure"]
    told.tell(dataclasses.replace(plan, seams=tuple(seams)))
    at_once = {sewn(one.seam) for one in told.proposed(plan)}
    solver = again()[0].solution.solver
    one_by_one, _ = again()
    for seam in seams:
        use = one_by_one.uses[seam.sides[0][0].name]
        one_by_one.solution.solver.answer(use.line, [one_by_one.uses[use.name] for use in seam.sides[1]])
    from seamcheck.pairing.propose import solution_of

    one_by_one.solution = solution_of(one_by_one.solution.solver, one_by_one.solution.size)
    assert {sewn(one.seam) for one in one_by_one.proposed(plan)} == at_once
    assert solver.known.max() <= 0


@pytest.mark.parametrize("form", ["ferryhand-cad.dxf", "ferryhand-nest.dxf"])
def test_the_drawing_may_have_several_sizes_and_other_axes(form):
    path = DEMO / form
    pattern, plan = judging.opened(path, plan=path.with_suffix(".seams.toml"))
    assert plan is not None
    settings, registry = Shops(plugins=False).tolerant(str(path))
    read = read_whole(str(path), Request(), registry, settings)
    drawn = build_pattern(read.drawing, read.sheet, None, line=None, allowance=None)
    told = Again(propose(read.drawing, read.sheet), drawn, pattern)
    assert len(told.uses) >= 0.8 * sum(len(piece.edges) for piece in plan.pieces)


def test_of_edges_that_are_alike_one_may_be_sewn_and_the_other_refused():
    """To the solver both are one seam, which is told; by its names the refused one is not proposed all the same."""
    told, plan = again()
    told.tell(plan)
    first = told.proposed(plan)[0].seam
    told.tell(dataclasses.replace(plan, seams=(first,)))
    assert sewn(first) in {sewn(one.seam) for one in told.proposed(plan)}
    told.tell(dataclasses.replace(plan, seams=(first,)), refused=[first.sides])
    assert sewn(first) not in {sewn(one.seam) for one in told.proposed(plan)}

"""The learned scorer: its numbers fit what is measured, its results are steady, and it hears what a person has said."""

from dataclasses import replace

import numpy as np
import pytest
import solving
from made_pieces import pattern, rectangle
from solving import edges, line_of

from seamcheck.geometry.curve import Curve
from seamcheck.pairing import scorer
from seamcheck.pairing.alike import Classes
from seamcheck.pairing.candidates import Kind, simple
from seamcheck.pairing.features import ENDS, NONE, SIDE, WORDS, Measures
from seamcheck.pairing.lines import Use, survey


@pytest.fixture(scope="module")
def solver():
    """The demo without its plan: only read here."""
    return solving.solver_of_file()


def test_the_weights_are_numbers_as_many_as_are_measured(solver):
    known = scorer.weights()
    assert all(values.dtype == np.float64 and np.isfinite(values).all() for values in known.values())
    for name, count in (("sides", len(SIDE)), ("ends", len(ENDS)), ("seams", solver.table.seams.shape[1])):
        assert known[f"{name}_mean"].shape == known[f"{name}_scale"].shape == (count,)
        assert known[f"{name}_scale"].min() > 0.0
    assert known["side.0.weight"].shape[1] == len(SIDE) + len(WORDS)


def test_results_are_shares_of_four_decimals(solver):
    scores = scorer.score(solver.table)
    for values in (scores.seams, scores.lines):
        assert (values == np.round(values, scorer.STEADY)).all()
        assert values.min() >= 0.0
        assert values.max() <= 1.0
    assert scores.seams.shape == (len(solver.candidates),)
    assert scores.lines.sum(axis=1) == pytest.approx(np.ones(len(solver.classes.members)), abs=3e-4)


@pytest.mark.parametrize("seed", [1, 2])
def test_the_order_in_which_candidates_are_listed_changes_nothing(solver, seed):
    order = np.random.default_rng(seed).permutation(len(solver.candidates))
    place = np.argsort(order)  # where each candidate stands now
    listed = [
        replace(solver.candidates[k], links=tuple(int(place[link]) for link in solver.candidates[k].links))
        for k in order
    ]
    table = Measures(solver.classes).table(listed, solver.first[order].tolist())
    plain, mixed = scorer.score(solver.table), scorer.score(table)
    assert mixed.seams == pytest.approx(plain.seams[order], abs=1e-4)
    assert mixed.lines == pytest.approx(plain.lines, abs=1e-4)


@pytest.mark.parametrize("every", [1, 3])
def test_some_of_the_candidates_are_scored_as_if_there_were_no_others(solver, every):
    numbers = [k for k, one in enumerate(solver.candidates) if one.kind is not Kind.ROW][::every]
    kept = np.isin(np.arange(len(solver.candidates)), numbers)
    alone = scorer.score(Measures(solver.classes).table([solver.candidates[k] for k in numbers]))
    part = scorer.score(solver.table.only(kept))
    assert 0 < len(numbers) < len(solver.candidates)
    assert part.seams == pytest.approx(alone.seams, abs=1e-4)
    assert part.lines == pytest.approx(alone.lines, abs=1e-4)


def test_what_is_hopeless_at_first_sight_is_no_candidate_until_it_is_said():
    solver = solving.solver_of_file()
    line = line_of(solver.classes, "Facing front.e3")
    mate = line_of(solver.classes, "Back.e6")
    wanted = frozenset({"Facing front.e3", "Back.e6"})
    assert not any(edges(solver.classes, one) == wanted for one in solver.candidates)
    solver.answer(line, [Use(mate)])
    (found,) = (found for found in solver.found if any(atom[0] == line for atom in found.candidate.atoms))
    assert found.sure
    assert edges(solver.classes, found.candidate) == wanted


def test_a_part_of_an_edge_and_a_row_are_taken_as_a_person_says_them():
    solver = solving.solver_of(
        {**rectangle("Front", 300, 400), "notches": [complex(0, 250)]},
        rectangle("Back", 150, 400),
        rectangle("Band", 100, 50),
    )
    notched, left, right = (line_of(solver.classes, name) for name in ("Front.e4", "Back.e1", "Band.e1"))
    marks = solver.classes.lines[notched].marks
    notch = next(k for k, mark in enumerate(marks) if mark == pytest.approx(150.0))
    part, row = (Use(notched, False, 0, notch),), (Use(left), Use(right))
    solver.answer(notched, row, part)
    found = [one for one in solver.found if one.candidate.atoms & solver.classes.atoms(part[0])]
    assert [one.sure for one in found] == [True]
    assert {use.line for side in found[0].candidate.seam for use in side} == {notched, left, right}


def test_a_seam_that_is_known_makes_its_rivals_less_likely(solver):
    # Either end of the front band may be the side one, and only one of them is.
    before = scorer.score(solver.table).seams
    seam = frozenset({"Band front.e4", "Band back.e2"})
    names = [solving.edges(solver.classes, one) for one in solver.candidates]
    own = [k for k, name in enumerate(names) if name == seam and solver.candidates[k].kind is Kind.PAIR]
    best = max(own, key=lambda k: before[k])
    rivals = [
        k
        for k, one in enumerate(solver.candidates)
        if one.atoms & solver.candidates[best].atoms and names[k] != seam and before[k] > 0.1
    ]
    assert rivals
    known = np.full(len(solver.candidates), NONE)
    known[best] = 1
    after = scorer.score(solver.table, known).seams
    assert after[best] > 0.999
    assert after[rivals].sum() < before[rivals].sum()


def test_what_is_known_not_to_be_sewn_is_not_likely(solver):
    best = int(np.argmax(scorer.score(solver.table).seams))
    known = np.full(len(solver.candidates), NONE)
    known[best] = 0
    assert scorer.score(solver.table, known).seams[best] < 0.001


def test_a_pattern_without_candidates_has_no_scores():
    disc = {"name": "Disc", "outline": Curve.arc(0j, 100.0, start=0.0, sweep=-360.0)}
    classes = Classes(*survey(pattern(disc).pieces))
    assert simple(classes) == []
    table = Measures(classes).table([])
    scores = scorer.score(table)
    assert scores.seams.shape == (0,)
    assert scores.lines.shape == (1, 3)


def test_the_network_computes_what_the_one_that_is_trained_does():
    # Held against torch, a reference library: runs where the extra `train` is installed.
    torch = pytest.importorskip("torch")
    from pairing_net import Net

    solver = solving.solver_of(rectangle("Front", 300, 400), rectangle("Back", 320, 400), rectangle("Band", 620, 40))
    table, known = solver.table, scorer.weights()
    single = torch.float32  # as it is trained
    measured = {name: torch.as_tensor(getattr(table, name)) for name in table.__dataclass_fields__}
    given = {name: values.to(single) if values.is_floating_point() else values for name, values in measured.items()}
    given |= {
        "graph": torch.zeros(len(table.piece), dtype=torch.long),
        "graphs": torch.tensor(1),
        "pieces": torch.tensor(int(table.piece.max()) + 1),
        "groups": torch.tensor(int(table.between.max()) + 2),
        "known": torch.full((len(table.first),), NONE),
    }
    own = {name: torch.as_tensor(values, dtype=single) for name, values in known.items()}
    net = Net(len(SIDE), len(WORDS), len(ENDS), table.seams.shape[1], **Net.sizes(own)).eval()
    net.load_state_dict(own)
    with torch.no_grad():
        logits, lines = net(given)
    scores = scorer.score(table)
    assert scores.seams == pytest.approx(torch.sigmoid(logits[-1]).numpy(), abs=1e-3)
    assert scores.lines == pytest.approx(torch.softmax(lines, 1).numpy(), abs=1e-3)

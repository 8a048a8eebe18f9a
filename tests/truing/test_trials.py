"""A trial is judged by what was measured before wherever nothing was touched, and as if all were measured anew."""

import pickle
from pathlib import Path

import pytest

from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.judge import judge
from seamcheck.engine.read import Request, read_whole
from seamcheck.geometry import kinks
from seamcheck.truing.propose import Wishes, true_up
from seamcheck.truing.run import opened
from seamcheck.truing.state import Replacement

FERRYHAND = Path(__file__).parents[2] / "fixtures" / "ferryhand"


@pytest.fixture(scope="module")
def trued():
    registry = plugins.load(Settings(), plugins=False)
    request = Request(plan=FERRYHAND / "ferryhand.seams.toml")
    reading = read_whole(str(FERRYHAND / "altered" / "prominent-calf-left.svg"), request, registry, Settings())
    return true_up(opened(reading, "40", registry, Settings()), Wishes())


def trials(trued):
    return [one.state for proposal in trued.proposals for one in proposal.alternatives]


def test_a_trial_is_judged_as_if_all_were_measured_anew(trued):
    states = trials(trued)
    assert len(states) > 5
    for state in states:
        anew = pickle.loads(pickle.dumps(state.pattern))  # what was measured is not written
        assert judge(anew, state.judges.plan, state.judges.checks, state.judges.settings) == state.judged


def test_a_trial_looks_for_kinks_on_the_redrawn_piece_alone(trued, monkeypatch):
    looked_at = []
    find = kinks.all_blemishes

    def counted(lines, noises):
        looked_at.extend(lines)
        return find(lines, noises)

    monkeypatch.setattr(kinks, "all_blemishes", counted)
    before = trued.before
    name = "pocket"
    outline = before.shapes[name].outline
    trial = before.with_lines(name, [Replacement(10.0, 20.0, outline.between(10.0, 20.0))])
    before.judged  # noqa: B018  what it measures is kept
    looked_at.clear()
    assert trial.judged.findings
    runs = [run for edge in trial.pieces[name].edges for run in edge.runs]
    assert sum(line.length for line in looked_at) == pytest.approx(sum(run.length for run in runs))

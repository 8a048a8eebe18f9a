"""A piece that is drawn by its cut line alone: the sew line is trued, and the cut line drawn anew round it."""

import sys
from pathlib import Path

import numpy as np
import pytest

from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.judge import check_file
from seamcheck.engine.read import Request
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.geometry.distances import distances
from seamcheck.truing.propose import Wishes
from seamcheck.truing.run import true_file
from seamcheck.truing.writing import write_trued

sys.path.insert(0, str(Path(__file__).parents[2] / "fixtures"))

import draft_sewline

LONGER = 6.0  # mm by which the front's seam is let down at the hem


def let_down() -> dict[str, tuple[Curve, ...]]:
    """The gilet's panels, the front's hem moved down along its seam and its centre as a whole."""
    top, seam, hem, centre = PANELS["Front"]
    way = seam.tangent(seam.length)
    move = Affine.translation(LONGER * way)
    far = hem.end + LONGER * way
    seam = Curve.join([seam, Curve.line(seam.end, seam.end + LONGER * way)])
    return PANELS | {"Front": (top, seam, hem.transformed(move), Curve.line(far, centre.end))}


PANELS = draft_sewline.panels()


@pytest.fixture(scope="module")
def registry():
    return plugins.load(Settings())


@pytest.fixture
def files(tmp_path, monkeypatch):
    monkeypatch.setattr(draft_sewline, "panels", let_down)
    path, named = tmp_path / "gilet.svg", tmp_path / "gilet.seams.toml"
    path.write_text(draft_sewline.svg(), encoding="utf-8")
    named.write_text(draft_sewline.plan(), encoding="utf-8")
    return path, Request(plan=named)


def test_the_cut_line_is_drawn_anew_round_the_trued_sew_line(files, registry, tmp_path):
    path, request = files
    trued = true_file(str(path), request, registry, Settings(), Wishes())
    (size,) = trued.sizes
    assert [(p.finding.check, p.finding.seam) for p in size.proposals][:1] == [("seam-length", "seam")]
    assert trued.left == ()
    assert trued.notes == ()
    written = tmp_path / "trued.svg"
    result = write_trued(trued, str(written), request, registry, Settings(), force=False)
    assert [f.message for f in result.findings] == []
    assert {change.piece for change in trued.changes} < {"front", "side"}
    (change,) = trued.changes
    after = size.after.pieces[change.piece]
    widths = {edge.name: 18.0 if edge.name == "hem" else 10.0 for edge in after.edges}
    for edge in after.edges:
        (run,) = edge.runs
        middle = run.points(np.linspace(20.0, run.length - 20.0, 60))  # at a corner the next edge is nearer
        assert distances(after.drawn, middle) == pytest.approx(widths[edge.name], abs=2e-3)


def test_what_lies_beside_a_line_that_stays_is_left_as_it_was_drawn(files, registry):
    path, request = files
    (size,) = true_file(str(path), request, registry, Settings(), Wishes()).sizes
    one = size.proposals[0].alternatives[0]
    (name,) = one.pieces
    before, after = size.before.pieces[name], one.state.pieces[name]
    top = before.edge("top").runs[0]
    beside = before.drawn.nearest(top.point(top.length / 2)).point
    assert after.drawn.nearest(beside).distance < 1e-9


def test_the_sound_gilet_needs_nothing(registry):
    folder = Path(draft_sewline.__file__).parent / "sewline"
    request = Request(plan=folder / "gilet.seams.toml")
    trued = true_file(str(folder / "gilet.svg"), request, registry, Settings(), Wishes())
    assert (trued.sizes[0].proposals, trued.changes, trued.notes) == ((), (), ())
    assert check_file(str(folder / "gilet.svg"), request, registry, Settings()).findings == trued.left


@pytest.fixture
def both_lines(files):
    """The same drawing with the sew line in it too."""
    path, request = files
    text = path.read_text(encoding="utf-8")
    for name, sew in let_down().items():
        line = f'<path inkscape:label="sew line" d="{draft_sewline._path(list(sew))}"/>'
        text = text.replace(f'<g inkscape:label="{name}">', f'<g inkscape:label="{name}">\n{line}')
    path.write_text(text, encoding="utf-8")
    plan = request.plan.read_text(encoding="utf-8").replace('line = "cut"\n', "")
    plan = "\n".join(line for line in plan.splitlines() if not line.startswith("allowance"))
    corners = [
        (cut.start, line.start)
        for sew in let_down().values()
        for cut, line in zip(draft_sewline.cut_line(sew), sew, strict=True)
    ]
    for old, new in corners:
        plan = plan.replace(f"[{old.real:.3f}, {old.imag:.3f}]", f"[{new.real:.3f}, {new.imag:.3f}]")
    request.plan.write_text(plan + "\n", encoding="utf-8")
    return path, request


def test_a_cut_line_that_is_drawn_round_the_sew_line_follows_it(both_lines, registry, tmp_path):
    path, request = both_lines
    before = check_file(str(path), request, registry, Settings())
    assert [(f.check, f.seam) for f in before.findings] == [("seam-length", "seam")]
    trued = true_file(str(path), request, registry, Settings(), Wishes())
    assert (trued.left, trued.notes) == ((), ())
    (change,) = trued.changes
    written = tmp_path / "trued.svg"
    assert write_trued(trued, str(written), request, registry, Settings(), force=False).findings == ()
    after = trued.sizes[0].after.pieces[change.piece]
    for edge in after.edges:
        (run,) = edge.runs
        middle = run.points(np.linspace(20.0, run.length - 20.0, 60))
        assert distances(after.drawn, middle) == pytest.approx(18.0 if edge.name == "hem" else 10.0, abs=2e-3)


def test_a_cut_line_that_is_not_parallel_is_left_to_the_hand(both_lines, registry):
    path, request = both_lines
    text = path.read_text(encoding="utf-8")
    cut = draft_sewline.cut_line(let_down()["Front"])[0].start
    word = draft_sewline._point(cut)
    assert word in text
    path.write_text(text.replace(word, draft_sewline._point(cut - 4), 1), encoding="utf-8")
    trued = true_file(str(path), request, registry, Settings(), Wishes())
    assert [note.code for note in trued.notes] == ["cut-line-not-trued"]

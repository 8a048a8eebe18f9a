"""What has too little to be drawn anew, or too much to try, ends in one sentence or in a few offers."""

import re

import pytest
from click.testing import CliRunner
from drafted import fixture
from svg_making import svg

import seamcheck
from seamcheck.cli.main import main
from seamcheck.truing.grain import MOST_KEPT

PLAN = """format = 1
[pieces.front]
unsewn = ["side", "round"]
[pieces.front.corners]
a = [20, 20]
b = [20, 320]
[pieces.front.edges]
side = ["a", "b"]
round = ["b", "a"]
"""


@pytest.mark.parametrize("words", [("true", "a.svg"), ("alter", "a.svg", "full-seat")])
def test_a_file_without_a_piece_is_not_called_right(tmp_path, monkeypatch, words):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a.svg").write_bytes(svg('<path d="M0 0h100"/>'))
    (tmp_path / "a.seams.toml").write_text(PLAN)
    result = CliRunner().invoke(main, list(words))
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == (
        "seamcheck: a.svg: no piece was found, so there is nothing to draw anew; see what was read with: seamcheck pieces FILE\n"
    )


def test_what_is_sewn_to_a_piece_that_the_file_lacks_is_trued_all_the_same(tmp_path):
    """The cuff is off, and its upper edge is sewn to the palm, which somebody took out."""
    source = fixture("corpus/lifeboat-mitten.svg")
    without = re.sub(r'<g id="palm".*?</g>', "", source.read_text("utf-8"), flags=re.DOTALL)
    pattern = tmp_path / source.name
    pattern.write_text(without.replace("L622.911,230", "L622.911,236"), "utf-8")
    pattern.with_suffix(".seams.toml").write_bytes(source.with_suffix(".seams.toml").read_bytes())
    trued = seamcheck.true(pattern)
    assert any("palm" in str(failure) for failure in trued.failures)
    assert "cuff" in {piece for proposal in trued.proposals for piece in proposal.finding.pieces}


def test_of_many_arrows_a_few_are_offered_to_be_kept(tmp_path):
    """Each offer is a trial of the whole pattern."""
    arrows = "".join(f'<path inkscape:label="grain" d="M{40 + 6 * k} 60v{150 + k}"/>' for k in range(3 * MOST_KEPT))
    pattern = tmp_path / "a.svg"
    pattern.write_bytes(svg(f'<g inkscape:label="Front"><path d="M20 20h300v300h-300z"/>{arrows}</g>'))
    pattern.with_suffix(".seams.toml").write_text(PLAN)
    proposal = next(one for one in seamcheck.true(pattern).proposals if one.finding.code == "several")
    assert 1 < len(proposal.alternatives) <= MOST_KEPT

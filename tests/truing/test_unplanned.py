"""A piece that the file draws and the plan does not name is trued as far as it needs no plan."""

from pathlib import Path

import seamcheck

AS_DRAWN = Path(__file__).parents[2] / "fixtures" / "as-drawn"


def test_its_bent_arrow_is_ruled_straight(tmp_path):
    pattern = tmp_path / "grain-bent-cad.dxf"
    pattern.write_bytes((AS_DRAWN / pattern.name).read_bytes())
    plan = pattern.with_suffix(".seams.toml")
    before, _, _ = (AS_DRAWN / plan.name).read_text().partition("[pieces.back]")
    plan.write_text(before)
    (file,) = seamcheck.check(pattern).files
    assert file.failures == ()
    trued = seamcheck.true(pattern)
    assert trued.failures == ()
    ruled = {
        piece for one in trued.proposals if one.finding.check == "grain-straight" for piece in one.finding.pieces
    }
    assert len(ruled) == 2
    assert ruled > {"front"}

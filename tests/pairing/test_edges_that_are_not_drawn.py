import json

import seamcheck
from seamcheck.testing import good_draft


def test_a_seam_of_the_plan_whose_edge_is_not_drawn_has_no_stretch_there(tmp_path):
    pattern = good_draft().save(tmp_path)
    plan = pattern.with_suffix(".seams.toml")
    more = '[pieces.nobody.corners]\na = [0, 0]\nb = [0, 9]\n[pieces.nobody.edges]\nside = ["a", "b"]\n'
    seam = '[[seams]]\nname = "gone"\nsew = ["front.side", "nobody.side"]\n'
    plan.write_text(f"{plan.read_text()}\n{more}{seam}")
    told = json.loads(seamcheck.pair(pattern).render("json"))
    (gone,) = (one for one in told["seams"] if one["name"] == "gone")
    assert gone["sew"] == [["front.side"], ["nobody.side"]]
    assert [len(side) for side in gone["stretches"]] == [1, 0]

"""Apparel DXF whose outlines are cut lines: the sew line is trued, and the cut line's vertices stay beside their places on it."""

import re
import sys
from pathlib import Path

import numpy as np
import pytest

from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request, read_whole
from seamcheck.geometry.distances import distances
from seamcheck.truing.dxf_pairs import Pairs
from seamcheck.truing.propose import Wishes
from seamcheck.truing.run import true_file
from seamcheck.truing.writing import write_trued

sys.path.insert(0, str(Path(__file__).parents[2] / "fixtures"))

from corpus_drafting.files import pattern_files
from corpus_drafting.habits import Habits
from corpus_drafting.skirts import gored_two

ALLOWANCE, HEM = 10.0, 20.0
SETTINGS = Settings()
REGISTRY = plugins.load(SETTINGS)
SLUG = "gangway-gored-skirt"
POLYLINE = re.compile(r"0\nPOLYLINE\n8\n1\n.*?0\nSEQEND\n8\n1\n", re.S)


def with_sew_lines(cut: str, sew: str) -> str:
    """A drawing of cut lines with the sew lines of another drawing of the same pieces in it, on their own layer."""
    sewn = [block.replace("\n8\n1\n", "\n8\n14\n") for block in POLYLINE.findall(sew)]
    assert len(sewn) == len(POLYLINE.findall(cut)) == 3
    return POLYLINE.sub(lambda found: found[0] + sewn.pop(0), cut)


@pytest.fixture(scope="module", params=["cut line alone", "both lines"])
def case(request, tmp_path_factory):
    """The altered skirt trued and written: its path, how it is asked for, what became of it, and what is found in what was written."""
    folder = tmp_path_factory.mktemp("apparel")
    pattern = gored_two()
    files = pattern_files(pattern, Habits(form="apparel", allowance=ALLOWANCE, hem=HEM))
    plan = files[f"{SLUG}.seams.toml"]
    text = files[f"{SLUG}-altered.dxf"]
    if request.param == "both lines":
        sewn = pattern_files(pattern, Habits(form="apparel"))
        text = with_sew_lines(text, sewn[f"{SLUG}-altered.dxf"])
        plan = sewn[f"{SLUG}.seams.toml"].replace('line = "sew"\n', "")
    path, named, target = (folder / name for name in ("skirt.dxf", "skirt.seams.toml", "trued.dxf"))
    path.write_text(text, encoding="utf-8")
    named.write_text(plan, encoding="utf-8")
    asked = Request(plan=named)
    trued = true_file(str(path), asked, REGISTRY, SETTINGS, Wishes())
    return path, target, asked, trued, write_trued(trued, str(target), asked, REGISTRY, SETTINGS, force=False)


def test_the_sew_line_is_trued_and_the_cut_line_goes_with_it(case):
    _, target, asked, trued, result = case
    assert {one.finding.check for one in trued.sizes[0].proposals} == {"seam-length"}
    assert ([f.message for f in trued.left], trued.notes) == ([], ())
    assert [f.message for f in result.findings] == []
    pieces = {piece.name: piece for piece in read_whole(str(target), asked, REGISTRY, SETTINGS).pattern.pieces}
    for change in trued.changes:
        piece = pieces[change.piece]
        for edge in piece.edges:
            (run,) = edge.runs
            middle = run.points(np.linspace(30.0, run.length - 30.0, 40))
            # As near as vertices 10 mm apart follow a parallel of a curve.
            assert distances(piece.drawn, middle) == pytest.approx(HEM if edge.name == "hem" else ALLOWANCE, abs=0.05)


def test_every_vertex_and_mark_stays_and_the_old_line_is_kept(case):
    path, target, _, trued, _ = case
    old, new = (Pairs(one.read_bytes(), str(one)) for one in (path, target))
    kept = [r for r in new.records if r.kind == "POLYLINE" and r.text(8) == "BEFORE_TRUING"]
    of_a_piece = len([r for r in old.records if r.kind == "POLYLINE"]) // 3
    assert len(kept) == of_a_piece * len(trued.changes) > 0
    for kind in ("BLOCK", "VERTEX", "POINT", "TEXT", "INSERT"):
        counts = [sum(r.kind == kind and r.text(8) != "BEFORE_TRUING" for r in pairs.records) for pairs in (old, new)]
        assert counts[1] >= counts[0] > 0
    places = [
        {(r.text(10), r.text(20)) for r in pairs.records if r.kind == "VERTEX" and r.text(8) != "BEFORE_TRUING"}
        for pairs in (old, new)
    ]
    assert 0 < len(places[1] - places[0]) < len(places[0]) / 2  # of one piece, and there of the lines drawn anew

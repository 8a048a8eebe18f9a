"""Lines drawn anew: shown before they are taken, written beside the original, and taken back."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

import judging
from serving import demo_in, serving


def test_one_proposal_is_taken_written_beside_the_original_and_taken_back(tmp_path):
    drawing = demo_in(tmp_path, altered=True)
    original = drawing.read_bytes()
    trued = tmp_path / "ferryhand-trued.svg"
    with serving(drawing) as served:
        size = served.state()["size"]
        told = served.ask(f"truing?size={size}").data
        first = told["proposals"][0]
        assert first["title"].startswith("back.outseam, 6.4 mm (1/4 in)")
        assert len(first["ways"]) > 2
        assert all(way["lines"] and way["box"] for way in first["ways"])
        assert "strays" in first["ways"][0]["strays"]
        assert not trued.exists()
        taken = served.post("take?file=0", {"size": size, "finding": 0, "letter": first["ways"][1]["letter"]}).data
        assert taken["written"] == "ferryhand-trued.svg"
        assert drawing.read_bytes() == original
        result = judging.judged(trued, plan=tmp_path / "ferryhand.seams.toml")
        assert "seam-length" not in {finding.check for finding in result.findings}
        back = served.post("back?file=0", {"size": size}).data
        assert (back["taken"], back["written"]) == ([], "")
        assert not trued.exists()
        assert served.post("back?file=0", {"size": size}).status == 422


def test_all_at_once_leaves_what_true_leaves(tmp_path):
    drawing = demo_in(tmp_path, altered=True)
    with serving(drawing) as served:
        size = served.state()["size"]
        told = served.post("take?file=0", {"size": size, "all": True}).data
        assert told["said"] == "Nothing is left to put right."
        assert served.ask("tiles.pdf").status == 200
        assert served.ask("tiles.pdf").headers["content-type"] == "application/pdf"


def test_a_trued_file_that_somebody_changed_is_neither_written_over_nor_taken_away(tmp_path):
    drawing = demo_in(tmp_path, altered=True)
    theirs = tmp_path / "ferryhand-trued.svg"
    theirs.write_text("somebody's", encoding="utf-8")
    with serving(drawing) as served:
        size = served.state()["size"]
        told = served.post("take?file=0", {"size": size, "all": True}).data
        assert told["written"] == "ferryhand-trued-2.svg"
        assert theirs.read_text(encoding="utf-8") == "somebody's"
        (tmp_path / "ferryhand-trued-2.svg").write_text("changed", encoding="utf-8")
        served.post("back?file=0", {"size": size})
        assert (tmp_path / "ferryhand-trued-2.svg").read_text(encoding="utf-8") == "changed"


def test_without_a_plan_nothing_is_trued_and_it_is_said_why(tmp_path):
    with serving(demo_in(tmp_path, plan=False)) as served:
        served.state()
        answer = served.ask("truing?size=")
        assert answer.status == 422
        assert "sew its edges together first" in answer.data["said"]


def test_the_report_and_the_picture_are_those_of_the_commands(tmp_path):
    with serving(demo_in(tmp_path, altered=True)) as served:
        served.state()
        report = served.ask("report")
        assert "back.outseam" in report.text
        assert report.text.startswith("<!DOCTYPE html>")
        picture = served.ask("picture.svg")
        assert picture.headers["content-type"] == "image/svg+xml"
        assert picture.text.startswith("<?xml")

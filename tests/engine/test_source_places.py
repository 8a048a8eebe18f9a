"""A finding names the line of its file that draws what it is about: looked up in the file itself."""

from pathlib import Path

import pytest
from house_checks import check, judged, off

import seamcheck
from seamcheck.testing import good_draft

pytestmark = pytest.mark.usefixtures("read_once")

ALTERED = Path(__file__).parents[2] / "fixtures" / "ferryhand" / "altered"
PLAN = ALTERED.parent / "ferryhand.seams.toml"


def found(path, check, plan=PLAN):
    (file,) = seamcheck.check(path, plan=plan).files
    return next(finding for finding in file.findings if finding.check == check)


@pytest.mark.parametrize(
    ("check", "begins"),
    [("seam-length", '<path inkscape:label="sew line"'), ("grain-straight", '<polyline inkscape:label="grain"')],
)
def test_in_an_svg_it_is_the_element_with_line_and_column(check, begins):
    path = ALTERED / "prominent-calf-left.svg"
    place = found(path, check).place
    line = path.read_text(encoding="utf-8").splitlines()[place.line - 1]
    assert line[place.column - 1 :].startswith(begins)
    groups = path.read_text(encoding="utf-8").splitlines()[: place.line]
    assert [line for line in groups if line.startswith("<g")][-1].endswith('inkscape:label="Back">')


def test_the_column_counts_letters_and_not_bytes(tmp_path):
    text = (ALTERED / "prominent-calf-left.svg").read_text(encoding="utf-8")
    path = tmp_path / "one-line.svg"
    path.write_text(text.replace("\n", " ").replace("Ferryhand", "Fähre 裤"), encoding="utf-8")
    place = found(path, "grain-straight").place
    written = path.read_text(encoding="utf-8")
    assert place.line == 1
    assert written[place.column - 1 :].startswith('<polyline inkscape:label="grain"')


def test_in_a_dxf_it_is_the_line_that_begins_the_entity():
    path = ALTERED / "prominent-calf-left-cad.dxf"
    place = found(path, "grain-straight", ALTERED.parent / "ferryhand-cad.seams.toml").place
    lines = [line.strip() for line in path.read_text(encoding="utf-8").splitlines()]
    assert place.words == f"line {place.line}"
    assert lines[place.line - 1] == "0"
    assert lines[place.line] in ("LINE", "POLYLINE", "LWPOLYLINE")
    assert "GRAIN" in " ".join(lines[place.line : place.line + 12]).upper()


def test_what_is_about_the_whole_file_has_none():
    (file,) = seamcheck.check(ALTERED.parent / "ferryhand.svg", plan=None).files
    assert all(finding.place is None for finding in file.findings if not (finding.pieces or finding.edges))


def test_a_place_goes_whole_to_another_process():
    import pickle

    finding = found(ALTERED / "prominent-calf-left.svg", "seam-length")
    again = pickle.loads(pickle.dumps(finding)).place
    assert (again, again.line, again.column) == (finding.place, finding.place.line, finding.place.column)


# What each kind of thing is drawn by, in a file of which every element has a line of its own.
SHEET = """<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="500mm" viewBox="0 0 500 500">
<g id="Front">
<path id="top" class="sew" d="M 20 20 L 220 20"/>
<path id="side" class="sew" d="M 220 20 L 220 420"/>
<path id="bottom" class="sew" d="M 220 420 L 20 420"/>
<path id="left" class="sew" d="M 20 420 L 20 20"/>
<path id="notch-1" class="notch" d="M 220 100 L 212 100"/>
<path id="notch-2" class="notch" d="M 220 300 L 212 304"/>
<path id="arrow-1" class="grain" d="M 60 60 L 60 360"/>
<path id="arrow-2" class="grain" d="M 120 60 L 121 200 L 120 360"/>
<circle id="hole-1" class="drill" cx="150" cy="200" r="2"/>
<circle id="hole-2" class="drill" cx="300" cy="200" r="2"/>
</g>
</svg>
"""


@pytest.mark.parametrize(
    ("check", "code", "element"),
    [
        ("notch-place", "slanted", "notch-2"),
        ("grain-straight", "bent", "arrow-2"),
        ("grain-straight", "several", "arrow-2"),
        ("marks-inside", "hole", "hole-2"),
    ],
)
def test_the_place_is_that_of_the_thing_itself(tmp_path, check, code, element):
    path = tmp_path / "front.svg"
    path.write_text(SHEET, encoding="utf-8")
    (file,) = seamcheck.check(path).files
    place = next(one.place for one in file.findings if (one.check, one.code) == (check, code))
    assert f'id="{element}"' in SHEET.splitlines()[place.line - 1]


@pytest.mark.parametrize("edges", [("front.side",), ("-front.side",)])
def test_what_names_edges_alone_is_placed_by_their_piece(edges):
    (finding,) = judged(check(off(9.0, edges=edges))).findings
    assert finding.pieces == ()
    front = next(one for one in good_draft().pattern().pieces if one.name == "front")
    assert finding.place == front.place
    assert finding.place.line is not None

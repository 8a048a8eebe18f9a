"""A drawing trued from file to file: what is proposed, that it is never worse, and that nothing else is touched."""

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.judge import check_file
from seamcheck.engine.read import Request
from seamcheck.errors import SeamcheckError
from seamcheck.truing.propose import Wishes
from seamcheck.truing.run import true_file
from seamcheck.truing.weigh import raised
from seamcheck.truing.write_svg import _style_of, _width
from seamcheck.truing.writing import write_trued

pytestmark = pytest.mark.usefixtures("read_once")

DEMO = Path(__file__).parents[2] / "fixtures" / "ferryhand"
REQUEST = Request(plan=DEMO / "ferryhand.seams.toml")
CALF = DEMO / "altered" / "prominent-calf-left.svg"


@pytest.fixture(scope="module")
def registry():
    return plugins.load(Settings())


@pytest.fixture(scope="module")
def calf(registry):
    return true_file(str(CALF), REQUEST, registry, Settings(), Wishes())


@pytest.fixture(scope="module")
def written(calf, registry, tmp_path_factory):
    path = tmp_path_factory.mktemp("trued") / "calf.svg"
    write_trued(calf, str(path), REQUEST, registry, Settings(), force=False)
    return path


def test_each_finding_has_a_proposal_and_nothing_is_left(calf):
    (size,) = calf.sizes
    assert [proposal.finding.check for proposal in size.proposals] == ["seam-length", "grain-straight", "edge-blend"]
    first = size.proposals[0].alternatives[0].what
    assert first.startswith("lengthen back.outseam by 6.4 mm (1/4 in) at side-waist: lead it on straight")
    assert calf.left == ()


def test_an_arrow_that_is_ruled_through_either_part_stays_where_it_was(calf):
    (size,) = calf.sizes
    (old,) = size.before.pieces["back"].grainlines
    for one in size.proposals[1].alternatives:
        (new,) = one.state.pieces["back"].grainlines
        assert new.length == pytest.approx(old.length, abs=1e-6)
        # The one end turns about the bend, the other stays on its line: 1.5 degrees over the longer part, 442 mm, are 11.6 mm.
        assert max(abs(new.points[0] - old.points[0]), abs(new.points[-1] - old.points[-1])) < 12.0
    assert [one.what for one in size.proposals[1].alternatives] == [
        "rule the arrow of back straight through, as its part of 245 mm (9 5/8 in) points, at 90.0°",
        "rule the arrow of back straight through, as its part of 442 mm (17 3/8 in) points, at 91.5°",
    ]


def test_the_altered_piece_alone_is_redrawn_and_its_mates_lengths_are_met(calf):
    assert {change.piece for change in calf.changes} == {"back"}
    after = calf.sizes[0].after.pieces
    assert after["back"].edge("outseam").length == pytest.approx(after["front"].edge("outseam").length, abs=1e-6)
    for edge in ("waist", "inseam"):
        before = calf.sizes[0].before.pieces["back"].edge(edge).length
        assert after["back"].edge(edge).length == pytest.approx(before, abs=1e-6)
    assert after["back"].corner("side-waist").angle == pytest.approx(89.0, abs=1e-4)


def test_no_alternative_that_is_offered_raises_anything(calf):
    (size,) = calf.sizes
    before = size.before
    for proposal in size.proposals:
        for alternative in proposal.alternatives:
            assert raised(before.judged, alternative.state.judged) is None
        before = proposal.alternatives[proposal.taken].state


def test_the_written_file_is_quiet(written, registry):
    result = check_file(str(written), REQUEST, registry, Settings())
    assert result.failures == ()
    assert result.findings == ()


def test_nothing_but_the_replaced_lines_is_touched(written):
    text = written.read_bytes()
    without_new = re.sub(rb'<g inkscape:groupmode="layer" inkscape:label="trued">.*?</g>', b"", text, flags=re.DOTALL)
    unwrapped = re.sub(
        rb'<g inkscape:groupmode="layer" inkscape:label="before truing" stroke-dasharray="3 2">(.*?)</g>',
        rb"\1",
        without_new,
        flags=re.DOTALL,
    )
    assert unwrapped == CALF.read_bytes()


def test_old_lines_are_dashed_and_new_ones_heavier(written):
    groups = {name: [] for name in ("before truing", "trued")}
    for group in ElementTree.parse(written).getroot().iter("{http://www.w3.org/2000/svg}g"):
        label = group.get("{http://www.inkscape.org/namespaces/inkscape}label")
        if label in groups:
            groups[label].append(group)
    assert len(groups["before truing"]) >= len(groups["trued"]) > 0
    # In the user units of the demo, which are mm; its own lines are 0.5 wide, as the group round all pieces says.
    assert {group.get("stroke-dasharray") for group in groups["before truing"]} == {"3 2"}
    assert {line.get("style") for group in groups["before truing"] for line in group} == {None}
    assert {line.get("style") for group in groups["trued"] for line in group} == {"stroke-width:1"}
    assert {line.get("stroke-dasharray") for group in groups["trued"] for line in (group, *group)} == {None}


@pytest.mark.parametrize(
    ("element", "wide", "told"),
    [
        (b'<path d="M0,0"/>', 0.3, b'style="stroke-width:0.6"'),
        (b"<path style='stroke:red;' d='M0,0'/>", 0.3, b"style='stroke:red;stroke-width:0.6'"),
        (b'<path stroke-width="0.8" d="M0,0"/>', 0.8, b'style="stroke-width:1"'),
    ],
)
def test_a_width_goes_into_the_style_of_a_line(element, wide, told):
    assert told in _style_of(element, _width(wide, 1.0))


def test_what_is_heavy_already_is_not_made_heavier_once_more():
    assert _width(1.0, 1.0) == ""
    assert _width(2.5, 1.0) == ""
    assert _width(0.5, 0.2) == "5"


def test_a_file_is_only_replaced_by_force(calf, written, registry):
    with pytest.raises(SeamcheckError, match="exists already; name another, or replace it with --force"):
        write_trued(calf, str(written), REQUEST, registry, Settings(), force=False)
    write_trued(calf, str(written), REQUEST, registry, Settings(), force=True)
    assert [path.name for path in written.parent.iterdir()] == [written.name]


def test_the_form_stays_that_of_the_file_read(calf, registry, tmp_path):
    with pytest.raises(SeamcheckError, match=r"name a file that ends in \.svg"):
        write_trued(calf, str(tmp_path / "calf.dxf"), REQUEST, registry, Settings(), force=False)


def test_a_trued_pattern_needs_nothing(registry):
    trued = true_file(str(DEMO / "ferryhand.svg"), REQUEST, registry, Settings(), Wishes())
    assert trued.sizes[0].proposals == ()
    assert trued.changes == ()


def test_a_master_is_never_redrawn(registry, tmp_path):
    plan = (DEMO / "ferryhand.seams.toml").read_text(encoding="utf-8")
    kept = tmp_path / "kept.seams.toml"
    kept.write_text(plan.replace('in-file = "Back"\n', 'in-file = "Back"\nmaster = true\n'), encoding="utf-8")
    flat = DEMO / "altered" / "flat-seat-left.svg"
    trued = true_file(str(flat), Request(plan=kept), registry, Settings(), Wishes())
    assert {change.piece for change in trued.changes} == {"front"}
    assert trued.left == ()


def test_without_a_plan_there_is_nothing_to_true_by(registry, tmp_path):
    alone = tmp_path / "alone.svg"
    alone.write_bytes(CALF.read_bytes())
    with pytest.raises(SeamcheckError, match="no seam plan"):
        true_file(str(alone), Request(), registry, Settings(), Wishes())


def test_what_a_notch_moved_on_the_paper_is_told_also_where_its_station_stayed(calf):
    (change,) = calf.changes
    moved = {round(notch.stations[1], 1): notch.moved for notch in change.notches if notch.edge == "outseam"}
    assert moved == {152.0: pytest.approx(6.35, abs=0.1), 576.6: pytest.approx(6.35, abs=0.01)}


def test_a_slanted_notch_is_drawn_anew_square_to_its_edge(registry, tmp_path):
    text = (DEMO / "ferryhand.svg").read_text(encoding="utf-8")
    straight = 'x1="80" y1="630" x2="85" y2="630"'
    assert text.count(straight) == 1
    path, new = tmp_path / "slanted.svg", tmp_path / "square.svg"
    path.write_text(text.replace(straight, 'x1="80" y1="630" x2="84.33" y2="632.5"'), encoding="utf-8")
    before = check_file(str(path), REQUEST, registry, Settings())
    assert [(finding.check, finding.code) for finding in before.findings] == [("notch-place", "slanted")]
    trued = true_file(str(path), REQUEST, registry, Settings(), Wishes())
    assert write_trued(trued, str(new), REQUEST, registry, Settings(), force=False).findings == ()

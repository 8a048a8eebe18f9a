"""The two lines of a seam are as long as the walk says, by the scale and the factor that the drawing itself gives."""

from functools import partial

import pytest
from drawing import altered, judged, left, paths, texts

from seamcheck.report.figures import seam as seam_module
from seamcheck.report.figures.base import SMALL
from seamcheck.report.figures.seam import EDGE, LEFT, LONGEST, NARROW_WIDTH, seam_figure
from seamcheck.report.figures.sizes import sizes_figure
from seamcheck.report.lettering import text_width

DRAWN = 0.011  # units: what rounding to hundredths takes at both ends

SEAMS = [
    (partial(left, "prominent-calf"), "outseam", "40"),  # short between two notches
    (partial(left, "sway-back-quick"), "waist-back", "40"),  # across a closed dart
    (partial(left, "deep-torso"), "outseam", "40"),
    (partial(altered, "stage-bodice-set-in-sleeve"), "cap", "as drawn"),  # eased in
    (partial(altered, "quayside-frilled-skirt"), "frill", "as drawn"),  # gathered, one to many
    (partial(altered, "sculler-round-kit-bag"), "base", "as drawn"),  # a ring
    (partial(altered, "bosun-six-panel-cap", ".dxf"), "panels", "as drawn"),  # y up
    (partial(altered, "bosun-six-panel-cap", ".dxf"), "band", "as drawn"),  # six copies
]
seams = pytest.mark.parametrize(
    ("file", "seam", "size"), SEAMS, ids=[f"{file.args[0]} {seam}" for file, seam, _ in SEAMS], indirect=["file"]
)


def _sides(figure):
    first, second = (
        next(p for p in paths(figure, "sewn") if p.data.get("side") == side) for side in ("first", "second")
    )
    return [abs(side.points[1] - side.points[0]) for side in (first, second)]


@seams
def test_both_sides_are_drawn_to_scale_but_for_the_factor(file, seam, size):
    figure = seam_figure(file, seam, size)
    walked = next(one for one in file.seams if (one.name, one.size) == (seam, size))
    first, second = _sides(figure)
    scale = second / walked.second.length
    expected = scale * (walked.second.length + figure.exaggerated * walked.difference)
    assert first == pytest.approx(expected, abs=DRAWN * (1 + figure.exaggerated))
    assert max(first, second) <= LONGEST + DRAWN
    if figure.exaggerated == 1.0:
        assert first / second == pytest.approx(walked.first.length / walked.second.length, abs=2 * DRAWN / second)


@seams
def test_notches_stand_where_they_are_measured_to_stand(file, seam, size):
    figure = seam_figure(file, seam, size)
    told, walk = next(
        (told, walk)
        for told, walk in zip(file.seams, file.geometry.walks, strict=True)
        if (told.name, told.size) == (seam, size)
    )
    _, second = _sides(figure)
    scale = second / told.second.length
    bottom = next(p for p in paths(figure, "sewn") if p.data.get("side") == "second").points[0].imag
    ticks = [p.points for p in paths(figure, "notch")]
    # A notch of several ticks stands in their middle.
    for mark in [match.second for match in walk.matches if not match.second.joint]:
        at = LEFT + scale * mark.station
        own = [p[0].real for p in ticks if abs(p[0].imag - bottom) < DRAWN and abs(p[0].real - at) < 1.2 * mark.count]
        assert sum(own) / len(own) == pytest.approx(at, abs=DRAWN)
    for match in [match for match in walk.matches if not match.first.joint]:
        station = match.second.station + figure.exaggerated * (match.first.station - match.second.station)
        at = LEFT + scale * station
        own = [p[0].real for p in ticks if abs(p[0].imag) < DRAWN and abs(p[0].real - at) < 1.2 * match.first.count]
        assert sum(own) / len(own) == pytest.approx(at, abs=DRAWN * (1 + figure.exaggerated))


def test_the_amount_is_written_and_the_factor_too():
    figure = seam_figure(left("prominent-calf"), "outseam", "40")
    told = texts(figure)
    assert "front 6.4 mm (1/4 in) longer" in told
    assert figure.exaggerated == 10.0
    assert "lengths to scale, differences drawn 10 times as large" in told
    assert "front.outseam 1017 mm (40 in)" in told
    assert "back.outseam 1010 mm (39 3/4 in)" in told
    # Between the last notch and the hem, and nowhere else, the rails are hatched.
    assert sum(text.endswith(("longer", "shorter")) for text in told) == 1


def test_half_as_wide_it_tells_the_same():
    wide = seam_figure(left("prominent-calf"), "outseam", "40")
    narrow = seam_figure(left("prominent-calf"), "outseam", "40", narrow=True)
    assert (narrow.box[0], narrow.box[2]) == (-EDGE, NARROW_WIDTH + 2 * EDGE)
    assert narrow.box[3] > wide.box[3]  # the pieces stand above and below
    assert narrow.description == wide.description
    said = ("front 6.4 mm (1/4 in) longer", "front.outseam 1017 mm (40 in)", "back.outseam 1010 mm (39 3/4 in)")
    assert {*said} <= {*texts(narrow)}
    assert f"lengths to scale, differences drawn {narrow.exaggerated:g} times as large" in texts(narrow)


def test_words_that_are_wider_than_the_page_make_it_wider(monkeypatch):
    monkeypatch.setattr(seam_module, "NARROW_WIDTH", 30.0)
    figure = seam_figure(left("prominent-calf"), "outseam", "40", narrow=True)
    begin = 30.0 - text_width("back.outseam 1010 mm (39 3/4 in)", SMALL)
    assert figure.box[0] <= begin < 0.0
    assert figure.box[0] + figure.box[2] == pytest.approx(30.0 + EDGE)


def test_a_seam_that_trues_is_not_drawn_as_if_it_did_not():
    figure = seam_figure(judged("ferryhand/ferryhand.svg"), "outseam", "40")
    assert figure.exaggerated == 1.0
    assert paths(figure, "hatch") == paths(figure, "off") == paths(figure, "ought") == []
    assert "They are of one length." in str(figure.description)


def test_one_unit_alone_can_be_shown():
    body = seam_figure(left("prominent-calf"), "outseam", "40").body
    assert (
        'front <tspan class="units-mm">6.4 mm</tspan><tspan class="units-both"> (</tspan>'
        '<tspan class="units-inch">1/4 in</tspan><tspan class="units-both">)</tspan> longer' in body
    )


def test_a_seam_or_size_that_was_not_walked():
    with pytest.raises(KeyError, match="outseam, size 99"):
        seam_figure(left("prominent-calf"), "outseam", "99")
    with pytest.raises(KeyError, match="nothing"):
        sizes_figure(left("prominent-calf"), "nothing")


def test_all_sizes_are_drawn_by_one_scale():
    nest = judged("ferryhand/ferryhand-nest.dxf")
    figure = sizes_figure(nest, "outseam")
    seconds = [abs(p.points[1] - p.points[0]) for p in paths(figure, "sewn") if p.data["side"] == "second"]
    lengths = [seam.second.length for seam in nest.seams if seam.name == "outseam"]
    assert len(seconds) == len(lengths) == 5
    scale = seconds[0] / lengths[0]
    assert seconds == pytest.approx([scale * length for length in lengths], abs=DRAWN)
    assert "It trues in all 5 sizes." in figure.description

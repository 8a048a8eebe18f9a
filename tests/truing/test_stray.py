"""How far a new line strays, in cases worked by hand."""

import pytest

from seamcheck.geometry.curve import Curve
from seamcheck.pattern.model import Edge
from seamcheck.truing.stray import led_on, stray_of

LINE = Curve.line(0, 100)


def edge(curve):
    return Edge(name="side", start="a", end="b", runs=(curve,))


def stray(new, old=LINE):
    return stray_of("front", edge(old), edge(new))


def test_a_line_that_stays_does_not_stray():
    assert stray(Curve.line(0, 100)) is None


def test_a_line_that_is_led_on_or_cut_back_strays_nowhere():
    for end in (120, 80):
        found = stray(Curve.line(0, end))
        assert found.most == pytest.approx(0.0, abs=1e-9)
        assert found.beyond(20.0) == pytest.approx(0.0, abs=1e-9)


def test_a_bow_strays_by_its_height():
    bow = Curve.cubic(0, 100j / 3, 100 + 100j / 3, 100)  # its middle lies at 3/4 of its handles
    found = stray(bow)
    assert found.most == pytest.approx(25.0, abs=1e-6)
    assert found.at == pytest.approx(50 + 25j, abs=1e-2)
    assert found.ends == pytest.approx(0.0, abs=1e-9)
    assert found.beyond(10.0) == pytest.approx(25.0, abs=1e-6)
    assert not found.travels


def test_a_line_to_a_corner_that_travelled_strays_with_it():
    found = stray(Curve.line(0, 100 + 6j))
    assert (found.most, found.ends) == (pytest.approx(6.0), pytest.approx(6.0))
    assert found.travels
    assert found.beyond(6.0) == pytest.approx(0.0)
    assert found.beyond(4.0) == pytest.approx(2.0)  # the corner travels farther than the correction asks


def test_a_line_over_a_step_may_leave_it_by_half():
    step = Curve.polyline([0, 50, 50 + 8j, 100 + 8j])
    found = stray(Curve.line(0, 100 + 8j), step)
    assert 2.0 < found.most < 4.0
    assert found.beyond(0.0) == pytest.approx(found.most)
    assert found.beyond(0.0, across=4.0) == pytest.approx(0.0)


def test_a_bent_line_is_led_on_straight():
    arc = Curve.arc(0j, 100.0, start=0.0, sweep=90.0)  # ends at 100j, running left
    led = led_on(arc, 10.0)
    assert led.end == pytest.approx(-10 + 100j)
    assert led.length == pytest.approx(arc.length + 10.0)
    back = led_on(arc, -10.0)
    assert back.length == pytest.approx(arc.length - 10.0)
    assert abs(back.end) == pytest.approx(100.0)


def test_a_line_cannot_be_cut_away():
    with pytest.raises(ValueError, match="cannot be cut back by 100 mm"):
        led_on(LINE, -100.0)

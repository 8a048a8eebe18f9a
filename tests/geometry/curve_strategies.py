"""Curves as chance makes them, for the properties that every curve has."""

from itertools import pairwise

from hypothesis import strategies as st

from seamcheck.geometry.curve import Curve

coordinates = st.integers(-2000, 2000).map(lambda n: n / 10)
points = st.builds(complex, coordinates, coordinates)


@st.composite
def curves(draw, closed=False):
    """Chains of lines and cubics, with repeated points and retracted handles as often as chance has it."""
    count = draw(st.integers(1, 5))
    joints = draw(st.lists(points, min_size=count + 1, max_size=count + 1))
    if closed:
        joints[-1] = joints[0]
    rows = []
    for a, d in pairwise(joints):
        b = draw(st.one_of(points, st.just(a), st.just((2 * a + d) / 3)))
        c = draw(st.one_of(points, st.just(d), st.just((a + 2 * d) / 3)))
        rows.append([a, b, c, d])
    return Curve(rows)

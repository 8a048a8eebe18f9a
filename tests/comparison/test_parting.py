"""Where lines part company, on lines whose parting is known by their making."""

import numpy as np
import pytest

from seamcheck.comparison.parting import parting


@pytest.mark.parametrize(("power", "factor"), [(1, 0.02), (2, 0.005), (3, 0.0002)])
@pytest.mark.parametrize("seen", [0.0, 2.0, 4.0])
def test_lines_part_where_their_distance_begins_to_grow(power: int, factor: float, seen: float) -> None:
    """`seen` is how far on the parting was noticed."""
    found = parting(lambda ahead: factor * np.clip(ahead + seen, 0.0, None) ** power, 300.0, 200.0, 0.05)
    assert found == pytest.approx(-seen, abs=0.2)


@pytest.mark.parametrize("noise", [0.01, 0.03])
def test_an_unsteady_hand_moves_it_a_little(noise: float) -> None:
    random = np.random.default_rng(5)
    found = parting(
        lambda ahead: 0.005 * np.clip(ahead + 9.0, 0.0, None) ** 2 + random.normal(0.0, noise, len(ahead)),
        300.0,
        200.0,
        0.05,
    )
    assert found == pytest.approx(-9.0, abs=3.0)


def test_lines_that_part_at_a_corner_tell_nothing() -> None:
    assert parting(lambda ahead: np.clip(ahead, 0.0, None), 300.0, 200.0, 0.05) is None


def test_lines_that_are_one_for_too_short_a_way_tell_nothing() -> None:
    assert parting(lambda ahead: 0.005 * np.clip(ahead, 0.0, None) ** 2, 3.0, 200.0, 0.05) is None

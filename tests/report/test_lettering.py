"""Names are put where they cover least: what is counted for many spots at once is what is counted for each."""

import numpy as np
import pytest

from seamcheck.report.lettering import Labels


@pytest.mark.parametrize("size", [(), (100.0,), (100.0, 80.0)])
def test_spots_in_rows_are_counted_as_one_by_one(size):
    random = np.random.default_rng(3)
    labels = Labels(*size)
    for _ in range(5):
        labels.avoid(random.uniform(0, 100, 6) + 1j * random.uniform(0, 80, 6))
    spots = (np.linspace(0, 100, 11)[:, None] + 1j * np.linspace(0, 80, 9)).ravel()
    at_once = labels._covered_upright(spots, 23.0, 7.0)
    assert at_once.tolist() == [labels._covered(at, 23.0, 7.0, 1 + 0j) for at in spots.tolist()]
    assert 0 < np.count_nonzero(at_once) < len(spots)


def test_a_name_stands_on_an_empty_sheet():
    square = np.array([0, 40, 40 + 40j, 40j], dtype=complex)
    title, below = Labels().inside(square, "front", "size 40")
    assert 0 < title.at.real < 40
    assert title.at.imag < below.at.imag

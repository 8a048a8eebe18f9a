import numpy as np
import pytest

from seamcheck.geometry import bezier


def test_real_roots_whatever_else_the_polynomial_does():
    polynomial = np.polynomial.polynomial.polyfromroots
    cases = {
        (-0.25, 0.3, 1.25, 1.6, 0.9): (0.3, 0.9),  # roots where the expansion might be tried first
        (0.0, 1.0, 0.5, 2.0, -3.0): (0.0, 0.5, 1.0),
        (0.4, 0.4, 7.0, 8.0, 9.0): (0.4, 0.4),
        (5.0, 6.0, 7.0, 8.0, 9.0): (),
    }
    found = bezier.real_roots(np.array([polynomial(roots) for roots in cases]))
    for row, inside in zip(found, cases.values(), strict=True):
        assert np.sort(row[~np.isnan(row)]) == pytest.approx(inside, abs=1e-6)


def test_real_roots_of_lower_degree_and_of_nothing():
    found = bezier.real_roots(np.array([[-0.3, 1, 0, 0, 0, 0], [0.5, 0, 0, 0, 0, 0], [0, 0, 0, 0, 0, 0]]))
    assert found[0][~np.isnan(found[0])] == pytest.approx([0.3])
    assert np.isnan(found[1:]).all()


def test_a_fit_that_cannot_hold_says_so():
    def sample(index, t):
        return np.where(t < 1 / 3, 0, 1).astype(complex), np.zeros(len(t), dtype=complex)

    with pytest.raises(ValueError, match="cannot be followed"):
        bezier.fit(sample, 1, 1e-3)

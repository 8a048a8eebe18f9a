"""The fit between plan and file against scipy's orthogonal Procrustes solution."""

import numpy as np
import pytest
from scipy.linalg import orthogonal_procrustes

from seamcheck.geometry.fitting import best_fit


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("seed", range(5))
def test_the_rigid_fit_is_procrustes_when_nothing_stands_out(seed, mirrored):
    # P. H. Schönemann, "A generalized solution of the orthogonal Procrustes problem", Psychometrika 31 (1966).
    rng = np.random.default_rng(seed)
    plan = rng.uniform(-300, 300, 8) + 1j * rng.uniform(-300, 300, 8)
    turned = (np.conj(plan) if mirrored else plan) * np.exp(1j * rng.uniform(0, 6)) + complex(
        *rng.uniform(-500, 500, 2)
    )
    target = turned + 0.01 * (rng.normal(size=8) + 1j * rng.normal(size=8))

    def pairs(points):
        points = points - points.mean()
        return np.stack([points.real, points.imag], axis=1)

    matrix, _ = orthogonal_procrustes(pairs(plan), pairs(target))
    fit = best_fit(plan, target, mirrored=mirrored, scaled=False)
    assert fit.mirrors == mirrored == (np.linalg.det(matrix) < 0)
    expected = pairs(plan) @ matrix + [target.real.mean(), target.imag.mean()]
    found = fit.apply(plan)
    # Reweighting moves the fit by no more than the noise itself.
    assert np.abs(found - (expected[:, 0] + 1j * expected[:, 1])).max() < 0.01

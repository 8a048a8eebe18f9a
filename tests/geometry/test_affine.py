import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamcheck.geometry.affine import Affine

numbers = st.floats(-20, 20)
points = st.builds(complex, numbers, numbers)
affines = st.builds(Affine, points, points, points)


@given(affines, affines, points)
def test_product_does_the_right_hand_map_first(first, second, z):
    assert (second @ first).apply(z) == pytest.approx(second.apply(first.apply(z)), abs=1e-8)


@given(affines, points)
def test_inverse_undoes(affine, z):
    if abs(affine.determinant) < 1e-2:
        return
    assert affine.inverse().apply(affine.apply(z)) == pytest.approx(z, abs=1e-6)


def test_matrix_in_svg_order():
    affine = Affine.from_matrix(2, 3, 5, 7, 11, 13)
    assert affine.apply(1 + 0j) == 13 + 16j
    assert affine.apply(1j) == 16 + 20j
    assert affine.determinant == pytest.approx(2 * 7 - 3 * 5)


def test_arrays_keep_their_shape():
    z = np.arange(6).reshape(2, 3) + 1j
    assert np.array_equal(Affine.translation(2 - 1j).apply(z), z + 2 - 1j)


def test_quarter_turns_are_exact():
    assert Affine.rotation(90).apply(3 + 0j) == 3j
    assert Affine.rotation(-270).apply(3 + 0j) == 3j
    assert Affine.rotation(180, about=1 + 0j).apply(3 + 0j) == -1
    assert Affine.rotation(30, about=5j).apply(5j) == pytest.approx(5j)


def test_kinds():
    assert Affine.identity().is_rigid
    assert not Affine.identity().mirrors
    assert Affine.scaling(-1, 1).is_rigid
    assert Affine.scaling(-1, 1).mirrors
    assert not Affine.scaling(2).is_rigid
    assert not Affine.scaling(1, 1.001).is_rigid
    assert (Affine.rotation(33) @ Affine.translation(3j)).is_rigid


def test_a_flattening_map_has_no_inverse():
    with pytest.raises(ValueError, match="cannot be undone"):
        Affine.scaling(1, 0).inverse()


def test_a_map_that_scales_alike_in_all_directions_has_a_factor():
    turned = Affine.rotation(33.0, about=5 + 2j)
    assert [one.factor for one in (Affine.identity(), turned, turned @ turned, Affine.scaling(-1.0, 1.0))] == [
        1.0
    ] * 4
    assert (Affine.scaling(2.5) @ turned).factor == pytest.approx(2.5)
    assert Affine.scaling(2.0, 3.0).factor is None
    assert Affine.scaling(0.0).factor is None

"""Affine maps of the plane, kept in complex form."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import overload

import numpy as np
import numpy.typing as npt

ROUNDING = 1e-12  # by which a turn may seem to change a length


@dataclass(frozen=True, slots=True)
class Affine:
    """The map z -> a*z + b*conj(z) + c.

    `a` alone turns and scales, `b` alone mirrors, `c` moves (mm). Every affine map of the plane has exactly
    one such form.
    """

    a: complex = 1 + 0j
    b: complex = 0j
    c: complex = 0j

    @classmethod
    def identity(cls) -> Affine:
        """The map that changes nothing."""
        return cls()

    @classmethod
    def translation(cls, c: complex) -> Affine:
        """The move by `c`, in mm."""
        return cls(c=complex(c))

    @classmethod
    def rotation(cls, degrees: float, about: complex = 0j) -> Affine:
        """The turn by an angle in degrees, from the x axis towards the y axis, about a point."""
        a = _unit(degrees)
        return cls(a=a, c=about - a * about)

    @classmethod
    def scaling(cls, sx: float, sy: float | None = None) -> Affine:
        """The scaling about the origin; `sy` is `sx` unless given, and a negative factor mirrors."""
        sy = sx if sy is None else sy
        return cls(a=complex((sx + sy) / 2), b=complex((sx - sy) / 2))

    @classmethod
    def from_matrix(cls, a: float, b: float, c: float, d: float, e: float, f: float) -> Affine:
        """The map x' = a*x + c*y + e, y' = b*x + d*y + f (the order of SVG's `matrix()`, SVG 2 section 8.3)."""
        return cls(complex(a + d, b - c) / 2, complex(a - d, b + c) / 2, complex(e, f))

    @property
    def scale(self) -> float:
        """By how many times lengths grow, in the mean of all directions: the root of what areas grow by."""
        return float(np.sqrt(abs(abs(self.a) ** 2 - abs(self.b) ** 2)))

    @property
    def factor(self) -> float | None:
        """How many times as long every line becomes, 1 exactly where none changes; None where that hangs on its direction, or none is left."""
        if self.a and self.b:
            return None
        factor = abs(self.a or self.b)
        if not factor:
            return None
        return 1.0 if abs(factor - 1.0) < ROUNDING else factor

    @overload
    def apply(self, points: complex) -> complex: ...
    @overload
    def apply(self, points: npt.NDArray[np.complex128]) -> npt.NDArray[np.complex128]: ...
    def apply(self, points: complex | npt.NDArray[np.complex128]) -> complex | npt.NDArray[np.complex128]:
        """The image of a point or of an array of points of any shape."""
        return self.a * points + self.b * points.conjugate() + self.c

    def __matmul__(self, other: Affine) -> Affine:
        """The map that does `other` first and then this one."""
        return Affine(
            self.a * other.a + self.b * other.b.conjugate(),
            self.a * other.b + self.b * other.a.conjugate(),
            self.apply(other.c),
        )

    @property
    def determinant(self) -> float:
        """The factor by which areas grow; negative when the map mirrors."""
        return (abs(self.a) - abs(self.b)) * (abs(self.a) + abs(self.b))

    def inverse(self) -> Affine:
        """The map that undoes this one; ValueError when it flattens the plane."""
        determinant = self.determinant
        if determinant == 0 or not math.isfinite(determinant):
            raise ValueError("a transform that flattens the drawing cannot be undone")
        a, b = self.a.conjugate() / determinant, -self.b / determinant
        return Affine(a, b, -(a * self.c + b * self.c.conjugate()))

    @property
    def is_rigid(self) -> bool:
        """Whether lengths stay as they are, within 1e-9 of each; a mirrored copy is rigid too."""
        kept, dropped = max(abs(self.a), abs(self.b)), min(abs(self.a), abs(self.b))
        return abs(kept - 1) <= 1e-9 and dropped <= 1e-9

    @property
    def mirrors(self) -> bool:
        """Whether the map turns a left-hand piece into a right-hand one."""
        return self.determinant < 0


def _unit(degrees: float) -> complex:
    """The unit vector at an angle in degrees; quarter turns come out without rounding."""
    quarter, rest = divmod(degrees, 90.0)
    if rest == 0:
        return (1 + 0j, 1j, -1 + 0j, -1j)[int(quarter) % 4]
    return complex(math.cos(math.radians(degrees)), math.sin(math.radians(degrees)))

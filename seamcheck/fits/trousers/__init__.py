"""The named fits of trousers that seamcheck itself brings.

places      where a fit is made by default, from the proportions of a leg
questions   what is asked of one who looks at the cloth
sketches    what is drawn of each
back, waist, front, legs   the fits, by where the cloth looks wrong

They come in by the door of plugins, from `builtin` and not from the package `plugins/trousers`: whoever installs seamcheck has them,
while the checks of that package are for a shop that wants them.

The facts are common practice of the trade, without a published source, where a fit's own `source` names none.
"""

from __future__ import annotations

from seamcheck.fits.fit import Fit


def all_fits() -> tuple[Fit, ...]:
    """Every fit of trousers."""
    from seamcheck.fits.trousers import back, front, legs, waist

    return (*back.FITS, *waist.FITS, *front.FITS, *legs.FITS)

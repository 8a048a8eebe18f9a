"""The command `trust`: what of a folder's settings may be run, and what is said of it."""

from __future__ import annotations

from pathlib import Path

from seamcheck.config import trust
from seamcheck.config.settings import settings_found, to_trust
from seamcheck.errors import InputError, SettingsError
from seamcheck.report.layout import printable

WORDS = 16  # letters of a digest that are shown


def told(name: str, *, forget: bool = False) -> str:
    """Trust the settings that stand in a folder, or forget them, and say what was done; SeamcheckError when there are none."""
    folder = Path(name).absolute()
    if forget:
        trust.trust(folder, {})
        return printable(f"{name} is trusted no longer.") + "\n"
    if not folder.is_dir():
        raise InputError("there is no such folder", path=name, remedy="name the folder in which the settings stand")
    settings = settings_found(folder)
    if not settings.path:
        raise InputError("there are no settings in it or above it", path=name, remedy="there is nothing to trust")
    here = Path(settings.path).parent
    if here != folder:
        raise SettingsError(
            "the settings that hold there stand in a folder above it",
            path=settings.path,
            remedy=f"read them, then trust that folder: {here}",
        )
    found = to_trust(settings)
    trust.trust(folder, found)
    lines = [f"{settings.path} names no plugin file and raises no limit, so there is nothing to trust."]
    if found:
        lines = [f"Trusted from now on, as they are now, by what is kept in {trust.store()}:"]
    for one, digest in found.items():
        lines.append(
            f"  the limits that it raises, {one}" if one == trust.LIMITS else f"  {one}  SHA-256 {digest[:WORDS]}"
        )
    return "".join(printable(line) + "\n" for line in lines)

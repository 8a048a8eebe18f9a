"""seamcheck walks every seam of a sewing pattern, in every size, and says what no longer trues.

`seamcheck.read`, `seamcheck.check` and `seamcheck.compare` are what a program calls; `seamcheck.api` tells of them. Each is
imported when it is first asked for, so that a command that needs none answers at once.
"""

from typing import TYPE_CHECKING

from seamcheck.version import __version__

if TYPE_CHECKING:
    from seamcheck.api import check, compare, read
    from seamcheck.errors import SeamcheckError

__all__ = ["SeamcheckError", "__version__", "check", "compare", "read"]

_HOMES = {"SeamcheckError": "errors", "check": "api", "compare": "api", "read": "api"}


def __getattr__(name: str) -> object:
    """Import what a program calls when it is first asked for."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    value: object = getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})

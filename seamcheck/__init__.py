"""seamcheck walks every seam of a sewing pattern, in every size, and says what no longer trues.

`seamcheck.read`, `check`, `check_each`, `compare`, `pair`, `alter`, `true` and `explain` are what a program calls; `seamcheck.api` tells of them. Each
is imported when it is first asked for, so that a command that needs none answers at once. What a plugin is made of is in
`seamcheck.plugin`, what it is tested with in `seamcheck.testing`.
"""

from typing import TYPE_CHECKING

from seamcheck.lazy import handed_on
from seamcheck.version import __version__

if TYPE_CHECKING:
    from seamcheck.api import alter, check, check_each, compare, explain, pair, read, true
    from seamcheck.errors import SeamcheckError

__all__ = [
    "SeamcheckError",
    "__version__",
    "alter",
    "check",
    "check_each",
    "compare",
    "explain",
    "pair",
    "read",
    "true",
]

__getattr__, __dir__ = handed_on(
    __name__,
    {
        "seamcheck.api": ("alter", "check", "check_each", "compare", "explain", "pair", "read", "true"),
        "seamcheck.errors": ("SeamcheckError",),
    },
)

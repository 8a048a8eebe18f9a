"""What an alteration changed between two files: parts that moved rigidly, lines drawn anew, and what hangs on them."""

from __future__ import annotations

from seamcheck.comparison.changes import Comparison
from seamcheck.comparison.compare import compare

__all__ = ["Comparison", "compare"]

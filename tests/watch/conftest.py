"""One window of a browser for the tests of a module."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "report"))

from browser import browser, find_browser


@pytest.fixture(scope="module")
def window():
    executable = find_browser()
    if executable is None:
        pytest.skip("no Chromium is installed to open the page in")
    with browser(executable) as opened:
        yield opened

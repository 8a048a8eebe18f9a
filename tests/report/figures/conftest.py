"""A file that many tests ask for is judged by the first of them, not while tests are collected."""

import pytest


@pytest.fixture
def file(request):
    """The result that a parameter makes when it is called."""
    return request.param()

"""Who may ask the server, and what it touches."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from serving import demo_in, serving

from seamcheck.watch.guard import LARGEST, word


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    with serving(demo_in(tmp_path_factory.mktemp("guarded"))) as one:
        yield one


def test_the_page_is_told_to_the_one_with_the_word(served):
    answer = served.ask("")
    assert answer.status == 200
    assert answer.headers["content-type"].startswith("text/html")
    assert "connect-src 'self'" in answer.text
    assert "default-src 'none'" in answer.text
    assert served.ask("", host=f"localhost:{served.port}").status == 200


@pytest.mark.parametrize(
    "path", ["", "state", "news", "report", "picture.svg", "tiles.pdf", "truing", "mates?edge=x"]
)
@pytest.mark.parametrize("token", ["", "wrong", "a-word-for-tests-alon", "a-word-for-tests-alonee", "..%2f"])
def test_without_the_word_nothing_is_told(served, path, token):
    answer = served.ask(path, token=token)
    assert answer.status == 404
    assert "ferryhand" not in answer.text


def test_a_name_that_was_made_to_lead_here_is_not_answered(served):
    for host in ("example.org", f"example.org:{served.port}", f"127.0.0.1:{served.port + 1}", "127.0.0.1", ""):
        assert served.ask("state", host=host).status in (400, 421), host


def test_a_page_from_elsewhere_may_neither_read_nor_write(served):
    body = {"base": "", "text": "format = 1\n", "refused": [], "unknown": []}
    for origin in (
        "http://example.org",
        "null",
        f"https://127.0.0.1:{served.port}",
        f"http://127.0.0.1:{served.port + 1}",
    ):
        assert served.ask("state", origin=origin).status == 403, origin
        assert served.post("plan?file=0", body, origin=origin).status == 403, origin
    assert served.post("plan?file=0", body, origin="").status == 403  # whoever writes says where it comes from


def test_what_a_form_of_another_page_could_send_is_not_taken(served):
    body = {"base": "", "text": "format = 1\n", "refused": [], "unknown": []}
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data", ""):
        assert served.post("plan?file=0", body, content_type=kind).status == 415, kind
    assert served.ask("state", method="PUT").status == 405
    assert served.ask("plan").status == 405
    assert served.post("plan?file=0", {"text": "x" * LARGEST} | body | {"more": "y" * LARGEST}).status == 413


def test_what_is_sent_is_a_step_of_the_plan_and_nothing_else(served):
    for body in (
        [],
        "text",
        {},
        {"text": "format = 1"},
        {"base": "", "text": "format = 1\n", "refused": [1], "unknown": []},
    ):
        answer = served.post("plan?file=0", body)
        assert answer.status == 400, body
        assert answer.data["said"]


def test_only_the_files_of_this_run_are_there(served):
    assert served.ask("state?file=1").status == 404
    assert served.ask("state?file=-1").status == 404
    assert served.ask("state?file=../../etc/passwd").status == 400
    for path in ("../pyproject.toml", "files/ferryhand.svg", "%2e%2e/%2e%2e/etc/passwd", "/etc/passwd"):
        assert served.ask(path).status == 404, path


def test_nothing_is_kept_or_shown_within_another_page(served):
    for path in ("", "state", "report", "picture.svg"):
        headers = served.ask(path).headers
        assert headers["cache-control"] == "no-store"
        assert headers["referrer-policy"] == "no-referrer"
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"
        assert "access-control-allow-origin" not in headers
        assert "server" not in headers or "uvicorn" in headers["server"]


def test_no_word_comes_twice():
    words = {word() for _ in range(1000)}
    assert len(words) == 1000
    assert min(map(len, words)) >= 32  # 24 bytes: nobody guesses 192 bits

"""`seamcheck watch` as a program: it prints its address alone, serves there, and ends by Ctrl-C."""

import os
import signal
import socket
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest
from click.testing import CliRunner

import seamcheck
from seamcheck.cli.main import main

DEMO = Path(seamcheck.__file__).parent / "demo"


def started(*arguments: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "seamcheck", "watch", *arguments, "--no-browser"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
        env={**os.environ, "PYTHONPATH": str(DEMO.parents[1])},
    )


@pytest.mark.skipif(os.name != "posix", reason="signals are sent otherwise there")
@pytest.mark.parametrize(("number", "code"), [(signal.SIGINT, 0), (signal.SIGTERM, 143)])
def test_it_prints_its_address_serves_there_and_is_ended(number, code):
    process = started(str(DEMO / "ferryhand.svg"))
    try:
        assert process.stdout is not None
        address = process.stdout.readline().strip()
        assert address.startswith("http://127.0.0.1:")
        assert len(address.rstrip("/").rpartition("/")[2]) >= 32
        with urllib.request.urlopen(address, timeout=120) as page:
            assert b"<h1>ferryhand</h1>" in page.read()
        process.send_signal(number)
        out, err = process.communicate(timeout=60)
        assert process.returncode == code, err
        assert out == ""
        assert "lies on the table at that address" in err
        assert "Traceback" not in err
    finally:
        process.kill()
        process.communicate()


def test_what_cannot_be_watched_is_said_in_a_sentence(tmp_path):
    result = CliRunner().invoke(main, ["watch", str(tmp_path / "none.svg"), "--no-browser"])
    assert result.exit_code == 2
    assert "no pattern is there to be watched; name the file itself" in result.stderr
    assert result.stdout == ""


def test_a_port_that_is_taken_is_said_in_a_sentence():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        result = CliRunner().invoke(main, ["watch", str(DEMO / "ferryhand.svg"), "--no-browser", "--port", str(port)])
    assert result.exit_code == 2
    assert f"port {port} of this machine cannot be used" in result.stderr

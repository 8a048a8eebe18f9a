"""The server of `seamcheck watch`, started and ended: nothing is imported for it before it is asked for."""

from __future__ import annotations

import os
import socket
import tempfile
import webbrowser
from collections.abc import Iterator
from contextlib import contextmanager
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import click

from seamcheck.cli.output import emit
from seamcheck.errors import SeamcheckError

if TYPE_CHECKING:
    from seamcheck.engine.read import Request
    from seamcheck.engine.workspace import Shops

LETTING_GO = 1  # seconds that pages are given when it ends


def serve(named: tuple[str, ...], request: Request, shops: Shops, *, port: int, browser: bool) -> None:
    """Watch patterns until Ctrl-C, and show them on an address of this machine alone, which is told on stdout."""
    import uvicorn

    from seamcheck.watch.desk import Desk
    from seamcheck.watch.guard import HOST, word
    from seamcheck.watch.job import jobs_for
    from seamcheck.watch.server import application

    jobs = jobs_for(named, request, shops)
    token = word()
    with _bound(HOST, port) as listening:
        port = listening.getsockname()[1]
        app = application(Desk(jobs, shops), token=token, port=port)
        config = uvicorn.Config(
            app,
            log_config=None,
            access_log=False,
            http="h11",
            ws="none",
            server_header=False,
            date_header=False,
            timeout_graceful_shutdown=LETTING_GO,
        )
        address = f"http://{HOST}:{port}/{token}/"
        emit(f"{address}\n", None)
        files = f"{jobs[0].path.name}" if len(jobs) == 1 else f"{len(jobs)} patterns"
        click.echo(f"seamcheck: {files} lies on the table at that address; Ctrl-C ends it", err=True)
        with _opened(address, wanted=browser):
            uvicorn.Server(config).run(sockets=[listening])


@contextmanager
def _bound(host: str, port: int) -> Iterator[socket.socket]:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as listening:
        if os.name == "posix":
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((host, port))
        except OSError as error:
            why = (error.strerror or str(error)).lower()
            raise SeamcheckError(
                f"port {port} of this machine cannot be used ({why})", remedy="name another with --port, or none"
            ) from None
        yield listening


@contextmanager
def _opened(address: str, *, wanted: bool) -> Iterator[None]:
    """Open a browser at an address by way of a file for its user alone: others can see what programs are started with."""
    if not wanted:
        yield
        return
    with tempfile.TemporaryDirectory(prefix="seamcheck-") as folder:
        page = Path(folder) / "table.html"
        page.touch(0o600)
        page.write_text(
            f'<!DOCTYPE html><meta charset="utf-8"><meta name="referrer" content="no-referrer"><title>seamcheck</title>'
            f'<meta http-equiv="refresh" content="0;url={escape(address)}">',
            encoding="utf-8",
        )
        if not webbrowser.open(page.as_uri()):
            click.echo("seamcheck: no browser could be opened; open the address yourself", err=True)
        yield

"""The command `watch`: its server started and ended. Nothing is imported for it before it is asked for."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from seamcheck.cli.options import reading_options
from seamcheck.cli.output import emit
from seamcheck.cli.shop import request_of, require_all, shops_of_run
from seamcheck.cli.stopping import ended_by_hand
from seamcheck.errors import SeamcheckError

if TYPE_CHECKING:
    import socket

    from seamcheck.engine.read import Request
    from seamcheck.engine.workspace import Shops


@click.command(short_help="Show the pattern in the browser, judged at every save; sew and true it there.")
@click.argument("files", nargs=-1, required=True, type=click.Path(), metavar="FILE...")
@reading_options
@click.option("--before", type=click.Path(), metavar="OLD", help="The pattern as it was before it was altered.")
@click.option("--no-browser", is_flag=True, help="Open no browser; the address is printed in any case.")
@click.option(
    "--port", type=click.IntRange(1, 65535), metavar="N", help="The port to use. Default: one that is free."
)
def watch(files: tuple[str, ...], no_browser: bool, port: int | None, **reading: Any) -> int:
    """Show FILE on a table in the browser, and judge it at every save of it, of its plan or of the settings.

    There one looks at it beside the drawing program, says what is sewn to what, takes lines that are drawn anew, and rehearses
    alterations. FILE may be a plan or a folder, too: then drawings that come into the folder are taken up, and those that go are let go,
    while it runs. The plan is written to its file at each step, the trued or altered pattern
    beside the original. The address is one of this machine alone, and its last part is the key: who has it may do the same.
    Nothing leaves the machine.

    Ctrl-C ends it, with exit code 0.
    """
    shops = shops_of_run()
    for file in files:
        require_all(shops.tolerant(file)[1])
    with ended_by_hand():
        serve(files, request_of(reading), shops, port=port or 0, browser=not no_browser)
    return 0


def serve(named: tuple[str, ...], request: Request, shops: Shops, *, port: int, browser: bool) -> None:
    """Watch patterns until Ctrl-C, and show them on an address of this machine alone, which is told on stdout."""
    from seamcheck.watch.desk import Desk
    from seamcheck.watch.guard import HOST, word
    from seamcheck.watch.server import Server

    desk = Desk(named, request, shops)
    token = word()
    with _bound(HOST, port) as listening:
        port = listening.getsockname()[1]
        address = f"http://{HOST}:{port}/{token}/"
        emit(f"{address}\n", None)
        files = desk.jobs[0].path.name if len(desk.jobs) == 1 else f"{len(desk.jobs)} patterns"
        click.echo(f"seamcheck: {files} lies on the table at that address; Ctrl-C ends it", err=True)
        with _opened(address, wanted=browser):
            Server(desk, token=token, port=port).run(sockets=[listening])


@contextmanager
def _bound(host: str, port: int) -> Iterator[socket.socket]:
    import socket

    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as listening:
        if os.name == "posix":
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((host, port))
            listening.listen()  # who comes before the server runs is answered as soon as it does
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
    import tempfile
    import webbrowser
    from html import escape

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

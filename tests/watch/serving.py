"""The server of `seamcheck watch` in this process, on a port of its own, and asked as a browser asks it."""

from __future__ import annotations

import http.client
import json
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

import seamcheck
from seamcheck.engine.read import Request
from seamcheck.engine.workspace import Shops
from seamcheck.truing.recipes import with_recipes
from seamcheck.watch.desk import Desk
from seamcheck.watch.guard import HOST
from seamcheck.watch.server import Server

DEMO = Path(seamcheck.__file__).parent / "demo"
TOKEN = "a-word-for-tests-alone"
PATIENCE = 120.0


class Answer(NamedTuple):
    status: int
    headers: dict[str, str]
    text: str

    @property
    def data(self) -> Any:
        return json.loads(self.text)


class Served:
    """A running server, its desk, and ways to ask it."""

    def __init__(self, desk: Desk, port: int) -> None:
        self.desk, self.port = desk, port
        self.address = f"http://{HOST}:{port}/{TOKEN}/"

    def ask(self, path: str, *, method: str = "GET", body: Any = None, token: str = TOKEN, **headers: str) -> Answer:
        """Ask for a path behind the token; `headers` are those of the page unless they are told, "" for none."""
        told = {"host": f"{HOST}:{self.port}"} | {name.replace("_", "-"): value for name, value in headers.items()}
        if method == "POST":
            told = {"origin": f"http://{HOST}:{self.port}", "content-type": "application/json"} | told
        link = http.client.HTTPConnection(HOST, self.port, timeout=PATIENCE)
        try:
            link.putrequest(method, f"/{token}/{path}", skip_host=True)
            data = b"" if body is None else json.dumps(body).encode()
            for name, value in told.items():
                if value:
                    link.putheader(name, value)
            link.putheader("content-length", str(len(data)))
            link.endheaders(data)
            answer = link.getresponse()
            text = answer.read().decode("utf-8", "replace")
            return Answer(answer.status, {name.lower(): value for name, value in answer.getheaders()}, text)
        finally:
            link.close()

    def post(self, path: str, body: Any, **headers: str) -> Answer:
        return self.ask(path, method="POST", body=body, **headers)

    def state(self, **query: str) -> Any:
        return self.ask("state?" + "&".join(f"{name}={value}" for name, value in query.items())).data

    def until(self, holds) -> Any:
        """The first state that is as it is wanted."""
        end = time.monotonic() + PATIENCE
        while not holds(state := self.state()):
            assert time.monotonic() < end, f"it never came: {state['trouble']} {state['version']}"
            time.sleep(0.02)
        return state

    def step(self, state: Any, text: str, **more: Any) -> Answer:
        """A step of the plan, as the page writes it that was told a state."""
        return self.post("plan?file=0", {"base": state["base"], "text": text, "refused": [], "unknown": []} | more)


@contextmanager
def serving(*named: Path, **asked: Any) -> Iterator[Served]:
    """Serve some patterns until the end of the block."""
    shops = Shops(recipes=with_recipes)
    desk = Desk([str(one) for one in named], Request(**asked), shops)
    with socket.socket() as listening:
        listening.bind((HOST, 0))
        port = listening.getsockname()[1]
        server = Server(desk, token=TOKEN, port=port)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        try:
            end = time.monotonic() + PATIENCE
            while not server.started:
                assert time.monotonic() < end
                time.sleep(0.01)
            yield Served(desk, port)
        finally:
            server.should_exit = True
            thread.join(PATIENCE)


def demo_in(folder: Path, *, altered: bool = False, plan: bool = True) -> Path:
    """The demo's drawing in a folder, with its plan beside it."""
    drawing = folder / "ferryhand.svg"
    shutil.copy(DEMO / ("ferryhand-altered.svg" if altered else "ferryhand.svg"), drawing)
    if plan:
        shutil.copy(DEMO / "ferryhand.seams.toml", folder)
    return drawing

"""The ways in: the page, what it shows, the news, the plan, new lines, and what is printed and sent."""

from __future__ import annotations

import asyncio
import contextlib
import json
import math
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

import uvicorn
from starlette.applications import Starlette
from starlette.responses import HTMLResponse, JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from seamcheck.errors import SeamcheckError, internal_error
from seamcheck.pattern.plan import EdgeUse
from seamcheck.spelling import UnknownNameError
from seamcheck.watch import printing
from seamcheck.watch.altering import Wish
from seamcheck.watch.desk import Desk, NotThereError, PlanStep, told_only
from seamcheck.watch.guard import Guard
from seamcheck.watch.saving import AGAIN, changes, whole

if TYPE_CHECKING:
    import socket

    from starlette.requests import Request
    from starlette.types import ASGIApp

    from seamcheck.pairing.again import Sides

LETTING_GO = 1  # seconds that pages are given when it ends

Answer = Callable[["Request"], Awaitable[Response]]
DRAWING_POLICY = "default-src 'none'; style-src 'unsafe-inline'"


class BadlyAskedError(Exception):
    """What no page of ours asks."""


def application(desk: Desk, *, token: str, port: int) -> ASGIApp:
    """The server of a run, guarded."""
    ways = _Ways(desk)
    app = Starlette(
        routes=[
            Route("/", ways.page),
            Route("/state", _said(ways.state)),
            Route("/news", ways.news),
            Route("/mates", _said(ways.mates)),
            Route("/plan", _said(ways.plan), methods=["POST"]),
            Route("/truing", _said(ways.truing)),
            Route("/take", _said(ways.take), methods=["POST"]),
            Route("/back", _said(ways.back), methods=["POST"]),
            Route("/fits", _said(ways.fits)),
            Route("/which", _said(ways.which), methods=["POST"]),
            Route("/rehearse", _said(ways.rehearse), methods=["POST"]),
            Route("/alter", _said(ways.alter), methods=["POST"]),
            Route("/report", _said(ways.report)),
            Route("/picture.svg", _said(ways.picture)),
            Route("/tiles.pdf", _said(ways.tiles)),
        ],
        lifespan=ways.lifespan,
    )
    return Guard(app, token=token, port=port)


def _said(answer: Answer) -> Answer:
    """An answer that says in one sentence what went wrong."""

    async def told(request: Request) -> Response:
        try:
            return await answer(request)
        except NotThereError:
            return JSONResponse({"said": "This is no file of this run."}, 404)
        except SeamcheckError as error:
            return JSONResponse({"said": str(error)}, 422)
        except BadlyAskedError:
            return JSONResponse({"said": "This cannot be asked in this form."}, 400)
        except Exception as error:
            return JSONResponse({"said": str(internal_error(error))}, 500)

    return told


class Server(uvicorn.Server):
    """The running server of a desk. Pages that wait for news are let go before it waits for them."""

    def __init__(self, desk: Desk, *, token: str, port: int) -> None:
        """Not yet running."""
        app = application(desk, token=token, port=port)
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
        super().__init__(config)
        self.desk = desk

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """End."""
        self.desk.close()
        await super().shutdown(sockets)


class _Ways:
    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.stop = asyncio.Event()

    @contextlib.asynccontextmanager
    async def lifespan(self, app: Starlette) -> AsyncIterator[None]:
        """Judge at every save while the server runs."""
        self.stop = asyncio.Event()
        watching = asyncio.create_task(self._watch())
        yield
        self.stop.set()
        watching.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await watching

    async def _watch(self) -> None:
        await self.desk.table(self.desk.there[0])
        async for changed in changes(self.desk.reads, self.desk.folders, self.stop):
            reads = await self.desk.reads()
            saved = changed & reads.keys()
            known = {path for path in saved if path.exists() and self.desk.has_all(reads[path])}
            if self.desk.folders and changed - known:
                await self.desk.look_again()
            for number in sorted({number for path in saved for number in reads[path]}):
                if number not in self.desk.tables:
                    continue
                with told_only():
                    table = await self.desk.judge(number)
                    if table.trouble and self.desk.has_all([number]):  # perhaps it was half saved
                        await asyncio.sleep(AGAIN)
                        await whole(saved)
                        await self.desk.judge(number)

    async def page(self, request: Request) -> Response:
        """The page, with what it shows first."""
        from seamcheck.report.table.page import page_of
        from seamcheck.report.table.told import style

        number = next(iter(self.desk.there), 0)
        data = await self.desk.told(number)
        title = self.desk.job(number).path.stem if not data.get("title") else data["title"]
        tool = "sew" if data["proposals"] or data["question"] or not data["base"] else "look"
        text = page_of(
            {**data, "host": "server", "style": style(), "numbers": {}, "highest": 0, "tool": tool},
            title,
            connects=True,
        )
        return HTMLResponse(text)

    async def state(self, request: Request) -> Response:
        """What is shown now, in a size."""
        return JSONResponse(await self.desk.told(_number(request), request.query_params.get("size")))

    async def news(self, request: Request) -> Response:
        """News as they come: server-sent events (HTML, section 9.2)."""

        async def lines() -> AsyncIterator[str]:
            async with contextlib.aclosing(self.desk.news()) as news:
                async for one in news:
                    kind = "files" if one and "files" in one else "news"
                    yield ": still here\n\n" if one is None else f"event: {kind}\ndata: {json.dumps(one)}\n\n"

        return StreamingResponse(lines(), media_type="text/event-stream")

    async def mates(self, request: Request) -> Response:
        """What an edge may be sewn to."""
        return JSONResponse({"mates": await self.desk.mates(_number(request), request.query_params.get("edge", ""))})

    async def plan(self, request: Request) -> Response:
        """A step of the plan, written; 409 and what stands in the file where that is another by now."""
        told, done = await self.desk.write(_number(request), _step(await _body(request)))
        return JSONResponse(told, 200 if done else 409)

    async def truing(self, request: Request) -> Response:
        """What may be drawn anew."""
        size = request.query_params.get("size", "")
        return JSONResponse(
            await self.desk.truing(_number(request), size, lambda one, moves: one.proposals(size, moves))
        )

    async def take(self, request: Request) -> Response:
        """Take one way of one proposal, or the first of each."""
        body = await _body(request)
        size = str(body.get("size", ""))
        if body.get("all"):
            return JSONResponse(
                await self.desk.truing(_number(request), size, lambda one, moves: one.take_all(size, moves))
            )
        with _asked():
            finding, which = int(body["finding"]), str(body["letter"])
        return JSONResponse(
            await self.desk.truing(_number(request), size, lambda one, moves: one.take(size, finding, which, moves))
        )

    async def back(self, request: Request) -> Response:
        """Take back what was taken last."""
        size = str((await _body(request)).get("size", ""))
        return JSONResponse(
            await self.desk.truing(_number(request), size, lambda one, moves: one.take_back(size, moves))
        )

    async def fits(self, request: Request) -> Response:
        """The fits that can be made on a piece of the pattern."""
        size = request.query_params.get("size", "")
        return JSONResponse(await self.desk.altering(_number(request), size, lambda one, size, _: one.fits(size)))

    async def which(self, request: Request) -> Response:
        """Which fit it is, by what was seen in the cloth."""
        body = await _body(request)
        with _asked():
            answers = {str(name): str(answer) for name, answer in dict(body["answers"]).items()}
        size, asked = str(body.get("size", "")), str(body.get("asked", ""))
        try:
            return JSONResponse(
                await self.desk.altering(_number(request), size, lambda one, size, _: one.which(size, answers, asked))
            )
        except UnknownNameError as error:
            raise BadlyAskedError from error

    async def rehearse(self, request: Request) -> Response:
        """What a fit would do."""
        body = await _body(request)
        wish, whole = _wish(body), bool(body.get("whole"))
        return JSONResponse(
            await self.desk.altering(
                _number(request),
                str(body.get("size", "")),
                lambda one, size, moves: one.rehearse(wish, size, moves, whole=whole),
            )
        )

    async def alter(self, request: Request) -> Response:
        """Carry a fit out, and write the altered pattern beside the original."""
        body = await _body(request)
        wish = _wish(body)
        return JSONResponse(
            await self.desk.altering(_number(request), str(body.get("size", "")), lambda one, _, __: one.write(wish))
        )

    async def report(self, request: Request) -> Response:
        """The report as one page."""
        return HTMLResponse(await self.desk.printed(_number(request), printing.report))

    async def picture(self, request: Request) -> Response:
        """The picture of the pieces and their seams."""
        text = await self.desk.printed(_number(request), printing.picture)
        return Response(text, media_type="image/svg+xml", headers={"content-security-policy": DRAWING_POLICY})

    async def tiles(self, request: Request) -> Response:
        """The pattern in tiles, with what was taken."""
        number = _number(request)
        data = await self.desk.truing(number, "", lambda one, moves: {"pdf": printing.tiles(one.trued())})
        name = f"{self.desk.job(number).path.stem}.pdf".encode("ascii", "replace").decode().replace('"', "_")
        return Response(
            data["pdf"], media_type="application/pdf", headers={"content-disposition": f'inline; filename="{name}"'}
        )


@contextlib.contextmanager
def _asked() -> Iterator[None]:
    try:
        yield
    except (KeyError, TypeError, ValueError) as error:
        raise BadlyAskedError from error


def _number(request: Request) -> int:
    with _asked():
        return int(request.query_params.get("file", "0"))


async def _body(request: Request) -> Mapping[str, Any]:
    with _asked():
        body = json.loads(await request.body())
        if not isinstance(body, dict):
            raise TypeError
        return body


def _wish(body: Mapping[str, Any]) -> Wish:
    with _asked():
        amount = float(body["amount"])
        if not math.isfinite(amount):
            raise ValueError
        return Wish(fit=str(body["fit"]), piece=str(body["piece"]), amount=amount)


def _step(body: Mapping[str, Any]) -> PlanStep:
    with _asked():
        return PlanStep(
            text=str(body["text"]),
            base=str(body["base"]),
            refused=tuple(map(_sides, body["refused"])),
            unknown=tuple(map(str, body["unknown"])),
            aside=bool(body.get("aside")),
        )


def _sides(both: list[list[dict[str, Any]]]) -> Sides:
    first, second = (tuple(_use(use) for use in side) for side in both)
    return first, second


def _use(use: Mapping[str, Any]) -> EdgeUse:
    piece, _, edge = str(use["edge"]).partition(".")
    return EdgeUse(piece, edge, bool(use["back"]))

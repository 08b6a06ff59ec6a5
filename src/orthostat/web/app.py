"""The page's requests and what answers each of them."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Awaitable, Callable, Generator, Iterator
from contextlib import asynccontextmanager
from pathlib import Path
from threading import Lock, Thread
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from starlette.applications import Starlette
from starlette.concurrency import iterate_in_threadpool, run_in_threadpool
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import (
    FileResponse,
    HTMLResponse,
    JSONResponse,
    PlainTextResponse,
    RedirectResponse,
    Response,
    StreamingResponse,
)
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from orthostat.base.problems import DocumentError
from orthostat.web.guard import Guard
from orthostat.web.refusals import BadRequest

if TYPE_CHECKING:
    from orthostat.web.pages import Pages

STATIC = Path(__file__).parent / "static"
JSON, EVENTS = "application/json", "text/event-stream"

Body = dict[str, Any]


def create_app(folder: Path, *, port: int, token: str) -> Starlette:
    """The application that serves one shop folder."""
    site = Site(folder, token)

    @asynccontextmanager
    async def lifespan(_app: Starlette) -> AsyncIterator[None]:
        await run_in_threadpool(site.open)
        yield
        await run_in_threadpool(site.close)

    def shows(path: str, answer: Callable[[Pages, Request], Any]) -> Route:
        return Route(path, site.get(answer))

    def changes(path: str, answer: Callable[[Pages, Request, Body], Any]) -> Route:
        return Route(path, site.post(answer), methods=["POST"])

    column = "/column/{name}"
    routes = [
        shows("/", lambda pages, _: pages.home()),
        shows(column, lambda pages, r: pages.sheets.sheet(_name(r))),
        changes(column + "/form", lambda pages, r, b: pages.sheets.form(_name(r), b)),
        changes(column + "/try", lambda pages, r, b: pages.sheets.preview(_name(r), b)),
        changes(column + "/edit", lambda pages, r, b: pages.sheets.edit(_name(r), b)),
        changes(column + "/step", lambda pages, r, b: pages.sheets.step(_name(r), b)),
        changes(column + "/work", lambda pages, r, b: pages.sheets.work(_name(r), b)),
        shows(column + "/answers", lambda pages, r: pages.sheets.answers(_name(r), _whole(r, "after"))),
        shows(column + "/scene", lambda pages, r: pages.sheets.scene(_name(r))),
        changes(column + "/scene", lambda pages, r, b: pages.sheets.scene_tried(_name(r), b)),
        shows(column + "/still", lambda pages, r: pages.sheets.still(_name(r))),
        shows(column + "/picture", lambda pages, r: pages.sheets.picture(_name(r), dict(r.query_params))),
        shows(column + "/history", lambda pages, r: pages.histories.history(_name(r))),
        shows(
            column + "/compare",
            lambda pages, r: pages.histories.compare(_name(r), r.query_params.get("state", "")),
        ),
        shows(
            column + "/compare/content",
            lambda pages, r: pages.histories.compare_content(
                _name(r), r.query_params.get("state", ""), _again(r)
            ),
        ),
        changes(column + "/restore", lambda pages, r, b: pages.histories.restore(_name(r), b)),
        shows(column + "/chapter/{chapter}", lambda pages, r: pages.chapter(_name(r), _chapter(r))),
        shows(
            column + "/chapter/{chapter}/content",
            lambda pages, r: pages.chapter_content(_name(r), _chapter(r), _again(r)),
        ),
        shows(column + "/study", lambda pages, r: pages.studies.page(_name(r), dict(r.query_params))),
        shows(
            column + "/study/content", lambda pages, r: pages.studies.content(_name(r), dict(r.query_params))
        ),
        shows(
            column + "/study/designs.csv",
            lambda pages, r: pages.studies.designs(_name(r), dict(r.query_params)),
        ),
        shows(column + "/state", lambda pages, r: pages.state(_name(r))),
        shows(column + "/files", lambda pages, r: pages.files(_name(r), r.query_params.get("seen", ""))),
        changes(column + "/files", lambda pages, r, b: pages.make_files(_name(r), b)),
        shows(
            column + "/files/{state}/{file}",
            lambda pages, r: pages.file(_name(r), str(r.path_params["state"]), str(r.path_params["file"])),
        ),
        changes("/stop", lambda pages, _, b: pages.stop(b)),
        shows("/beside", lambda pages, r: pages.beside(dict(r.query_params))),
        shows("/beside/content", lambda pages, r: pages.beside_content(dict(r.query_params))),
        shows("/shop", lambda pages, _: pages.sheets.shop("")),
        shows("/shop/history", lambda pages, _: pages.histories.history(None)),
        shows(
            "/shop/compare", lambda pages, r: pages.histories.compare(None, r.query_params.get("state", ""))
        ),
        changes("/shop/restore", lambda pages, _, b: pages.histories.restore(None, b)),
        changes("/shop/form", lambda pages, _, b: pages.sheets.form(None, b)),
        changes("/shop/edit", lambda pages, _, b: pages.sheets.edit(None, b)),
        changes("/shop/step", lambda pages, _, b: pages.sheets.step(None, b)),
        shows("/shop/part/{section}", lambda pages, r: pages.sheets.shop(str(r.path_params["section"]))),
        shows("/start", lambda pages, r: pages.start(r.query_params.get("units", ""))),
        changes("/start", lambda pages, _, b: pages.begin(b)),
        changes("/copy", lambda pages, _, b: pages.copy(b)),
        Route("/fonts/{face}", site.font),
        Mount("/static", StaticFiles(directory=STATIC)),
    ]
    return Starlette(
        routes=routes,
        lifespan=lifespan,
        middleware=[
            Middleware(Guard, port=port, token=token),
            # Answers go to the same computer, where packing them takes longer than sending them.
            Middleware(
                GZipMiddleware, minimum_size=2048, compresslevel=4, exclude_content_types=(JSON, EVENTS)
            ),
        ],
        exception_handlers={404: _not_found},
    )


class Site:
    """Holds the pages while the server runs, and turns their results into responses."""

    def __init__(self, folder: Path, token: str) -> None:
        self._folder = folder
        self._token = token
        self._pages: Pages | None = None
        self._making = Lock()

    def open(self) -> None:
        """Begin to load what the first page will need; listening does not wait for it."""
        Thread(target=lambda: self.pages, daemon=True).start()

    @property
    def pages(self) -> Pages:
        """The pages, made when first needed."""
        from orthostat.web.pages import Pages

        with self._making:
            if self._pages is None:
                self._pages = Pages(self._folder, self._token)
            return self._pages

    def close(self) -> None:
        """Stop the workers."""
        if self._pages is not None:
            self._pages.close()

    def get(self, answer: Callable[[Pages, Request], Any]) -> Callable[[Request], Awaitable[Response]]:
        """An endpoint that shows something."""

        async def endpoint(request: Request) -> Response:
            return await run_in_threadpool(self._respond, lambda: answer(self.pages, request))

        return endpoint

    def post(self, answer: Callable[[Pages, Request, Body], Any]) -> Callable[[Request], Awaitable[Response]]:
        """An endpoint that changes something; its body is a JSON object."""

        async def endpoint(request: Request) -> Response:
            try:
                body = json.loads(await request.body())
            except (ValueError, RecursionError):
                return JSONResponse({"refused": "This is not JSON."}, 400)
            if not isinstance(body, dict):
                return JSONResponse({"refused": "A JSON object is wanted."}, 400)
            return await run_in_threadpool(self._respond, lambda: answer(self.pages, request, body))

        return endpoint

    def _respond(self, make: Callable[[], Any]) -> Response:
        from orthostat.web.files import Changed, Saved, Sent
        from orthostat.web.room import Conflict, Elsewhere

        try:
            made = make()
        except BadRequest as refused:
            return JSONResponse({"refused": str(refused)}, 400)
        except Conflict as conflict:
            return JSONResponse(conflict.shown, 409)
        except Elsewhere as elsewhere:
            return RedirectResponse(elsewhere.path, 303)
        except Changed as changed:
            return HTMLResponse(self.pages.gone(changed.name), 409)
        except DocumentError as error:
            said = [problem.sentence() for problem in error.problems]
            missing = any("there is no" in problem.message for problem in error.problems)
            return JSONResponse({"problems": said}, 404 if missing else 422)
        if isinstance(made, Sent):
            return FileResponse(made.path, media_type=made.media, filename=made.name)
        if isinstance(made, Saved):
            headers = {"Content-Disposition": f"attachment; filename*=utf-8''{quote(made.name, safe='')}"}
            return Response(made.text, media_type=made.media, headers=headers)
        if isinstance(made, str):
            return HTMLResponse(made)
        if isinstance(made, Iterator):
            return StreamingResponse(_told(made), media_type=EVENTS)
        return _json(made)

    async def font(self, request: Request) -> Response:
        """A type face out of its wheel."""
        from orthostat.web.fonts import face

        found = await run_in_threadpool(face, str(request.path_params["face"]))
        if found is None:
            return PlainTextResponse("no such face\n", 404)
        headers = {"Cache-Control": "public, max-age=31536000, immutable", "Content-Encoding": "gzip"}
        return Response(found, media_type="font/ttf", headers=headers)


def _json(made: Any) -> Response:
    return Response(_written(made), media_type=JSON)


async def _told(made: Iterator[Any]) -> AsyncIterator[bytes]:
    """Each answer as it comes; where the reader has gone, whoever makes them is told."""
    lines = (b"data: " + _written(each) + b"\n\n" for each in made)
    try:
        async for line in iterate_in_threadpool(lines):
            yield line
    finally:
        lines.close()
        if isinstance(made, Generator):
            made.close()


def _written(made: Any) -> bytes:
    return json.dumps(made, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()


def _name(request: Request) -> str:
    return str(request.path_params["name"])


def _chapter(request: Request) -> str:
    return str(request.path_params["chapter"])


def _again(request: Request) -> str:
    return request.query_params.get("again", "")


def _whole(request: Request, key: str) -> int:
    text = request.query_params.get(key, "0")
    if not text.isascii() or not text.isdigit() or len(text) > 12:
        raise BadRequest(f"{key} is a whole number.")
    return int(text)


async def _not_found(_request: Request, _error: Exception) -> Response:
    return PlainTextResponse("There is nothing here.\n", 404)

"""The server of the review page: requests in, pages out, on this machine alone."""

from __future__ import annotations

import logging
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from werkzeug.exceptions import HTTPException
from werkzeug.wrappers import Request, Response

from showvc.document import MachineError, ShowError
from showvc.report.pages import STYLES, environment, style_text
from showvc.review.desk import Busy, Desk, Facts
from showvc.review.guard import HEADERS, Guard
from showvc.review.pages import PAGES, Page
from showvc.review.pressing import BUTTONS

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIEnvironment

HERE = Path(__file__).parent / "templates"
STYLE = "/style.css"
MOST_BODY = 64 * 1024
MOST_ADDRESS = 4096
"""Bytes: a form of ours is far smaller, and so is any address."""
_STRANGER = "open the address that showvc review printed; it works once, so start showvc review again"
_WORDS = {
    400: "this request cannot be read",
    403: "this page is for the browser that has its key",
    404: "there is no such page",
    405: "that cannot be done here",
    413: "that is too much at once",
    414: "that address is too long",
}


class _SmallRequest(Request):
    max_content_length = MOST_BODY
    max_form_memory_size = MOST_BODY
    max_form_parts = 50


class Refused(Exception):
    """A request that is not answered as asked: the code, what is wrong, and the way out.

    `known`: whether it comes from the browser that has the key. Another sees nothing of the show, not even its title.
    """

    def __init__(self, code: int, way_out: str = "go back, and take one of the links", known: bool = True) -> None:
        self.code, self.way_out, self.known = code, way_out, known
        super().__init__(_WORDS[code])


class Review:
    """The review of one show folder: a WSGI application. `facts` tells where the folder stands."""

    def __init__(self, folder: Path, guard: Guard, facts: Facts, title: str) -> None:
        self.folder, self.guard, self.facts, self.title = folder, guard, facts, title
        self.templates = environment(HERE)
        self.templates.globals["link"] = self.link
        self.style = style_text(*STYLES) + style_text("review.css", folder=HERE)

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        inner = self.guard.below_root(environ.get("PATH_INFO", ""))
        if inner is not None:
            environ = {**environ, "SCRIPT_NAME": self.guard.root, "PATH_INFO": inner}
        response = self._answer(_SmallRequest(environ), ours=inner is not None)
        response.headers.extend(HEADERS)
        return response(environ, start_response)

    def _answer(self, request: Request, ours: bool) -> Response:
        try:
            return self._allowed(request, ours)
        except Refused as refused:
            return self._sorry(refused.code, [f"{refused} ({refused.way_out})"], refused.known)
        except Busy as error:
            return self._sorry(409, list(map(str, error.problems)))
        except ShowError as error:
            return self._sorry(400, list(map(str, error.problems)))
        except MachineError as error:
            return self._sorry(500, [str(error)])
        except HTTPException as error:
            code = error.code if error.code in _WORDS else 400
            return self._sorry(code, [_WORDS[code]])
        except OSError as error:
            return self._sorry(500, [f"{error.strerror or error} (check the permissions and the free space)"])
        except Exception as error:  # the last net: a fault of ours is told in a line
            said = " ".join(str(error).split())[:200]
            return self._sorry(
                500, [f"something unforeseen: {type(error).__name__}: {said}", "what is recorded is safe"]
            )

    # --- who may ---

    def _allowed(self, request: Request, ours: bool) -> Response:
        if not ours or not self.guard.host_is_ours(request.environ.get("HTTP_HOST")):
            raise Refused(403, _STRANGER, known=False)
        if len(request.full_path) > MOST_ADDRESS:
            raise Refused(414, known=False)
        known = self.guard.knows(request.cookies.getlist(self.guard.cookie))
        if request.method in ("GET", "HEAD") and request.path == "/" and "key" in request.args:
            return self._let_in(known, request.args["key"])
        if not known:
            raise Refused(403, _STRANGER, known=False)
        if request.method in ("GET", "HEAD"):
            return self._shown(request)
        if request.method == "POST":
            return self._pressed(request)
        raise Refused(405)

    def _let_in(self, known: bool, key: str) -> Response:
        response = Response(status=303, headers={"Location": self.link("/")})
        if self.guard.take_key(key):
            path = self.link("/")
            response.set_cookie(self.guard.cookie, self.guard.session, httponly=True, samesite="Strict", path=path)
        elif not known:
            way_out = "the key works once: start showvc review again, and open the address that it prints"
            raise Refused(403, way_out, known=False)
        return response

    # --- looking and pressing ---

    def _shown(self, request: Request) -> Response:
        if not self.guard.look_is_ours(request.environ.get("HTTP_SEC_FETCH_SITE")):
            raise Refused(403, _STRANGER, known=False)
        if request.path == STYLE:
            return Response(self.style, mimetype="text/css")
        handler = PAGES.get(request.path)
        if handler is None:
            raise Refused(405 if request.path in BUTTONS else 404)
        desk = Desk.open(self.folder, _plain(request.args), self.facts)
        return self._page(handler(desk), request.path, desk)

    def _pressed(self, request: Request) -> Response:
        host, origin = request.environ.get("HTTP_HOST"), request.environ.get("HTTP_ORIGIN")
        if not self.guard.origin_is_ours(host, origin, request.environ.get("HTTP_SEC_FETCH_SITE")):
            raise Refused(403, "press the button on the page itself")
        button = BUTTONS.get(request.path)
        if button is None:
            raise Refused(405 if request.path in PAGES else 404)
        if request.mimetype != "application/x-www-form-urlencoded":
            raise Refused(400)
        if not self.guard.form_is_ours(request.form.get("form")):
            raise Refused(403, "the page is of an earlier run: load it again, then press")
        desk = Desk.open(self.folder, _plain(request.form), self.facts)
        done = button(desk)
        if isinstance(done, str):
            return Response(status=303, headers={"Location": self.link(done)})
        return self._page(done, "", desk)

    def link(self, path: str, **fields: object) -> str:
        """An address of ours, below the path of this run, with these fields; empty ones are left out."""
        query = urlencode({name: value for name, value in fields.items() if value not in ("", None)})
        return f"{self.guard.root}{path}" + (f"?{query}" if query else "")

    def _page(self, page: Page, at: str, desk: Desk) -> Response:
        return self._html(
            page.template, page.code, {"at": at, "remarks": desk.remarks, "verdict": desk.verdict, **page.values}
        )

    def _sorry(self, code: int, lines: list[str], known: bool = True) -> Response:
        return self._html(
            "sorry.html.j2", code, {"at": "", "remarks": [], "verdict": None, "lines": lines, "known": known}
        )

    def _html(self, template: str, code: int, values: dict[str, Any]) -> Response:
        shared = {"form": self.guard.form, "title": self.title, "known": True}
        text = self.templates.get_template(template).render({**shared, **values})
        return Response(text, status=code, mimetype="text/html")


def _plain(given: Any) -> dict[str, str]:
    """The fields of an address or a form, each once: of a repeated one the first."""
    return {name: given[name] for name in given}


class Running:
    """A review that is being served. The socket is open as soon as this is made; `run` answers until it is stopped."""

    def __init__(self, folder: Path, facts: Facts, title: str, port: int = 0) -> None:
        from showvc.review.connections import MOST, Listener

        logging.getLogger("waitress").setLevel(logging.CRITICAL)
        guard = Guard(port)
        self.application = Review(folder, guard, facts, title)
        try:
            self._server = Listener(
                self.application,
                host="127.0.0.1",
                port=port,
                threads=4,
                ident="",
                max_request_body_size=1024 * 1024,
                max_request_header_size=16 * 1024,
                connection_limit=2 * MOST,  # never reached by silence: the listener makes room before
                cleanup_interval=1,
                expose_tracebacks=False,
                asyncore_use_poll=True,
            )
        except OSError as error:
            raise MachineError(
                f"port {port} cannot be used: {error.strerror}", "name another with --port, or none for a free one"
            ) from None
        guard.port = int(self._server.effective_port)

    @property
    def address(self) -> str:
        """Where to look, with the key that works once."""
        return self.application.guard.address

    def run(self) -> None:
        """Answers until Ctrl-C."""
        self._server.run()

    def stop(self) -> None:
        """Ends it from another thread: the socket, every open connection, and those who answer."""
        self._server.task_dispatcher.shutdown(timeout=1)
        with suppress(OSError):  # it may have closed before it is told the second time
            self._server.trigger.pull_trigger(self._close)

    def _close(self) -> None:
        for channel in list(self._server.active_channels.values()):
            channel.handle_close()
        self._server.close()

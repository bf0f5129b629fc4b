"""The live page over a local address: this machine only, two paths only, and only for those who
know its secret."""

import re
import secrets
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import ClassVar
from urllib.parse import parse_qs, urlsplit

from frame3d.json_text import json_text
from frame3d.web.live import Live

LOOPBACK = "127.0.0.1"
BEAT_S = 5.0  # between signs of life, so that a connection whose browser is gone ends
IDLE_S = 30.0  # a connection over which nothing comes or goes for so long ends
HTTP_PORT = 80  # which browsers leave out of a name
LONGEST_ID = 15  # digits of an event id; ours are counted from 1


@contextmanager
def served(live: Live, port: int = 0) -> Iterator[str]:
    """Serve the page of `live` while the block runs; gives its address, which other users of the
    machine cannot guess. Port 0 takes a free one.

    Raises OSError where the port is taken.
    """

    class Handler(_Handler):
        pass

    Handler.live = live
    Handler.ending = threading.Event()
    Handler.root = f"/{secrets.token_urlsafe(16)}/"
    server = _Server((LOOPBACK, port), Handler)
    number = server.server_address[1]
    # A page of another site may point its own name at this address (DNS rebinding): only requests
    # that call it by a local name are answered.
    names = {LOOPBACK, "localhost"}
    Handler.hosts = frozenset(f"{name}:{number}" for name in names)
    if number == HTTP_PORT:
        Handler.hosts |= names
    thread = threading.Thread(target=server.serve_forever, args=(0.05,), daemon=True)
    thread.start()
    try:
        yield f"http://{LOOPBACK}:{number}{Handler.root}"
    finally:
        Handler.ending.set()
        with live.news:
            live.news.notify_all()
        server.shutdown()
        thread.join()
        server.server_close()


class _Server(ThreadingHTTPServer):
    daemon_threads = True

    def handle_error(self, request: object, client_address: object) -> None:
        """Nothing: a connection broke, or spoke no HTTP; the terminal belongs to the builder."""


class _Handler(BaseHTTPRequestHandler):
    live: ClassVar[Live]
    hosts: ClassVar[frozenset[str]]
    ending: ClassVar[threading.Event]
    root: ClassVar[str]
    server_version, sys_version = "frame3d", ""
    timeout = IDLE_S

    def do_GET(self) -> None:
        try:
            where = urlsplit(self.path)
        except ValueError:
            self._refuse(HTTPStatus.BAD_REQUEST)
            return
        if self.headers.get("Host", "") not in self.hosts:
            self._refuse(HTTPStatus.FORBIDDEN)
        elif where.path == self.root and not where.query:
            self._page()
        elif where.path == f"{self.root}news":
            self._news(where.query)
        else:
            self._refuse(HTTPStatus.NOT_FOUND)

    def _refuse(self, status: HTTPStatus) -> None:
        self._head(status, "text/plain; charset=utf-8", status.phrase.encode())

    def _head(self, status: HTTPStatus, kind: str, body: bytes | None) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Cache-Control", "no-store")
        self.send_header("X-Content-Type-Options", "nosniff")
        self.send_header("X-Frame-Options", "DENY")
        self.send_header("Cross-Origin-Resource-Policy", "same-origin")
        if body is not None:
            self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        if body is not None:
            self.wfile.write(body)

    def _page(self) -> None:
        self._head(HTTPStatus.OK, "text/html; charset=utf-8", self.live.page().encode())

    def _news(self, query: str) -> None:
        """Server-sent events (HTML standard, section 9.2): at each change "frame", "fault", or
        "checked" where the picture is the same."""
        told = self.headers.get("Last-Event-ID") or "".join(parse_qs(query).get("after", []))
        seen = int(told) if re.fullmatch(f"[0-9]{{1,{LONGEST_ID}}}", told) else 0
        fresh = True  # a page that opens now has not been told what is wrong
        self._head(HTTPStatus.OK, "text/event-stream", None)
        try:
            while not self.ending.is_set():
                with self.live.news:
                    untold, fresh = fresh and self.live.fault is not None, False
                    if self.live.number == seen and not untold:
                        self.live.news.wait(BEAT_S)
                    number, fault = self.live.number, self.live.fault
                    drawn, version = self.live.drawn, self.live.version
                if number == seen and not untold:
                    message = ": still here\n\n"
                else:
                    kind = "fault" if fault else "frame" if drawn > seen else "checked"
                    told = json_text(fault or version.told, compact=True)
                    message = f"id: {number}\nevent: {kind}\ndata: {told}\n\n"
                    seen = number
                self.wfile.write(message.encode())
                self.wfile.flush()
        except OSError:
            pass  # the browser has gone
        self.close_connection = True

    def log_message(self, format: str, *args: object) -> None:
        """Nothing: the terminal belongs to the builder."""

"""Who may ask, and what every reply says about itself: the outermost layer of the pages.

A page of another site in the same browser can send requests to this machine, and with a name of its own that it points
here it could even read the replies. So the name asked for must be a number of this machine or its own name, the page
that asks must be ours, and every change must carry a token that only our pages hold. Replies forbid the browser
everything that our pages do not need.
"""

from __future__ import annotations

import hmac
import ipaddress
from dataclasses import dataclass
from urllib.parse import parse_qs, quote, urlsplit

from starlette.datastructures import Headers
from starlette.requests import cookie_parser
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from linewright.pages.limits import LARGEST_BODY

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "font-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
    "cache-control": "no-store",
}
TOKEN = "x-linewright-token"
COOKIE = "linewright-key"
READING = ("GET", "HEAD")


@dataclass(frozen=True, slots=True)
class Rules:
    """What is let in. ``hosts`` are names beside the numbers of this machine; ``far`` lets any number be asked for,
    not only those of the machine itself; ``key`` is asked for where others could reach the port.
    """

    token: str
    port: int
    hosts: frozenset[str] = frozenset()
    far: bool = False
    key: str = ""


class Guard:
    """An application with the rules around it."""

    def __init__(self, app: ASGIApp, rules: Rules) -> None:
        self.app, self.rules = app, rules

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or refuse it; the reply gets its headers in both cases."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        headers, sending = Headers(scope=scope), _with_headers(send)
        refused = self.refused(scope["method"], headers, str(scope.get("path", "")))
        if refused is None and self.rules.key:
            letting_in = self.letting_in(scope, headers)
            if letting_in is not None:
                await letting_in(scope, receive, sending)
                return
        if refused is not None:
            status, error = refused
            await JSONResponse({"error": error}, status)(scope, receive, sending)
            return
        await self.app(scope, _Counted(receive).receive, sending)

    def refused(self, method: str, headers: Headers, path: str) -> tuple[int, str] | None:
        """Status and reason where a request is refused, None where it may pass."""
        hosts = headers.getlist("host")
        if len(hosts) != 1 or not self.known(hosts[0]):
            return 421, "this address is not one of these pages: open the one that linewright serve printed"
        if len(path) > 2000:
            return 414, "this address is too long"
        origin = headers.get("origin")
        if origin is not None and not self.ours(origin, hosts[0]):
            return 403, "this request comes from another page"
        if not _from_us(method, headers, path):
            return 403, "this request comes from another page"
        if method in READING:
            return None
        if method not in ("POST", "PUT", "DELETE"):
            return 405, "no such method here"
        if not _same(headers.get(TOKEN, ""), self.rules.token):
            return 403, "the token is missing or old: load the page again"
        length = headers.get("content-length", "0")
        if not length.isascii() or not length.isdigit():
            return 400, "the length of the request is no number"
        if int(length[:20]) > LARGEST_BODY:
            return 413, f"a request has at most {LARGEST_BODY / 1e6:.0f} MB"
        return None

    def letting_in(self, scope: Scope, headers: Headers) -> Response | None:
        """Where others could reach the port: None for who has the key, else how to come by it or a refusal.

        The key comes once in the address that was printed, and is then kept by the browser out of sight of scripts.
        """
        given = parse_qs(scope.get("query_string", b"").decode("latin-1")).get("key", [""])[0]
        if scope["method"] == "GET" and _same(given, self.rules.key):
            reply = RedirectResponse(quote(str(scope["path"])), 303)
            reply.set_cookie(COOKIE, self.rules.key, httponly=True, samesite="strict", path="/")
            return reply
        if _same(cookie_parser(headers.get("cookie", "")).get(COOKIE, ""), self.rules.key):
            return None
        return PlainTextResponse("Open these pages once by the whole address that linewright serve printed.", 403)

    def known(self, host: str) -> bool:
        """Whether the name asked for is ours: a number of this machine or a name told, and our port."""
        try:
            parts = urlsplit(f"//{host}")
            name, port = parts.hostname or "", parts.port
        except ValueError:
            return False
        if parts.netloc != host or parts.username is not None or (port or 80) != self.rules.port:
            return False
        if name == "localhost" or name in self.rules.hosts:
            return True
        try:
            number = ipaddress.ip_address(name)
        except ValueError:
            return False
        return number.is_loopback or self.rules.far

    def ours(self, origin: str, host: str) -> bool:
        """Whether a page is ours: the same name and port as asked for, without encryption as we serve."""
        return origin.lower() == f"http://{host}".lower()


def _same(given: str, secret: str) -> bool:
    return hmac.compare_digest(given.encode("utf-8", "replace"), secret.encode())


def _from_us(method: str, headers: Headers, path: str) -> bool:
    """What the browser itself says of who asks; another site may lead a person to a page and do no more."""
    site = headers.get("sec-fetch-site")
    if site in (None, "same-origin", "none"):
        return True
    to_a_page = headers.get("sec-fetch-mode") == "navigate" and headers.get("sec-fetch-dest", "document") == "document"
    return method in READING and to_a_page and not path.startswith("/api/")


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            own = {name for name, _ in message.get("headers", ())}
            extra = [(k.encode(), v.encode()) for k, v in HEADERS.items() if k.encode() not in own]
            message = {**message, "headers": [*message.get("headers", ()), *extra]}
        await send(message)

    return sending


class TooLongError(Exception):
    """A body that goes on beyond what its sender may send."""


class _Counted:
    """The body of a request, cut off where it is too long whatever its sender said of its length."""

    def __init__(self, receive: Receive) -> None:
        self._receive, self._read = receive, 0

    async def receive(self) -> Message:
        """The next part."""
        message = await self._receive()
        if message["type"] == "http.request":
            self._read += len(message.get("body", b""))
            if self._read > LARGEST_BODY:
                raise TooLongError
        return message

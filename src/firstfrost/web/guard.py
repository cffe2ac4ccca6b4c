"""What stands before every request: whose host it names, how long it is; and the headers of every answer."""

from __future__ import annotations

import re
from typing import Final
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from firstfrost.web.errors import ErrorContent, answer
from firstfrost.web.settings import LOOPBACK, Settings

CSP: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src "
    "'self'; connect-src 'self'; media-src 'self' data: blob:; manifest-src 'self'; worker-src 'self'; "
    "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
KEPT_CSP: Final = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'; sandbox"
)
"""For reports and what people uploaded: nothing runs, nothing is fetched."""
HEADERS: Final = {
    "Content-Security-Policy": CSP,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), microphone=(), payment=(), usb=()",
}
SAFE: Final = ("GET", "HEAD", "OPTIONS")

_LIMIT_OF: Final = (
    (re.compile(r"/api/visits/[^/]+/batches"), "batch"),
    (re.compile(r"/api/visits/[^/]+/files/[^/]+"), "file"),
    (re.compile(r"/api/(visits|units)/[^/]+/attachments/[^/]+"), "attachment"),
    (re.compile(r"/api/units/[^/]+/season"), "weather"),
    (re.compile(r"/api/import"), "import"),
)


def limit_name(path: str) -> str:
    """Which limit holds for the body of a request to a path."""
    return next((name for pattern, name in _LIMIT_OF if pattern.fullmatch(path)), "body")


class Guard:
    """ASGI: lets through what names our host and is not too long, and sets the headers of safety."""

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        self.app = app
        self.settings = settings
        public = urlsplit(settings.public_url or "").hostname
        self.https = (settings.origin or "").startswith("https://")
        self.hosts = {*LOOPBACK, *([public.lower()] if public else [])}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Take one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                if self.https:
                    headers.setdefault("Strict-Transport-Security", "max-age=31536000")
                if scope["path"].startswith("/api/"):
                    headers.setdefault("Cache-Control", "no-store")
            await send(message)

        headers = Headers(scope=scope)
        refused = self._refuses(scope, headers)
        if refused is not None:
            status, content = refused
            await answer(status, content)(scope, receive, send_with_headers)
            return
        limit = self.settings.limit(limit_name(scope["path"]))
        taken = 0

        async def receive_some() -> Message:
            nonlocal taken
            message = await receive()
            if message["type"] == "http.request":
                taken += len(message.get("body", b""))
                if taken > limit:
                    raise HTTPException(413)
            return message

        await self.app(scope, receive_some, send_with_headers)

    def _refuses(self, scope: Scope, headers: Headers) -> tuple[int, ErrorContent] | None:
        host = urlsplit(f"//{headers.get('host', '')}").hostname if _sound(headers.get("host", "")) else None
        if host is None or host.lower() not in self.hosts:
            text = (
                "The Host of the request is not that of this service. Expected the address that "
                "it was started with."
            )
            return 403, ErrorContent(code="host", message=f"{text} Check --public-url.")
        if scope["method"] not in SAFE and not self._own(headers):
            text = (
                "The request comes from another site's page. Expected our own pages. Open the service itself."
            )
            return 403, ErrorContent(code="host", message=text)
        length = headers.get("content-length", "0")
        name = limit_name(scope["path"])
        limit = self.settings.limit(name)
        if not length.isdecimal() or int(length) > limit:
            text = (
                f"The body has {length[:20]} bytes. Expected at most {limit} (limit {name}). "
                "Send less at a time."
            )
            return 413, ErrorContent(code="too-large", message=text)
        return None

    def _own(self, headers: Headers) -> bool:
        if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return False
        origin = headers.get("origin")
        if origin is None:
            return True
        if self.settings.origin is not None:
            return origin.lower() == self.settings.origin
        return origin.lower() == f"http://{headers.get('host', '').lower()}"


def _sound(host: str) -> bool:
    return re.fullmatch(r"(\[[0-9A-Fa-f:.]+\]|[A-Za-z0-9.-]+)(:\d{1,5})?", host) is not None

"""The built pages: files of one folder, their types and caching set here and guessed nowhere."""

from __future__ import annotations

import gzip
import hashlib
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from starlette.datastructures import Headers
from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from firstfrost.web.access import ACCESS
from firstfrost.web.errors import ErrorContent, answer

TYPES: Final = {
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".json": "application/json",
    ".webmanifest": "application/manifest+json",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".ico": "image/x-icon",
    ".webp": "image/webp",
    ".woff2": "font/woff2",
    ".txt": "text/plain; charset=utf-8",
    ".mp3": "audio/mpeg",
    ".wav": "audio/wav",
}
"""What is served; a file of another ending is not."""
PACKED: Final = (".html", ".js", ".css", ".json", ".webmanifest", ".svg", ".txt")
_ROUTES: Final = tuple(
    (method, re.compile(re.sub(r"\\\{\w+\\\}", "[^/]+", re.escape(path)))) for method, path in ACCESS
)
NOT_BUILT: Final = """<!doctype html>
<html lang="en"><meta charset="utf-8"><title>Firstfrost</title>
<h1>The service runs; its pages are not built</h1>
<p>Install Firstfrost from its wheel, which has them, or build them: <code>make pages</code>.</p>
<p>What the service answers to programs is described in docs/service.md and at
<a href="/api/openapi.json">/api/openapi.json</a>.</p></html>
"""


@dataclass(frozen=True)
class _Page:
    stamp: tuple[int, int]
    content: bytes
    packed: bytes | None
    tag: str


class Pages:
    """ASGI: the pages for every path outside /api/."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()
        self._held: dict[Path, _Page] = {}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        path = scope["path"]
        if path == "/api" or path.startswith("/api/"):
            await self._no_route(scope)(scope, receive, send)
        elif scope["method"] not in ("GET", "HEAD"):
            text = "A page is only read. Expected GET. Use the routes under /api/."
            content = ErrorContent(code="method", message=text)
            await answer(405, content, {"Allow": "GET, HEAD"})(scope, receive, send)
        else:
            await self._page(path, Headers(scope=scope))(scope, receive, send)

    def _no_route(self, scope: Scope) -> Response:
        allow = sorted(method for method, pattern in _ROUTES if pattern.fullmatch(scope["path"]))
        if allow:
            text = (
                f"The route does not take {scope['method'][:20]}. Expected one of "
                f"{', '.join(allow)}. Use that."
            )
            return answer(405, ErrorContent(code="method", message=text), {"Allow": ", ".join(allow)})
        text = "There is no such route. Expected one of /api/openapi.json. Check the address."
        return answer(404, ErrorContent(code="not-found", message=text))

    def _page(self, path: str, headers: Headers) -> Response:
        name = path.lstrip("/")
        if "." not in name.rsplit("/", 1)[-1]:
            name = "index.html"
        file = self._file(name)
        if file is None:
            if name == "index.html":
                return Response(NOT_BUILT, media_type="text/html; charset=utf-8")
            text = "There is no such page. Expected / or what it links to. Check the address."
            return answer(404, ErrorContent(code="not-found", message=text))
        ending = file.suffix.lower()
        page = self._read(file)
        out = {"ETag": page.tag, "Vary": "Accept-Encoding", "Cache-Control": "no-cache"}
        if name.startswith("assets/"):
            out["Cache-Control"] = "public, max-age=31536000, immutable"
        if name == "sw.js":
            out["Service-Worker-Allowed"] = "/"
        if headers.get("if-none-match") == page.tag:
            return Response(status_code=304, headers=out)
        content = page.content
        if page.packed is not None and "gzip" in headers.get("accept-encoding", ""):
            content, out["Content-Encoding"] = page.packed, "gzip"
        return Response(content, media_type=TYPES[ending], headers=out)

    def _file(self, name: str) -> Path | None:
        """The file of a name, if it is one of the pages."""
        try:
            file = (self.folder / name).resolve()
            inside = file.is_relative_to(self.folder) and file.is_file()
        except (OSError, ValueError):  # a name that no file can have
            return None
        return file if inside and file.suffix.lower() in TYPES else None

    def _read(self, file: Path) -> _Page:
        stat = file.stat()
        stamp = (stat.st_mtime_ns, stat.st_size)
        held = self._held.get(file)
        if held is not None and held.stamp == stamp:
            return held
        content = file.read_bytes()
        packed = gzip.compress(content, 9, mtime=0) if file.suffix.lower() in PACKED else None
        page = _Page(stamp, content, packed, f'"{hashlib.sha256(content).hexdigest()[:20]}"')
        self._held[file] = page
        return page

"""What people upload: the bytes of a body, and what they are, told by themselves and not by a header."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any, Final

from fastapi import Request
from fastapi.responses import Response

from firstfrost.web.errors import Refused
from firstfrost.web.guard import KEPT_CSP

BINARY: Final[dict[str, Any]] = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}
"""For OpenAPI: the body is bytes."""


def binary_answer(*media: str) -> dict[int | str, dict[str, Any]]:
    """For OpenAPI: the answer is bytes of one of these types."""
    return {200: {"content": {one: {"schema": {"type": "string", "format": "binary"}} for one in media}}}


def media_of(content: bytes) -> str:
    """The media type of a picture or paper, by its first bytes.

    Raises
    ------
    Refused
        If it is none of JPEG, PNG, WebP and PDF.
    """
    if content[:3] == b"\xff\xd8\xff":
        return "image/jpeg"
    if content[:8] == b"\x89PNG\r\n\x1a\n":
        return "image/png"
    if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
        return "image/webp"
    if content[:5] == b"%PDF-":
        return "application/pdf"
    text = "The bytes are neither JPEG, PNG, WebP nor PDF, whatever the name says. Expected one of these."
    raise Refused(415, "media-type", f"{text} Save it as one of them.")


async def body_of(request: Request) -> bytes:
    """The bytes of a body, at most as many as its limit."""
    content = await request.body()
    if not content:
        raise Refused(422, "invalid", "The body is empty. Expected the bytes of a file. Send them.")
    return content


async def spool(request: Request, path: Path) -> None:
    """Write a body to a file as it comes."""
    with path.open("wb") as out:
        async for part in request.stream():
            out.write(part)


def plain_name(name: str) -> str:
    """A file name as it may stand in a header and on a disk: its last part, without what is odd."""
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    return "".join(c if c.isascii() and (c.isalnum() or c in "._- ") else "_" for c in last).lstrip(".")[:100]


def download(content: bytes, media: str, name: str, *, inline: bool = False) -> Response:
    """Bytes as a download; where they are shown, nothing in them runs."""
    kind = "inline" if inline else "attachment"
    return Response(
        content,
        media_type=media,
        headers={
            "Content-Disposition": f'{kind}; filename="{plain_name(name) or "file"}"',
            "Content-Security-Policy": KEPT_CSP,
        },
    )


async def parts_of(path: Path, *, size: int = 1 << 20) -> AsyncIterator[bytes]:
    """The bytes of a `temporary` file, which is then deleted."""
    try:
        with path.open("rb") as file:
            while part := file.read(size):
                yield part
    finally:
        shutil.rmtree(path.parent, ignore_errors=True)


def temporary(ending: str) -> Path:
    """A name for a file in a folder of its own that nobody else may read."""
    return Path(tempfile.mkdtemp(prefix="firstfrost-")) / f"store{ending}"

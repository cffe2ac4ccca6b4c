"""The store as a whole: export, import, backup."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import StreamingResponse

from firstfrost.store.backup import backup
from firstfrost.store.export import export
from firstfrost.store.importing import import_
from firstfrost.web.answers import (
    ImportOut,
)
from firstfrost.web.signin import Asking
from firstfrost.web.state import Parts
from firstfrost.web.uploads import BINARY, binary_answer, parts_of, spool, temporary
from firstfrost.web.work import in_thread

router = APIRouter(prefix="/api")


def _sent(path: Path, media: str, name: str) -> StreamingResponse:
    return StreamingResponse(
        parts_of(path),
        media_type=media,
        headers={
            "Content-Disposition": f'attachment; filename="{name}"',
            "Content-Length": str(path.stat().st_size),
        },
    )


@router.get("/export", response_class=StreamingResponse, responses=binary_answer("application/zip"))
def get_export(service: Parts, caller: Asking) -> StreamingResponse:
    """Everything in open formats."""
    path = temporary(".zip")
    service.store.read(lambda c: export(c, path))
    return _sent(path, "application/zip", "firstfrost-export.zip")


@router.post("/import", response_model=ImportOut, openapi_extra=BINARY)
async def post_import(service: Parts, caller: Asking, request: Request) -> dict[str, Any]:
    """Take an export in."""
    path = temporary(".zip")
    try:
        await spool(request, path)
        by, limit = service.by(caller), service.settings.limit("import")
        out = await in_thread(lambda: service.store.write(lambda c: import_(c, path, by, limit=limit)))
    finally:
        shutil.rmtree(path.parent, ignore_errors=True)
    service.hub.changed()
    return out


@router.get("/backup", response_class=StreamingResponse, responses=binary_answer("application/vnd.sqlite3"))
def get_backup(service: Parts, caller: Asking) -> StreamingResponse:
    """All of the store in one file."""
    path = temporary(".db")
    backup(service.store, path)
    return _sent(path, "application/vnd.sqlite3", "firstfrost-backup.db")

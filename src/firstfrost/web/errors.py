"""One body for every error, and which error of ours is which status."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from typing import Any, Final

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel
from starlette.exceptions import HTTPException

from firstfrost.errors import (
    Changed,
    DataError,
    Deleted,
    FirstfrostError,
    Missing,
    OutOfRange,
    RecordError,
    StoreError,
    WrongState,
)

LOG: Final = logging.getLogger("firstfrost.web")
RETRY_S: Final = 2
"""When to come again if the store is away. [s]"""


class Detail(BaseModel):
    """One place of a body, and what is wrong there."""

    where: str
    message: str


class ErrorContent(BaseModel):
    """What went wrong."""

    code: str
    message: str
    details: list[Detail] = []
    current: dict[str, Any] | None = None
    retry_after_s: float | None = None


class ErrorBody(BaseModel):
    """The body of every error."""

    error: ErrorContent


class Refused(Exception):
    """An answer that is an error, by status and code."""

    def __init__(
        self,
        status: int,
        code: str,
        message: str,
        *,
        details: Sequence[Detail] = (),
        current: dict[str, Any] | None = None,
        retry_after_s: float | None = None,
    ) -> None:
        super().__init__(message)
        self.status = status
        self.content = ErrorContent(
            code=code,
            message=message,
            details=list(details),
            current=current,
            retry_after_s=retry_after_s,
        )


STATUS: Final[tuple[tuple[type[FirstfrostError], int, str], ...]] = (
    (Deleted, 410, "deleted"),
    (Missing, 404, "not-found"),
    (Changed, 409, "changed"),
    (WrongState, 409, "state"),
    (StoreError, 503, "store"),
    (OutOfRange, 422, "invalid"),
    (DataError, 422, "invalid"),
    (FirstfrostError, 422, "invalid"),
)
"""The first that fits."""

RESPONSES: Final[dict[int | str, dict[str, Any]]] = {
    status: {"model": ErrorBody, "description": text}
    for status, text in (
        (400, "not readable"),
        (401, "no session"),
        (403, "not allowed"),
        (404, "no such thing"),
        (409, "changed meanwhile, or in another state"),
        (410, "deleted on request"),
        (413, "too large"),
        (415, "not of an allowed type"),
        (422, "not usable"),
        (429, "too often"),
        (503, "the store is away"),
    )
}

_BY_STATUS: Final = {
    400: ("unreadable", "The body cannot be read. Expected JSON in UTF-8. Correct what sends it."),
    404: ("not-found", "There is no such route. Expected one of /api/openapi.json. Check the address."),
    405: ("method", "The route does not take this method. Expected one of those in Allow. Use one of these."),
    413: ("too-large", "The body is too large."),
}


def answer(status: int, content: ErrorContent, headers: dict[str, str] | None = None) -> JSONResponse:
    """An error as an answer."""
    headers = dict(headers or {})
    if content.retry_after_s is not None:
        headers["Retry-After"] = str(max(1, round(content.retry_after_s)))
    return JSONResponse({"error": content.model_dump()}, status_code=status, headers=headers)


def of(err: FirstfrostError) -> Refused:
    """The answer to one of our own errors."""
    _, status, code = next(row for row in STATUS if isinstance(err, row[0]))
    text = str(err)
    lines = [line.removeprefix("  - ") for line in text.splitlines()[1:] if line.startswith("  - ")]
    return Refused(
        status,
        code,
        text,
        details=[
            Detail(where=line.partition(" is ")[0] if " is " in line else "", message=line) for line in lines
        ],
        current=err.current if isinstance(err, RecordError) else None,
        retry_after_s=RETRY_S if status == 503 else None,
    )


def add_handlers(app: FastAPI) -> None:
    """Give every error of an application the one body."""

    @app.exception_handler(Refused)
    def _refused(request: Request, err: Refused) -> JSONResponse:
        return answer(err.status, err.content)

    @app.exception_handler(FirstfrostError)
    def _ours(request: Request, err: FirstfrostError) -> JSONResponse:
        refused = of(err)
        if refused.status >= 500:
            LOG.warning("%s %s: %s", request.method, request.url.path, err)
        return answer(refused.status, refused.content)

    @app.exception_handler(RequestValidationError)
    def _invalid(request: Request, err: RequestValidationError) -> JSONResponse:
        details = [
            Detail(where=".".join(str(part) for part in one["loc"]), message=one["msg"])
            for one in err.errors()
        ]
        if any(one["type"] == "json_invalid" for one in err.errors()):
            code, message = _BY_STATUS[400]
            return answer(400, ErrorContent(code=code, message=message, details=details))
        places = "; ".join(f"{one.where}: {one.message}" for one in details[:5])
        message = f"The request cannot be used: {places}. Expected what docs/service.md says. Correct it."
        return answer(422, ErrorContent(code="invalid", message=message, details=details))

    @app.exception_handler(HTTPException)
    def _http(request: Request, err: HTTPException) -> JSONResponse:
        code, message = _BY_STATUS.get(err.status_code, ("refused", str(err.detail)))
        return answer(err.status_code, ErrorContent(code=code, message=message), dict(err.headers or {}))

    @app.exception_handler(Exception)
    def _fault(request: Request, err: Exception) -> JSONResponse:
        LOG.error("%s %s failed", request.method, request.url.path, exc_info=err)
        message = (
            "The service failed at this; it is in its log. Nothing was taken. Try again, or tell the shop."
        )
        return answer(500, ErrorContent(code="fault", message=message))

"""Batches in, events out."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Any

import msgspec
from fastapi import APIRouter, Header, Query, Request, Response
from fastapi.responses import StreamingResponse

from firstfrost.errors import DataError
from firstfrost.store.batches import Batch, arrived, decode
from firstfrost.store.contents import read
from firstfrost.store.judging import readings
from firstfrost.store.records import VISIT, find
from firstfrost.web.answers import (
    ArrivedOut,
    ReadingsOut,
    TakenOut,
)
from firstfrost.web.errors import Refused
from firstfrost.web.signin import Asking
from firstfrost.web.state import Parts, PathId
from firstfrost.web.uploads import body_of
from firstfrost.web.work import in_thread

router = APIRouter(prefix="/api")

_SCHEMA, _PARTS = msgspec.json.schema_components([Batch], ref_template="#/components/schemas/{name}")
BATCH_SCHEMAS: dict[str, Any] = _PARTS
"""For OpenAPI: the parts of a batch."""
BATCH_BODY = {"requestBody": {"required": True, "content": {"application/json": {"schema": _SCHEMA[0]}}}}


@router.post("/visits/{visit}/batches", response_model=TakenOut, openapi_extra=BATCH_BODY)
async def post_batch(visit: PathId, service: Parts, caller: Asking, request: Request) -> Response:
    """Keep a batch, once; the answer comes when it is on the disk."""
    try:
        batch = decode(await body_of(request))
    except DataError as err:
        raise Refused(400, "unreadable", str(err)) from err
    taken = await service.hub.take(visit, batch, service.by(caller))
    if taken.clash:
        text = (
            f"Sequence {batch.sequence} of {batch.client} came before with other content. What came now "
            "is kept as a conflict, and nothing was overwritten. Expected each number once. Go on with "
            "the next."
        )
        raise Refused(409, "sequence", text)
    problems = read(batch, service.hub.atmosphere_pa(visit)).problems
    content = {
        "n": taken.n,
        "again": taken.again,
        "late": taken.late,
        "problems": [asdict(one) for one in problems],
    }
    return Response(msgspec.json.encode(content), media_type="application/json")


@router.get("/visits/{visit}/batches", response_model=ArrivedOut)
def get_batches(visit: PathId, service: Parts, caller: Asking) -> dict[str, Any]:
    """Which sequences of each client have arrived."""

    def job(connection: Any) -> dict[str, Any]:
        row = find(connection, VISIT, visit)
        there = arrived(connection, visit)
        return {"clients": [{"client": client, "have": have} for client, have in there], "n": row.n}

    return service.store.read(job)


@router.get("/visits/{visit}/readings", response_model=ReadingsOut)
def get_readings(
    visit: PathId, service: Parts, caller: Asking, after: Annotated[int, Query(ge=0, le=2**31 - 1)] = 0
) -> dict[str, Any]:
    """All that the batches say, or those after event `after`; and every conflict."""
    return service.store.read(lambda c: readings(c, visit, after))


@router.get(
    "/visits/{visit}/events",
    response_class=StreamingResponse,
    responses={200: {"content": {"text/event-stream": {"schema": {"type": "string"}}}}},
)
async def get_events(
    visit: PathId,
    service: Parts,
    caller: Asking,
    after: Annotated[int | None, Query(ge=0, le=2**31 - 1)] = None,
    last_event_id: Annotated[str | None, Header(max_length=20)] = None,
) -> Response:
    """The visit live, by server-sent events."""
    if last_event_id is not None and last_event_id.isdecimal():
        after = int(last_event_id)
    await in_thread(lambda: service.store.read(lambda c: find(c, VISIT, visit)))
    stream = await service.hub.watch(visit, after)
    return StreamingResponse(
        stream,
        media_type="text/event-stream",
        headers={"Cache-Control": "no-store", "X-Accel-Buffering": "no"},
    )

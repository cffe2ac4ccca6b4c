"""Visits: records, logs, attachments, results, reports, signatures."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request, Response
from sqlalchemy import Connection

import firstfrost
from firstfrost.errors import Changed, Missing
from firstfrost.store import blobs, erase, judging, traces, visits
from firstfrost.store.records import VISIT, find
from firstfrost.store.times import stamp
from firstfrost.trace.write import write_csv
from firstfrost.visit.gather import Log, try_log
from firstfrost.web.access import is_practice
from firstfrost.web.answers import (
    AttachmentOut,
    ClosedOut,
    Deleted,
    FileOut,
    NewReport,
    ReportsOut,
    ResultOut,
    VisitOut,
    VisitsOut,
)
from firstfrost.web.bodies import (
    UUID,
    CloseIn,
    ReopenIn,
    ReportIn,
    SignVisitIn,
    UseIn,
    VisitIn,
)
from firstfrost.web.errors import Refused
from firstfrost.web.people import people_of
from firstfrost.web.signin import Asking, only_practice
from firstfrost.web.state import Parts, PathId, Service
from firstfrost.web.uploads import BINARY, binary_answer, body_of, download, media_of
from firstfrost.web.work import in_thread

router = APIRouter(prefix="/api")
FileName = Annotated[str, Query(min_length=1, max_length=200, pattern=r"^[^\x00]*$")]
TIMES = 5
"""So often a closing is tried while readings come in."""


def _view(service: Service, visit: str) -> dict[str, Any]:
    return service.store.read(lambda c: visits.visit_view(c, visit))


def _tell(service: Service, visit: str) -> dict[str, Any]:
    """What a visit is now, told to those who watch, too."""
    now = _view(service, visit)
    service.hub.tell_soon(visit, "visit", {"version": now["version"], "state": now["state"]})
    return now


@router.get("/visits", response_model=VisitsOut)
def get_visits(
    service: Parts,
    caller: Asking,
    unit: Annotated[str | None, Query(pattern=UUID)] = None,
    state: Literal["planned", "open", "closed"] | None = None,
    from_s: Annotated[float | None, Query(ge=0, le=4_102_444_800)] = None,
    to_s: Annotated[float | None, Query(ge=0, le=4_102_444_800)] = None,
) -> dict[str, Any]:
    """Visits, the latest first."""
    found = service.store.read(
        lambda c: visits.visit_list(c, unit_id=unit, state=state, from_s=from_s, to_s=to_s)
    )
    return {"visits": found[: service.settings.limit("list")]}


@router.get("/visits/{visit}", response_model=VisitOut)
def get_visit(visit: PathId, service: Parts, caller: Asking) -> dict[str, Any]:
    """A visit with all that hangs on it."""
    return _view(service, visit)


@router.put("/visits/{visit}", response_model=VisitOut)
def put_visit(visit: PathId, body: VisitIn, service: Parts, caller: Asking) -> dict[str, Any]:
    """Start, plan or amend a visit."""
    if caller.only_practice and not service.store.read(
        lambda c: is_practice(c, unit_id=body.unit_id, visit_id=None)
    ):
        raise only_practice()
    by = service.by(caller)
    if service.store.write(lambda c: visits.put_visit(c, visit, body.version, body.fields(), by)):
        service.hub.changed(visit)
        return _tell(service, visit)
    return _view(service, visit)


@router.delete("/visits/{visit}", response_model=Deleted)
def delete_visit(visit: PathId, service: Parts, caller: Asking) -> dict[str, Any]:
    """Delete a visit."""
    by = service.by(caller)
    return {"deleted": service.erase(lambda c: erase.erase_visit(c, visit, by))}


@router.put(
    "/visits/{visit}/files/{file}",
    response_model=FileOut,
    responses={201: {"model": FileOut}},
    openapi_extra=BINARY,
)
async def put_file(
    visit: PathId,
    file: PathId,
    name: FileName,
    service: Parts,
    caller: Asking,
    request: Request,
    response: Response,
) -> dict[str, Any]:
    """Keep a log as it came; one that cannot be read is kept set aside, and 422 says why."""
    content = await body_of(request)
    by = service.by(caller)

    def work() -> tuple[bool, dict[str, Any]]:
        unit = service.store.read(lambda c: judging.visit_unit(c, find(c, VISIT, visit)))
        problem = try_log(Log(name=name, content=content), unit)
        new = service.store.write(
            lambda c: visits.put_file(c, visit, file, name=name, content=content, problem=problem, by=by)
        )
        return new, _file(service, visit, file)

    new, told = await in_thread(work)
    if new:
        response.status_code = 201
        service.hub.changed(visit)
        await in_thread(lambda: _tell(service, visit))
    if told["problem"] is not None and told["aside"]:
        text = f"The log is kept, and set aside, because it cannot be read: {told['problem']}"
        raise Refused(422, "invalid", text, current=told)
    return told


def _file(service: Service, visit: str, file: str) -> dict[str, Any]:
    """A log as callers see it."""
    listed = service.store.read(lambda c: visits.file_list(c, visit))
    return next(one for one in listed if one["id"] == file)


@router.put("/visits/{visit}/files/{file}/use", response_model=FileOut)
def use_file(visit: PathId, file: PathId, body: UseIn, service: Parts, caller: Asking) -> dict[str, Any]:
    """Say whether a log counts, and what its headers mean."""
    by = service.by(caller)

    def job(connection: Connection) -> tuple[Any, Any]:
        row = visits.file_row(connection, visit, file)
        unit = judging.visit_unit(connection, find(connection, VISIT, visit))
        return Log(
            name=row.name, content=blobs.get(connection, row.sha256).content, columns=body.columns
        ), unit

    log, unit = service.store.read(job)
    problem = try_log(log, unit)
    if problem is not None and not body.aside:
        raise Refused(422, "invalid", f"The log cannot be used like this: {problem}")
    service.store.write(
        lambda c: visits.use_file(
            c, visit, file, aside=body.aside, columns=body.columns, problem=problem, by=by
        )
    )
    service.hub.changed(visit)
    _tell(service, visit)
    return _file(service, visit, file)


@router.get(
    "/visits/{visit}/files/{file}",
    response_class=Response,
    responses=binary_answer("application/octet-stream"),
)
def get_file(visit: PathId, file: PathId, service: Parts, caller: Asking) -> Response:
    """A log as it came."""

    def job(connection: Connection) -> tuple[Any, blobs.Blob]:
        row = visits.file_row(connection, visit, file)
        return row, blobs.get(connection, row.sha256)

    row, blob = service.store.read(job)
    return download(blob.content, blob.media, row.name)


@router.get("/visits/{visit}/result", response_model=ResultOut)
def get_result(
    visit: PathId,
    service: Parts,
    caller: Asking,
    revision: Annotated[int | None, Query(ge=1, le=2**31 - 1)] = None,
) -> dict[str, Any]:
    """The result: of a closed visit as it was made, of an open one as it stands now."""
    row = service.store.read(lambda c: find(c, VISIT, visit))
    number = revision or (row.revision if row.state == "closed" else None)
    if number is not None:
        kept, told = service.store.read(lambda c: visits.revision_result(c, visit, number))
        current = row.state == "closed" and number == row.revision
        return {
            "revision": number,
            "made_at": stamp(kept.made_s),
            "version": kept.made_by,
            "current": current,
            "result": told,
        }
    source = service.store.read(lambda c: judging.sources(c, visit))
    told = service.workshop.judge(source).told
    return {
        "revision": None,
        "made_at": stamp(service.store.clock()),
        "version": firstfrost.__version__,
        "current": True,
        "result": told,
    }


@router.get(
    "/visits/{visit}/trace", response_class=Response, responses=binary_answer("text/csv", traces.MEDIA)
)
def get_trace(
    visit: PathId,
    service: Parts,
    caller: Asking,
    format: Literal["csv", "parquet"] = "csv",
    units: Literal["us", "si"] = "us",
) -> Response:
    """The readings on one time base."""
    source = service.store.read(lambda c: judging.sources(c, visit))
    trace = judging.trace_of(source)
    if not len(trace):
        raise Missing("The visit holds no reading yet. Expected some. Add readings first.")
    if format == "parquet":
        return download(traces.freeze(trace)[0], traces.MEDIA, "trace.parquet")
    with tempfile.TemporaryDirectory(prefix="firstfrost-") as folder:
        path = Path(folder, "trace.csv")
        write_csv(trace, path, atmosphere_pa=source.unit.site.atmosphere_pa, system=units)
        content = path.read_bytes()
    return download(content, "text/csv; charset=utf-8", "trace.csv")


@router.post("/visits/{visit}/close", response_model=ClosedOut)
def close_visit(visit: PathId, body: CloseIn, service: Parts, caller: Asking) -> dict[str, Any]:
    """Freeze the trace, judge it, and keep both as the next revision."""
    by = service.by(caller)
    service.store.write(lambda c: visits.set_marks_complete(c, visit, body.marks_complete, by))
    for _ in range(TIMES):
        source = service.store.read(lambda c: judging.sources(c, visit))
        judged = service.workshop.judge(source)
        number = service.store.write(
            lambda c, source=source, judged=judged: visits.close(c, visit, source, judged, by)  # type: ignore[misc]
        )
        if number is not None:
            _tell(service, visit)
            return {"revision": number}
    raise Changed(
        "Readings come in while the visit is closed. Expected an end of them. Stop the recorder first."
    )


@router.post("/visits/{visit}/reopen", response_model=VisitOut)
def reopen_visit(visit: PathId, body: ReopenIn, service: Parts, caller: Asking) -> dict[str, Any]:
    """Open a closed visit again."""
    by = service.by(caller)
    service.store.write(lambda c: visits.reopen(c, visit, body.why, by))
    service.hub.changed(visit)
    return _tell(service, visit)


@router.post("/visits/{visit}/sign", response_model=VisitOut)
def sign_visit(visit: PathId, body: SignVisitIn, service: Parts, caller: Asking) -> dict[str, Any]:
    """Sign the last revision."""
    by = service.by(caller)
    service.store.write(lambda c: visits.sign(c, visit, by=by, **body.model_dump()))
    return _tell(service, visit)


@router.post("/visits/{visit}/reports", status_code=201, response_model=NewReport)
def make_report(visit: PathId, body: ReportIn, service: Parts, caller: Asking) -> dict[str, Any]:
    """Make a report and keep it as it is, for good."""
    row = service.store.read(lambda c: find(c, VISIT, visit))
    source = service.store.read(lambda c: judging.sources(c, visit))
    revision = row.revision if row.state == "closed" else None
    people = service.store.read(lambda c: people_of(c, visits.visit_view(c, visit), revision))
    content = service.workshop.report(source, body.format, body.units, people)
    by = service.by(caller)
    told = service.store.write(
        lambda c: visits.keep_report(
            c, visit, revision=revision, ending=body.format, system=body.units, content=content, by=by
        )
    )
    return {"report": told}


@router.get("/visits/{visit}/reports", response_model=ReportsOut)
def get_reports(visit: PathId, service: Parts, caller: Asking) -> dict[str, Any]:
    """The reports that were made."""

    def job(connection: Connection) -> list[dict[str, Any]]:
        find(connection, VISIT, visit)
        return visits.report_list(connection, visit)

    return {"reports": service.store.read(job)}


@router.get(
    "/visits/{visit}/reports/{report}",
    response_class=Response,
    responses=binary_answer("application/pdf", "text/html"),
)
def get_report(visit: PathId, report: PathId, service: Parts, caller: Asking) -> Response:
    """A report, byte for byte as it was made."""
    row, blob = service.store.read(lambda c: visits.report(c, visit, report))
    return download(blob.content, blob.media, f"report-{report[:8]}.{row.format}", inline=True)


async def _attach(
    service: Service, caller: Any, request: Request, attachment: str, name: str, **to: str | None
) -> tuple[bool, dict[str, Any]]:
    content = await body_of(request)
    media = media_of(content)
    by = service.by(caller)

    def work() -> tuple[bool, dict[str, Any]]:
        new = service.store.write(
            lambda c: visits.put_attachment(
                c,
                attachment,
                visit_id=to.get("visit"),
                unit_id=to.get("unit"),
                name=name,
                media=media,
                content=content,
                by=by,
            )
        )
        row, blob = service.store.read(lambda c: visits.attachment(c, attachment))
        told = {
            "id": row.id,
            "name": row.name,
            "media": blob.media,
            "size": len(blob.content),
            "sha256": blob.sha256,
            "received_s": row.received_s,
        }
        return new, told

    return await in_thread(work)


@router.put(
    "/visits/{visit}/attachments/{attachment}",
    response_model=AttachmentOut,
    responses={201: {"model": AttachmentOut}},
    openapi_extra=BINARY,
)
async def attach_to_visit(
    visit: PathId, attachment: PathId, name: FileName, service: Parts, caller: Asking, request: Request,
    response: Response,
) -> dict[str, Any]:  # fmt: skip
    """Attach a picture or paper to a visit."""
    new, told = await _attach(service, caller, request, attachment, name, visit=visit)
    if new:
        response.status_code = 201
        await in_thread(lambda: _tell(service, visit))
    return told


@router.put(
    "/units/{unit}/attachments/{attachment}",
    response_model=AttachmentOut,
    responses={201: {"model": AttachmentOut}},
    openapi_extra=BINARY,
)
async def attach_to_unit(
    unit: PathId, attachment: PathId, name: FileName, service: Parts, caller: Asking, request: Request,
    response: Response,
) -> dict[str, Any]:  # fmt: skip
    """Attach a picture or paper to a unit."""
    new, told = await _attach(service, caller, request, attachment, name, unit=unit)
    if new:
        response.status_code = 201
    return told


@router.get(
    "/attachments/{attachment}",
    response_class=Response,
    responses=binary_answer("image/jpeg", "image/png", "image/webp", "application/pdf"),
)
def get_attachment(attachment: PathId, service: Parts, caller: Asking) -> Response:
    """A picture or paper."""
    row, blob = service.store.read(lambda c: visits.attachment(c, attachment))
    return download(blob.content, blob.media, row.name, inline=blob.media.startswith("image/"))

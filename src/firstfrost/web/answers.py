"""What goes out as JSON."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel


class AccountNow(BaseModel):
    """Who is signed in."""

    id: str
    name: str
    role: str


class SessionOut(BaseModel):
    """Who is signed in, and what the service is."""

    mode: Literal["alone", "shop"]
    account: AccountNow | None
    csrf: str | None
    setup_needed: bool
    version: str
    now_s: float
    limits: dict[str, int]


class Health(BaseModel):
    """Whether all is well."""

    ok: bool
    version: str
    store: Literal["ok"]


class AccountOut(BaseModel):
    """An account."""

    id: str
    version: int
    name: str
    role: str
    active: bool
    may_sign_in: bool


class AccountsOut(BaseModel):
    """All accounts."""

    accounts: list[AccountOut]


class KeyOut(BaseModel):
    """A recorder's key, without itself."""

    id: str
    name: str
    made_s: float
    ended_s: float | None


class KeysOut(BaseModel):
    """All keys."""

    keys: list[KeyOut]


class NewKey(BaseModel):
    """A key, told this once."""

    id: str
    key: str


class AuditEntry(BaseModel):
    """One act."""

    n: int
    at: str
    who: str
    act: str
    thing: str
    thing_id: str
    detail: dict[str, Any]


class AuditOut(BaseModel):
    """Acts, the newest first."""

    entries: list[AuditEntry]


class SiteOut(BaseModel):
    """A site."""

    id: str
    version: int
    name: str
    address: str
    contact: str
    note: str
    altitude: str | None
    zone: str | None


class SitesOut(BaseModel):
    """Sites."""

    sites: list[SiteOut]


class AttachmentOut(BaseModel):
    """A picture or paper."""

    id: str
    name: str
    media: str
    size: int
    sha256: str
    received_s: float


class Read(BaseModel):
    """What a plate comes to."""

    unit: dict[str, Any]
    site: dict[str, Any]
    assumptions: list[dict[str, str]]
    stop: dict[str, Any]


class UnitShort(BaseModel):
    """A unit in a list."""

    id: str
    version: int
    site_id: str | None
    site_name: str | None = None
    name: str
    serial: str
    practice: bool
    note: str
    plate: dict[str, Any]


class LastVisit(BaseModel):
    """The last visit of a unit."""

    visit_id: str
    started_s: float | None
    state: str


class UnitOut(UnitShort):
    """A unit."""

    read: Read
    attachments: list[AttachmentOut]
    last_visit: LastVisit | None


class UnitsOut(BaseModel):
    """Units."""

    units: list[UnitShort]


class PlateOut(BaseModel):
    """A plate, both ways, and what it comes to."""

    plate: dict[str, Any]
    toml: str
    read: Read


class InstrumentOut(BaseModel):
    """An instrument."""

    id: str
    version: int
    name: str
    serial: str
    reads: dict[str, str]
    calibrated_on: str | None
    due_on: str | None
    retired: bool
    note: str


class InstrumentsOut(BaseModel):
    """Instruments."""

    instruments: list[InstrumentOut]


class PlanOut(BaseModel):
    """A plan, or that it is worked on."""

    state: Literal["ready", "working"]
    plan: dict[str, Any] | None = None
    retry_after_s: float | None = None


class PricesOut(BaseModel):
    """Prices that are kept at hand."""

    prices: str
    """Their key: `sha256:` and the hash."""
    currency: str
    flat: bool


class SeasonOut(BaseModel):
    """A season, or that it is worked on."""

    state: Literal["ready", "working"]
    weather: str
    """How to ask again without sending the file: `region:IV`, or `sha256:` and the file's hash."""
    season: dict[str, Any] | None = None
    retry_after_s: float | None = None


class Deleted(BaseModel):
    """How many of each kind were deleted."""

    deleted: dict[str, int]


class VisitShort(BaseModel):
    """A visit in a list."""

    id: str
    version: int
    unit_id: str
    planned_on: str | None
    started_s: float | None
    technician: str
    purpose: str
    note: str
    instruments: list[str]
    outdoor: str | None
    humidity: str | None
    indoor: str | None
    marks_complete: bool
    state: Literal["planned", "open", "closed"]
    revision: int | None
    n: int
    late: int
    conflicts: int


class VisitsOut(BaseModel):
    """Visits."""

    visits: list[VisitShort]


class FileOut(BaseModel):
    """A log of a visit."""

    id: str
    name: str
    size: int
    sha256: str
    received_s: float
    aside: bool
    columns: str | None
    problem: str | None


class ReportOut(BaseModel):
    """A report as it was made."""

    id: str
    format: str
    units: str
    revision: int | None
    version: str
    made_at: str
    sha256: str
    size: int


class RevisionOut(BaseModel):
    """A visit as it was closed."""

    revision: int
    made_at: str
    version: str
    n: int
    trace_sha256: str


class SignatureOut(BaseModel):
    """A signature."""

    name: str
    role: str
    revision: int
    signed_at: str
    attachment_id: str | None
    result_sha256: str


class OverdueOut(BaseModel):
    """An instrument whose calibration was overdue."""

    id: str
    name: str
    due_on: str


class UnitOfVisit(UnitShort):
    """The unit of a visit."""

    read: Read


class VisitOut(VisitShort):
    """A visit with all that hangs on it."""

    unit: UnitOfVisit
    instruments_overdue: list[OverdueOut]
    files: list[FileOut]
    attachments: list[AttachmentOut]
    reports: list[ReportOut]
    revisions: list[RevisionOut]
    signatures: list[SignatureOut]
    sequence_conflicts: int


class Problem(BaseModel):
    """What of a batch cannot be read."""

    where: str
    message: str


class TakenOut(BaseModel):
    """What became of a batch: it is on the disk."""

    n: int
    again: bool
    late: bool
    problems: list[Problem]


class ClientHas(BaseModel):
    """What has arrived of one client, as closed ranges of sequences."""

    client: str
    have: list[list[int]]


class ArrivedOut(BaseModel):
    """What has arrived."""

    clients: list[ClientHas]
    n: int


class ReadingsOut(BaseModel):
    """All that the batches of a visit say."""

    n: int
    samples: list[dict[str, Any]]
    typed: list[dict[str, Any]]
    looked: list[dict[str, Any]]
    marks: list[dict[str, Any]]
    conflicts: list[dict[str, Any]]
    problems: list[dict[str, Any]]


class ResultOut(BaseModel):
    """A result, and which."""

    revision: int | None
    made_at: str | None
    version: str
    current: bool
    result: dict[str, Any]


class ClosedOut(BaseModel):
    """A visit that was closed."""

    revision: int


class NewReport(BaseModel):
    """A report that was made."""

    report: ReportOut


class ReportsOut(BaseModel):
    """The reports of a visit."""

    reports: list[ReportOut]


class HistoryOut(BaseModel):
    """A unit over the years."""

    visits: list[dict[str, Any]]
    drift: dict[str, dict[str, Any]]


class ReasonOut(BaseModel):
    """Why a unit needs attention."""

    code: str
    sentence: str


class AttentionRow(BaseModel):
    """A unit in the shop list."""

    unit_id: str
    name: str
    site: str | None
    last_visit_s: float | None
    score: int
    reasons: list[ReasonOut]


class AttentionOut(BaseModel):
    """The shop list, the most pressing first."""

    units: list[AttentionRow]


class WordsOut(BaseModel):
    """The words that a device needs offline."""

    channels: list[dict[str, Any]]
    acts: list[str]
    ends: dict[str, str]
    functions: list[dict[str, str]]
    standings: list[str]
    cautions: dict[str, list[dict[str, str]]]
    refrigerants: list[str]


class TableOut(BaseModel):
    """The saturation curves of a refrigerant."""

    refrigerant: str
    source: str
    critical_temp_c: float
    temp_low_c: float
    temp_high_c: float
    curves: dict[str, dict[str, Any]]


class ImportOut(BaseModel):
    """What an import did."""

    taken: dict[str, int]
    here_before: dict[str, int]
    differing: list[dict[str, str]]

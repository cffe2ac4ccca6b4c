"""What comes in and goes out as JSON, and how a body becomes the fields of a record."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field
from pydantic.types import StringConstraints

UUID = r"^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$"
DAY = r"^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$"
# PostgreSQL's text holds no NUL.
_NO_NUL = r"^[^\x00]*$"

Id = Annotated[str, StringConstraints(pattern=UUID)]
Day = Annotated[str, StringConstraints(pattern=DAY)]
Name = Annotated[str, StringConstraints(pattern=r"^[^\x00]*[^\s\x00][^\x00]*$", min_length=1, max_length=200)]
Line = Annotated[str, StringConstraints(pattern=_NO_NUL, max_length=500)]
Text = Annotated[str, StringConstraints(pattern=_NO_NUL, max_length=20_000)]
Quantity = Annotated[str, StringConstraints(pattern=_NO_NUL, max_length=60)]
Password = Annotated[str, StringConstraints(max_length=1024)]
Seconds = Annotated[float, Field(ge=0.0, le=4_102_444_800.0)]
Version = Annotated[int, Field(ge=0, le=2**31 - 1)]
Role = Literal["technician", "teacher", "lead", "read-only"]
PlateValue = Line | dict[str, Line] | Annotated[list[Line], Field(max_length=50)]
Plate = dict[Line, dict[Line, PlateValue]]


class In(BaseModel):
    """A body that comes in: what it does not know, it refuses."""

    model_config = ConfigDict(extra="forbid", strict=True)

    def fields(self) -> dict[str, Any]:
        """The fields of the record, without the version."""
        return {name: value for name, value in self.model_dump().items() if name != "version"}


class SignIn(In):
    """A name and its password."""

    name: Annotated[str, StringConstraints(max_length=200)]
    password: Password


class Setup(In):
    """The first lead of a shop."""

    code: Annotated[str, StringConstraints(max_length=200)]
    name: Name
    password: Password


class NewPassword(In):
    """One's own password, and the next."""

    old: Password
    new: Password


class AccountIn(In):
    """An account; `password` sets one."""

    version: Version
    name: Name
    role: Role
    active: bool = True
    password: Password | None = None


class KeyIn(In):
    """A recorder that gets a key."""

    name: Name


class SiteIn(In):
    """A customer's site."""

    version: Version
    name: Name
    address: Text = ""
    contact: Text = ""
    note: Text = ""
    altitude: Quantity | None = None
    zone: Quantity | None = None


class UnitIn(In):
    """A unit; `plate` is its unit file as JSON."""

    version: Version
    site_id: Id | None = None
    name: Name
    serial: Line = ""
    practice: bool = False
    note: Text = ""
    plate: Plate


class PlateIn(In):
    """A plate to be read: as TOML, or as JSON."""

    toml: Annotated[str, StringConstraints(max_length=100_000)] | None = None
    plate: Plate | None = None


class PlanIn(In):
    """Today's weather."""

    outdoor: Quantity
    humidity: Quantity | None = None
    indoor: Quantity = "70 degF"


class InstrumentIn(In):
    """An instrument, and what it is worth on each channel it reads."""

    version: Version
    name: Name
    serial: Line = ""
    reads: dict[Line, Line] = {}
    calibrated_on: Day | None = None
    due_on: Day | None = None
    retired: bool = False
    note: Text = ""


class VisitIn(In):
    """A visit: planned, or with a start."""

    version: Version
    unit_id: Id
    planned_on: Day | None = None
    started_s: Seconds | None = None
    technician: Line = ""
    purpose: Text = ""
    note: Text = ""
    instruments: Annotated[list[Id], Field(max_length=50)] = []
    outdoor: Quantity | None = None
    humidity: Quantity | None = None
    indoor: Quantity | None = None
    marks_complete: bool = False


class UseIn(In):
    """How a log counts."""

    aside: bool
    columns: Text | None = None


class CloseIn(In):
    """Closing a visit."""

    marks_complete: bool


class ReopenIn(In):
    """Opening it again."""

    why: Text


class SignVisitIn(In):
    """A signature."""

    name: Name
    role: Literal["technician", "customer"]
    attachment_id: Id | None = None


class ReportIn(In):
    """A report to be made."""

    format: Literal["pdf", "html"]
    units: Literal["us", "si"] = "us"


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

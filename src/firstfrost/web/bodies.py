"""What comes in as JSON, and how a body becomes the fields of a record."""

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


class In(BaseModel):
    """A body that comes in: what it does not know, it refuses."""

    model_config = ConfigDict(extra="forbid", strict=True)

    def fields(self) -> dict[str, Any]:
        """The fields of the record, without the version."""
        return {name: value for name, value in self.model_dump().items() if name != "version"}


class TableFileIn(In):
    """A table of the maker, or a log of run time: the file's name, and the file."""

    name: Name
    text: Annotated[str, StringConstraints(pattern=_NO_NUL, min_length=1, max_length=40_000)]


PlateValue = (
    Line
    | TableFileIn
    | dict[str, Line]
    | Annotated[list[Line], Field(max_length=50)]
    | Annotated[list[float], Field(max_length=50)]
)
Plate = dict[Line, dict[Line, PlateValue]]


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

    toml: Annotated[str, StringConstraints(max_length=170_000)] | None = None
    plate: Plate | None = None


class PlanIn(In):
    """Today's weather."""

    outdoor: Quantity
    humidity: Quantity | None = None
    indoor: Quantity = "70 degF"


class ElectricityIn(In):
    """A price for a kWh, or a table of month, hour, price as the text of a CSV file."""

    price: float | None = None
    table: Text | None = None
    carbon: float | None = None


class FuelIn(In):
    """A fuel to compare with; `per`: the heat in what the price is for."""

    name: Name
    price: float
    per: Quantity
    efficiency: float
    carbon: float | None = None


class PricesIn(In):
    """Prices, as a prices file has them."""

    currency: Annotated[str, StringConstraints(pattern=_NO_NUL, max_length=20)]
    electricity: ElectricityIn
    fuel: Annotated[list[FuelIn], Field(max_length=10)] = []


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

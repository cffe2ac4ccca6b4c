"""Sites, units, instruments; plates, plans, history; the shop list."""

from __future__ import annotations

import tomllib
from typing import Annotated, Any

from fastapi import APIRouter, Query, Response

from firstfrost.equipment.unit import Unit
from firstfrost.equipment.write import unit_toml
from firstfrost.errors import DataError, InputError
from firstfrost.quantities.convert import parse
from firstfrost.store import erase, history, units
from firstfrost.store.records import SITE, UNIT, find
from firstfrost.web.answers import (
    AttentionOut,
    Deleted,
    HistoryOut,
    InstrumentOut,
    InstrumentsOut,
    PlanOut,
    PlateOut,
    SiteOut,
    SitesOut,
    UnitOut,
    UnitsOut,
)
from firstfrost.web.bodies import (
    UUID,
    InstrumentIn,
    PlanIn,
    PlateIn,
    SiteIn,
    UnitIn,
)
from firstfrost.web.signin import Asking, only_practice
from firstfrost.web.state import Parts, PathId, Service

router = APIRouter(prefix="/api")
PLAN_WAIT_S = 1.0
Words = Annotated[str, Query(max_length=200, pattern=r"^[^\x00]*$")]
Confirm = Annotated[str, Query(max_length=200)]


@router.get("/sites", response_model=SitesOut)
def get_sites(service: Parts, caller: Asking, q: Words = "") -> dict[str, Any]:
    """All sites, or those with `q` in their name or address."""
    return {"sites": service.store.read(lambda c: units.site_list(c, q))}


@router.get("/sites/{site}", response_model=SiteOut)
def get_site(site: PathId, service: Parts, caller: Asking) -> dict[str, Any]:
    """A site."""
    return service.store.read(lambda c: units.site_view(c, site))


@router.put("/sites/{site}", response_model=SiteOut)
def put_site(site: PathId, body: SiteIn, service: Parts, caller: Asking) -> dict[str, Any]:
    """Create or change a site."""
    by = service.by(caller)
    if service.store.write(lambda c: units.put_site(c, site, body.version, body.fields(), by)):
        service.hub.changed()
    return service.store.read(lambda c: units.site_view(c, site))


@router.delete("/sites/{site}", response_model=Deleted)
def delete_site(site: PathId, confirm: Confirm, service: Parts, caller: Asking) -> dict[str, Any]:
    """Delete a customer's data."""
    by = service.by(caller)
    return {"deleted": service.erase(lambda c: erase.erase_site(c, site, confirm, by))}


@router.get("/units", response_model=UnitsOut)
def get_units(
    service: Parts,
    caller: Asking,
    site: Annotated[str | None, Query(pattern=UUID)] = None,
    q: Words = "",
) -> dict[str, Any]:
    """All units; those of a site, or with `q` in their name, serial or site's name."""
    return {"units": service.store.read(lambda c: units.unit_list(c, site_id=site, words=q))}


@router.get("/units/{unit}", response_model=UnitOut)
def get_unit(unit: PathId, service: Parts, caller: Asking) -> dict[str, Any]:
    """A unit, and what its plate comes to."""
    return service.store.read(lambda c: units.unit_view(c, unit))


@router.put("/units/{unit}", response_model=UnitOut)
def put_unit(unit: PathId, body: UnitIn, service: Parts, caller: Asking) -> dict[str, Any]:
    """Create or change a unit."""
    if caller.only_practice and not body.practice:
        raise only_practice()
    by = service.by(caller)
    if service.store.write(lambda c: units.put_unit(c, unit, body.version, body.fields(), by)):
        service.hub.changed()
    return service.store.read(lambda c: units.unit_view(c, unit))


@router.delete("/units/{unit}", response_model=Deleted)
def delete_unit(unit: PathId, confirm: Confirm, service: Parts, caller: Asking) -> dict[str, Any]:
    """Delete a unit and its visits."""
    by = service.by(caller)
    return {"deleted": service.erase(lambda c: erase.erase_unit(c, unit, confirm, by))}


@router.get("/units/{unit}/history", response_model=HistoryOut)
def get_history(unit: PathId, service: Parts, caller: Asking) -> dict[str, Any]:
    """What the visits of a unit measured, and whether it drifts."""
    return service.store.read(lambda c: history.unit_history(c, unit))


def known_unit(service: Service, unit: str) -> Unit:
    """A unit as its plate and its site have it."""

    def job(connection: Any) -> Unit:
        row = find(connection, UNIT, unit)
        site = None if row.site_id is None else find(connection, SITE, row.site_id)
        return units.plate_unit(row.plate, name=row.name, site=site)

    return service.store.read(job)


@router.post("/units/{unit}/plan", response_model=PlanOut, responses={202: {"model": PlanOut}})
def plan_unit(
    unit: PathId, body: PlanIn, service: Parts, caller: Asking, response: Response
) -> dict[str, Any]:
    """How a unit can be tested in today's weather; 202 while it is worked out."""
    outdoor_c = parse(body.outdoor, "temperature", "outdoor")
    indoor_c = parse(body.indoor, "temperature", "indoor")
    humidity = None if body.humidity is None else parse(body.humidity, "humidity", "humidity")

    known = known_unit(service, unit)
    plan = service.workshop.plan(known, outdoor_c, humidity, indoor_c, wait_s=PLAN_WAIT_S)
    if plan is None:
        response.status_code = 202
        response.headers["Retry-After"] = "2"
        return {"state": "working", "plan": None, "retry_after_s": 2.0}
    return {"state": "ready", "plan": plan, "retry_after_s": None}


@router.post("/plates", response_model=PlateOut)
def read_plate(body: PlateIn, service: Parts, caller: Asking) -> dict[str, Any]:
    """What a plate comes to, from TOML or JSON; nothing is kept."""
    if (body.toml is None) == (body.plate is None):
        raise InputError("Expected one of toml and plate. Give one of the two.")
    plate: dict[str, Any]
    if body.toml is not None:
        try:
            plate = tomllib.loads(body.toml)
        except tomllib.TOMLDecodeError as err:
            raise DataError(f"The plate is not sound TOML: {err}. Correct that line.") from err
    else:
        plate = body.model_dump()["plate"]
    read = units.read_as(units.checked_unit(plate))
    return {"plate": plate, "toml": unit_toml(plate), "read": read}


@router.get("/instruments", response_model=InstrumentsOut)
def get_instruments(service: Parts, caller: Asking) -> dict[str, Any]:
    """All instruments."""
    return {"instruments": service.store.read(units.instrument_list)}


@router.get("/instruments/{instrument}", response_model=InstrumentOut)
def get_instrument(instrument: PathId, service: Parts, caller: Asking) -> dict[str, Any]:
    """An instrument."""
    return service.store.read(lambda c: units.instrument_view(c, instrument))


@router.put("/instruments/{instrument}", response_model=InstrumentOut)
def put_instrument(instrument: PathId, body: InstrumentIn, service: Parts, caller: Asking) -> dict[str, Any]:
    """Create or change an instrument."""
    by = service.by(caller)
    if service.store.write(lambda c: units.put_instrument(c, instrument, body.version, body.fields(), by)):
        service.hub.changed()
    return service.store.read(lambda c: units.instrument_view(c, instrument))


@router.get("/attention", response_model=AttentionOut)
def get_attention(service: Parts, caller: Asking) -> dict[str, Any]:
    """The shop list: what asks for attention, the most pressing first."""
    now_s = service.store.clock()
    return {"units": service.store.read(lambda c: history.attention(c, now_s))}

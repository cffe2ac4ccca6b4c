"""Sites, units and instruments: what they are made of, and what a plate comes to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from sqlalchemy import Connection, Row, func, or_, select

from firstfrost.equipment.read import unit_from
from firstfrost.equipment.rows import File
from firstfrost.equipment.settings import FILES
from firstfrost.equipment.stop import stop_limit
from firstfrost.equipment.unit import Unit
from firstfrost.errors import InputError, together
from firstfrost.heating.tables import mistakes
from firstfrost.instruments.accuracy import parse_accuracy
from firstfrost.quantities.constants import STANDARD_ATMOSPHERE_PA
from firstfrost.quantities.convert import parse
from firstfrost.store.records import INSTRUMENT, SITE, UNIT, find, public, put
from firstfrost.store.schema import attachments, blobs, instruments, sites, units, visits
from firstfrost.store.store import By
from firstfrost.trace.channels import CHANNELS
from firstfrost.trace.times import zone_of
from firstfrost.visit.as_json import assumptions_json, site_json, unit_json

Fields = Mapping[str, Any]


def plate_unit(
    plate: Fields, *, name: str = "", site: Row[Any] | None = None, reads: Fields | None = None
) -> Unit:
    """The unit that a plate describes, with what `plate_table` adds.

    Raises
    ------
    InputError
        For all mistakes in the plate together.
    """
    return unit_from(plate_table(plate, name=name, site=site, reads=reads), source="the plate")


def plate_table(
    plate: Fields, *, name: str = "", site: Row[Any] | None = None, reads: Fields | None = None
) -> dict[str, Any]:
    """A plate with the unit's name, the site's altitude and zone, and what the instruments are worth.

    Name, altitude and zone are added where the plate has none; instruments used on a visit go before its own.

    Raises
    ------
    InputError
        If it names other files: a plate comes from outside, and the files of this machine are not its.
        What a file says goes into the plate itself.
    """
    named = [row.name for row in FILES if not isinstance(_at(plate, row), Mapping | None)]
    if named:
        raise InputError(
            f"The plate names another file under {' and '.join(named)}. Expected the file itself, its name "
            'and its text: {"name": "table.csv", "text": "..."}. A plate in the store has no files beside '
            "it. Add the file on the unit's page."
        )
    table: dict[str, Any] = {
        key: dict(value) if isinstance(value, Mapping) else value for key, value in plate.items()
    }
    place = table.setdefault("site", {})
    if site is not None and isinstance(place, dict):
        if site.altitude and not {"altitude", "barometer"} & place.keys():
            place["altitude"] = site.altitude
        if site.zone and "zone" not in place:
            place["zone"] = site.zone
    about = table.get("unit")
    if name and isinstance(about, dict):
        about.setdefault("name", name)
    if reads and isinstance(table.setdefault("instruments", {}), dict):
        table["instruments"].update(reads)
    return table


def _at(plate: Fields, row: File) -> Any:
    content = plate.get(row.table)
    return content.get(row.key) if isinstance(content, Mapping) else None


def checked_unit(plate: Fields, *, name: str = "", site: Row[Any] | None = None) -> Unit:
    """As `plate_unit`, its tables read as well, so that one that cannot be used is not kept.

    Raises
    ------
    InputError
        For all mistakes in the plate together, then for all in its tables.
    """
    unit = plate_unit(plate, name=name, site=site)
    wrong = mistakes(unit)
    if wrong:
        raise together("the plate", wrong)
    return unit


def read_as(unit: Unit) -> dict[str, Any]:
    """What a plate comes to, as callers see it."""
    limit = stop_limit(unit)
    return {
        "unit": unit_json(unit),
        "site": site_json(unit),
        "assumptions": assumptions_json(unit),
        "stop": {
            "temp_c": limit.temp_c,
            "pressure_pa": limit.pressure_pa,
            "gauge_pa": limit.gauge_pa,
            "by": limit.by,
        },
    }


def put_site(connection: Connection, site_id: str, version: int, fields: Fields, by: By) -> bool:
    """Create or change a site.

    Raises
    ------
    InputError
        If the altitude or the zone cannot be read.
    RecordError
        As `records.put`.
    """
    if fields["altitude"] is not None:
        parse(fields["altitude"], "length", "altitude")
    if fields["zone"] is not None:
        zone_of(fields["zone"], where="zone")
    return put(connection, SITE, site_id, version, fields, by)


def put_unit(connection: Connection, unit_id: str, version: int, fields: Fields, by: By) -> bool:
    """Create or change a unit.

    Raises
    ------
    InputError
        For all mistakes in the plate together.
    RecordError
        As `records.put`; Missing if there is no such site.
    """
    site = find(connection, SITE, fields["site_id"]) if fields["site_id"] is not None else None
    checked_unit(fields["plate"], name=fields["name"], site=site)
    return put(connection, UNIT, unit_id, version, fields, by)


def put_instrument(connection: Connection, instrument_id: str, version: int, fields: Fields, by: By) -> bool:
    """Create or change an instrument.

    Raises
    ------
    InputError
        If a channel is not known, or an accuracy cannot be read.
    RecordError
        As `records.put`.
    """
    for name, accuracy in fields["reads"].items():
        if name not in CHANNELS:
            raise InputError(
                f"reads.{name} is not a channel. Expected one of: {', '.join(CHANNELS)}. Choose one of these."
            )
        parse_accuracy(accuracy, CHANNELS[name].kind, f"reads.{name}", atmosphere_pa=STANDARD_ATMOSPHERE_PA)
    return put(connection, INSTRUMENT, instrument_id, version, fields, by)


def site_view(connection: Connection, site_id: str) -> dict[str, Any]:
    """A site as callers see it."""
    return public(SITE, find(connection, SITE, site_id))


def site_list(connection: Connection, words: str = "") -> list[dict[str, Any]]:
    """All sites by name; those with `words` in their name or address."""
    query = select(sites).order_by(func.lower(sites.c.name), sites.c.id)
    if words:
        query = query.where(
            or_(*(column.icontains(words, autoescape=True) for column in (sites.c.name, sites.c.address)))
        )
    return [public(SITE, row) for row in connection.execute(query)]


def instrument_view(connection: Connection, instrument_id: str) -> dict[str, Any]:
    """An instrument as callers see it."""
    return public(INSTRUMENT, find(connection, INSTRUMENT, instrument_id))


def instrument_list(connection: Connection) -> list[dict[str, Any]]:
    """All instruments by name."""
    query = select(instruments).order_by(func.lower(instruments.c.name), instruments.c.id)
    return [public(INSTRUMENT, row) for row in connection.execute(query)]


def unit_row(connection: Connection, unit_id: str) -> tuple[Row[Any], Row[Any] | None]:
    """A unit's row, and that of its site."""
    row = find(connection, UNIT, unit_id)
    return row, find(connection, SITE, row.site_id) if row.site_id is not None else None


def unit_view(connection: Connection, unit_id: str) -> dict[str, Any]:
    """A unit as callers see it, with what its plate comes to."""
    row, site = unit_row(connection, unit_id)
    last = connection.execute(
        select(visits.c.id, visits.c.started_s, visits.c.state)
        .where(visits.c.unit_id == unit_id)
        .order_by(visits.c.started_s.desc().nulls_last(), visits.c.changed_s.desc())
    ).first()
    return {
        **public(UNIT, row),
        "read": read_as(plate_unit(row.plate, name=row.name, site=site)),
        "attachments": attached(connection, unit_id=unit_id),
        "last_visit": None
        if last is None
        else {"visit_id": last.id, "started_s": last.started_s, "state": last.state},
    }


def unit_list(connection: Connection, *, site_id: str | None = None, words: str = "") -> list[dict[str, Any]]:
    """All units by name; those of a site, or with `words` in their name, serial or site's name."""
    query = (
        select(units, sites.c.name.label("site_name"))
        .join(sites, sites.c.id == units.c.site_id, isouter=True)
        .order_by(func.lower(units.c.name), units.c.id)
    )
    if site_id is not None:
        query = query.where(units.c.site_id == site_id)
    if words:
        columns = (units.c.name, units.c.serial, sites.c.name)
        query = query.where(or_(*(column.icontains(words, autoescape=True) for column in columns)))
    return [{**public(UNIT, row), "site_name": row.site_name} for row in connection.execute(query)]


def attached(
    connection: Connection, *, unit_id: str | None = None, visit_id: str | None = None
) -> list[dict[str, Any]]:
    """The attachments of a unit, or of a visit."""
    query = select(attachments, blobs.c.media, blobs.c.size).join(
        blobs, blobs.c.sha256 == attachments.c.sha256
    )
    if unit_id is not None:
        query = query.where(attachments.c.unit_id == unit_id)
    else:
        query = query.where(attachments.c.visit_id == visit_id)
    return [
        {
            "id": row.id,
            "name": row.name,
            "media": row.media,
            "size": row.size,
            "sha256": row.sha256,
            "received_s": row.received_s,
        }
        for row in connection.execute(query.order_by(attachments.c.received_s, attachments.c.id))
    ]


def overdue(connection: Connection, ids: Sequence[str], on: date) -> list[dict[str, Any]]:
    """Those of these instruments whose calibration was overdue on a day, or that are not known."""
    if not ids:
        return []
    query = select(instruments).where(instruments.c.id.in_(ids)).order_by(instruments.c.name)
    return [
        {"id": row.id, "name": row.name, "due_on": row.due_on}
        for row in connection.execute(query)
        if row.due_on is not None and row.due_on < on.isoformat()
    ]


def reads_of(connection: Connection, ids: Sequence[str]) -> dict[str, str]:
    """Channel -> accuracy of the instruments used, the first named going first."""
    rows = {
        row.id: row.reads for row in connection.execute(select(instruments).where(instruments.c.id.in_(ids)))
    }
    out: dict[str, str] = {}
    for one in ids:
        for channel, accuracy in rows.get(one, {}).items():
            out.setdefault(channel, accuracy)
    return out

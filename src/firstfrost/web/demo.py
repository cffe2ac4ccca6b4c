"""The demo's visit in a store: an invented unit at an invented site, as a device would have sent it."""

from __future__ import annotations

import tomllib
import uuid
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection, select

import firstfrost
from firstfrost.equipment.read import unit_from
from firstfrost.store import units, visits
from firstfrost.store.batches import Batch, MarkSent, Samples, take
from firstfrost.store.schema import visits as visit_table
from firstfrost.store.store import COMMAND, Store
from firstfrost.trace.marks_file import read_marks
from firstfrost.trace.reader import read_trace

DATA: Final = Path(firstfrost.__file__).parent / "demo"
_SPACE: Final = uuid.UUID("6f0c8c5e-5a55-4f0e-9f0a-1b7a3f1f2c01")
ROWS: Final = 60
"""Samples in one batch."""


def _id(name: str) -> str:
    """The same id each time, so that the demo is put into a store once."""
    return str(uuid.uuid5(_SPACE, name))


def put_demo(where: str) -> str:
    """Put the demo's visit into a store, open and with its marks, if it is not there; return its id."""
    visit_id = _id("visit")
    with Store(where) as store:
        if store.read(
            lambda c: c.execute(select(visit_table.c.id).where(visit_table.c.id == visit_id)).first()
        ):
            return visit_id
        batches, fields = _read()
        by = store.by(COMMAND)

        def job(connection: Connection) -> None:
            units.put_site(connection, _id("site"), 0, fields["site"], by)
            units.put_unit(connection, _id("unit"), 0, fields["unit"], by)
            visits.put_visit(connection, visit_id, 0, fields["visit"], by)
            for batch in batches:
                take(connection, visit_id, batch, by)

        store.write(job)
    return visit_id


def _read() -> tuple[list[Batch], dict[str, dict[str, Any]]]:
    plate = tomllib.loads((DATA / "unit.toml").read_text(encoding="utf-8"))
    unit = unit_from(plate, source="the demo's plate")
    trace = read_trace(
        [DATA / "trace.csv"],
        atmosphere_pa=unit.site.atmosphere_pa,
        zone=unit.site.zone,
        refrigerant=unit.refrigerant,
    ).trace
    marks = read_marks(DATA / "marks.csv", trace=trace, zone=unit.site.zone).marks
    assert trace.epoch is not None
    zero = trace.epoch.timestamp()
    batches = []
    for sequence, at in enumerate(range(0, len(trace), ROWS)):
        rows = slice(at, at + ROWS)
        samples = Samples(
            time_s=(trace.time_s[rows] + zero).tolist(),
            channels={
                name: [None if v != v else v for v in column[rows].tolist()]
                for name, column in trace.columns.items()
            },
        )
        batches.append(Batch(client="demo-recorder", sequence=sequence, samples=samples))
    acts = [
        MarkSent(id=_id(f"mark {i}"), time_s=mark.time_s + zero, act=mark.act, note=mark.note)
        for i, mark in enumerate(marks)
    ]
    batches.append(Batch(client="demo-phone", sequence=0, marks=acts))
    fields: dict[str, dict[str, Any]] = {
        "site": {
            "name": "Alder Row", "address": "3 Alder Row", "contact": "", "note": "An invented site.",
            "altitude": None, "zone": unit.site.zone,
        },
        "unit": {
            "site_id": _id("site"), "name": unit.name, "serial": "", "practice": False,
            "note": "An invented unit.", "plate": plate,
        },
        "visit": {
            "unit_id": _id("unit"), "planned_on": None, "started_s": zero, "technician": "",
            "purpose": "Defrost before winter", "note": "The demo: an invented visit.", "instruments": [],
            "outdoor": None, "humidity": None, "indoor": None, "marks_complete": True,
        },
    }  # fmt: skip
    return batches, fields

"""A made shop to test with: a site, a unit, an instrument, and the demo's visit as a device would send it."""

import uuid
from pathlib import Path

import firstfrost
from firstfrost.equipment.read import read_unit
from firstfrost.store.batches import Batch, MarkSent, Samples, take
from firstfrost.store.units import put_instrument, put_site, put_unit
from firstfrost.store.visits import put_visit
from firstfrost.trace.marks_file import read_marks
from firstfrost.trace.reader import read_trace

DEMO = Path(firstfrost.__file__).parent / "demo"
PLATE = {
    "unit": {"refrigerant": "R-410A", "nominal_capacity": "2.5 ton_refrigeration"},
    "coil_sensor": {"closes_at": "30 degF", "opens_at": "60 degF"},
    "site": {"altitude": "900 ft", "zone": "America/Denver"},
}
CLIENT = "device-one"


def new():
    return str(uuid.uuid4())


def site_fields(**over):
    fields = {
        "name": "Alder Row",
        "address": "3 Alder Row",
        "contact": "",
        "note": "",
        "altitude": None,
        "zone": None,
    }
    return {**fields, **over}


def unit_fields(**over):
    fields = {
        "site_id": None,
        "name": "Alder Row 3",
        "serial": "",
        "practice": False,
        "note": "",
        "plate": PLATE,
    }
    return {**fields, **over}


def instrument_fields(**over):
    fields = {"name": "gauges", "serial": "", "reads": {"suction_pressure": "1 %"}, "calibrated_on": None,
              "due_on": None, "retired": False, "note": ""}  # fmt: skip
    return {**fields, **over}


def visit_fields(unit_id, **over):
    fields = {
        "unit_id": unit_id,
        "planned_on": None,
        "started_s": None,
        "technician": "",
        "purpose": "",
        "note": "",
        "instruments": [],
        "outdoor": None,
        "humidity": None,
        "indoor": None,
        "marks_complete": False,
    }
    return {**fields, **over}


def add_site(store, **over):
    site_id = new()
    store.write(lambda c: put_site(c, site_id, 0, site_fields(**over), store.by("command")))
    return site_id


def add_unit(store, **over):
    unit_id = new()
    store.write(lambda c: put_unit(c, unit_id, 0, unit_fields(**over), store.by("command")))
    return unit_id


def add_instrument(store, **over):
    one = new()
    store.write(lambda c: put_instrument(c, one, 0, instrument_fields(**over), store.by("command")))
    return one


def add_visit(store, unit_id=None, **over):
    unit_id = unit_id or add_unit(store)
    visit_id = new()
    store.write(lambda c: put_visit(c, visit_id, 0, visit_fields(unit_id, **over), store.by("command")))
    return visit_id


def send(store, visit_id, batch):
    return store.write(lambda c: take(c, visit_id, batch, store.by("command")))


def demo_trace():
    unit = read_unit(DEMO / "unit.toml")
    reading = read_trace(
        [DEMO / "trace.csv"],
        atmosphere_pa=unit.site.atmosphere_pa,
        zone=unit.site.zone,
        refrigerant=unit.refrigerant,
    )
    marks = read_marks(DEMO / "marks.csv", trace=reading.trace, zone=unit.site.zone).marks
    return unit, reading.trace, marks


def demo_plate():
    import tomllib

    return tomllib.loads((DEMO / "unit.toml").read_text())


def batches_of(trace, marks=(), *, client=CLIENT, rows=60):
    """A trace and its marks as the batches of a device, `rows` samples each."""
    zero = trace.epoch.timestamp()
    out = []
    left = list(marks)
    for sequence, at in enumerate(range(0, len(trace), rows)):
        times = trace.time_s[at : at + rows]
        channels = {
            name: [v if v == v else None for v in column[at : at + rows].tolist()]
            for name, column in trace.columns.items()
        }
        last = at + rows >= len(trace)
        now = [m for m in left if last or m.time_s < times[-1]]
        left = [m for m in left if m not in now]
        out.append(
            Batch(
                client=client,
                sequence=sequence,
                samples=Samples(time_s=(times + zero).tolist(), channels=channels),
                marks=[MarkSent(id=new(), time_s=m.time_s + zero, act=m.act, note=m.note) for m in now],
            )
        )
    return out


def demo_visit(store, **over):
    """The demo's visit in the store, open, with its marks complete."""
    _, trace, marks = demo_trace()
    visit_id = add_visit(store, add_unit(store, plate=demo_plate()), marks_complete=True, **over)
    for batch in batches_of(trace, marks):
        send(store, visit_id, batch)
    return visit_id

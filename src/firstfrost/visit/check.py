"""The main job: a trace and its unit in, a result out."""

from __future__ import annotations

import numpy as np

import firstfrost
from firstfrost.causes.find import find_causes
from firstfrost.causes.readings import Reading
from firstfrost.cycle.derive import derive
from firstfrost.equipment.unit import Unit
from firstfrost.heating.check import check_heating
from firstfrost.phases.events import Events
from firstfrost.phases.find import Found, find_phases
from firstfrost.proofs.contact import examine
from firstfrost.proofs.context import Context
from firstfrost.proofs.judge import judge
from firstfrost.refrigerants import table_source
from firstfrost.trace.marks import Marks
from firstfrost.trace.receipt import Receipt
from firstfrost.trace.trace import Trace
from firstfrost.visit.cautions import cautions
from firstfrost.visit.result import MadeBy, Result
from firstfrost.visit.warn import warnings


def check_trace(
    trace: Trace,
    unit: Unit,
    marks: Marks | None = None,
    receipt: Receipt | None = None,
    *,
    events: Events | None = None,
    notes: tuple[str, ...] = (),
    readings: tuple[Reading, ...] = (),
    ask_causes: bool = False,
) -> Result:
    """Judge a visit.

    Parameters
    ----------
    trace : Trace
        The readings.
    unit : Unit
        The machine, its limits and the instruments used.
    marks : tuple of Mark, or None
        What a person did; None when it is not known, which never earns a better standing.
    receipt : Receipt, optional
        What the reader took from its files.
    events : Events, optional
        What the live fold has already found in the very same samples.
    notes : tuple of str
        Warnings that came up before, while marks were read.
    readings : tuple of Reading
        What a person typed in beside the record, for the causes.
    ask_causes : bool
        Show the causes even of a machine that seems sound.
    """
    cycle = derive(trace, unit.refrigerant)
    found: Found = find_phases(trace=trace, cycle=cycle, unit=unit, marks=marks, events=events)
    context = Context(trace=trace, cycle=cycle, unit=unit, marks=marks, found=found)
    findings = judge(context)
    heating = check_heating(context)
    return Result(
        made_by=MadeBy(version=firstfrost.__version__, property_tables=table_source()),
        unit=unit,
        trace=trace,
        marks=marks,
        cycle=cycle,
        receipt=receipt or Receipt(rows=len(trace)),
        phases=found.phases,
        defrosts=found.defrosts,
        findings=findings,
        cautions=cautions(unit.refrigerant),
        heating=heating,
        causes=find_causes(context, findings, examine(context), heating, readings, asked=ask_causes),
        warnings=(*notes, *warnings(context)),
    )


def usable(trace: Trace) -> bool:
    """Tell whether a trace holds a single reading."""
    return any(bool(np.isfinite(column).any()) for column in trace.columns.values())

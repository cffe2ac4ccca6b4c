"""Faults with a severity: each one a change of the plant's or the board's numbers.

A severity runs from 0 (sound) to 1; what 1 means is in each row. Faults of instruments are not here: they
belong to the instruments that look at a run.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from firstfrost.bench.board.settings import Controls
from firstfrost.bench.plant.parameters import Plant
from firstfrost.errors import InputError

Change = Callable[[Plant, Controls, float], tuple[Plant, Controls]]


@dataclass(frozen=True, kw_only=True)
class Fault:
    """A fault: its name, what severity 1 is, how it changes plant and board, its usual severity."""

    name: str
    title: str
    at_one: str
    change: Change
    usual: float = 1.0


def _plant(**fields: Callable[[Plant, float], float]) -> Change:
    def change(plant: Plant, controls: Controls, s: float) -> tuple[Plant, Controls]:
        changed: dict[str, Any] = {name: f(plant, s) for name, f in fields.items()}
        return replace(plant, **changed), controls

    return change


def _board(**fields: Callable[[Controls, float], float]) -> Change:
    def change(plant: Plant, controls: Controls, s: float) -> tuple[Plant, Controls]:
        return plant, replace(controls, **{name: f(controls, s) for name, f in fields.items()})

    return change


def _moved(plant: Plant, controls: Controls, s: float) -> tuple[Plant, Controls]:
    keep = 1.0 - s
    moved = replace(
        plant,
        sensor_metal=plant.sensor_metal * keep,
        sensor_refrigerant=plant.sensor_refrigerant * keep,
        sensor_s=plant.sensor_s * (1.0 + s),
    )
    return moved, controls


def _held(kind: str, shut: float) -> Change:
    def change(plant: Plant, controls: Controls, s: float) -> tuple[Plant, Controls]:
        # From its usual half-open place to where it sticks.
        changed: dict[str, Any] = {kind: 0.5 + s * (shut - 0.5)}
        return replace(plant, **changed), controls

    return change


_ROWS: Final = (
    Fault(
        name="charge-low",
        title="charge too low",
        at_one="all of it lost, but for a twentieth",
        change=_plant(charge_kg=lambda plant, s: plant.charge_kg * max(1.0 - s, 0.05)),
        usual=0.25,
    ),
    Fault(
        name="charge-high",
        title="charge too high",
        at_one="twice the charge",
        change=_plant(charge_kg=lambda plant, s: plant.charge_kg * (1.0 + s)),
        usual=0.2,
    ),
    Fault(
        name="outdoor-coil-fouled",
        title="outdoor coil fouled",
        at_one="no gap left between the fins",
        change=_plant(foul_out=lambda _, s: min(s, 0.95)),
        usual=0.4,
    ),
    Fault(
        name="indoor-coil-fouled",
        title="indoor coil fouled",
        at_one="no heat through the coil's dirt, air path shut by half",
        change=_plant(foul_ind=lambda _, s: min(s, 0.95), filter_block=lambda _, s: 0.5 * s),
        usual=0.4,
    ),
    Fault(
        name="outdoor-fan-weak",
        title="outdoor fan weak or dead",
        at_one="dead",
        change=_plant(fan_weak=lambda _, s: s),
        usual=0.5,
    ),
    Fault(
        name="blower-weak",
        title="indoor blower weak or dead",
        at_one="dead",
        change=_plant(blower_weak=lambda _, s: s),
        usual=0.4,
    ),
    Fault(
        name="filter-blocked",
        title="filter blocked",
        at_one="shut",
        change=_plant(filter_block=lambda _, s: min(s, 0.95)),
        usual=0.6,
    ),
    Fault(
        name="liquid-line-restricted",
        title="liquid line or drier restricted",
        at_one="1 % of the passage left",
        change=_plant(line_m2=lambda plant, s: plant.line_m2 * max(1.0 - s, 0.01)),
        usual=0.93,
    ),
    Fault(
        name="valve-stuck-shut",
        title="outdoor expansion valve stuck nearly shut",
        at_one="shut to its bleed",
        change=_held("fixed_out", 0.05),
        usual=0.7,
    ),
    Fault(
        name="valve-stuck-open",
        title="outdoor expansion valve stuck open",
        at_one="wide open",
        change=_held("fixed_out", 1.0),
        usual=1.0,
    ),
    Fault(
        name="compressor-leaks",
        title="compressor's valves leak",
        at_one="a quarter of the flow lost per pressure ratio above 1",
        change=_plant(comp_leak=lambda _, s: 0.25 * s),
        usual=0.4,
    ),
    Fault(
        name="reversing-valve-leaks",
        title="reversing valve leaks discharge into suction",
        at_one="2 mm2",
        change=_plant(valve_leak_m2=lambda _, s: 2e-6 * s),
        usual=0.5,
    ),
    Fault(
        name="reversing-valve-stuck-heating",
        title="reversing valve stuck in heating",
        at_one="stuck (any severity above 0)",
        change=_plant(valve_stuck=lambda _, s: 0.0 if s > 0 else -1.0),
    ),
    Fault(
        name="reversing-valve-stuck-cooling",
        title="reversing valve stuck in cooling",
        at_one="stuck (any severity above 0)",
        change=_plant(valve_stuck=lambda _, s: 1.0 if s > 0 else -1.0),
    ),
    Fault(
        name="reversing-valve-half-way",
        title="reversing valve stuck between its ends",
        at_one="half-way",
        change=_plant(valve_stuck=lambda _, s: 0.5 * s if s > 0 else -1.0),
    ),
    Fault(
        name="check-valve-stuck-open",
        title="check valve round the outdoor expansion valve stays open",
        at_one="wide open",
        change=_plant(check_open_out=lambda _, s: s),
        usual=0.2,
    ),
    Fault(
        name="check-valve-stuck-shut",
        title="check valve round the outdoor expansion valve stays shut in defrost",
        at_one="shut",
        change=_plant(check_shut_out=lambda _, s: s),
    ),
    Fault(
        name="sensor-stuck-open",
        title="coil sensor never closes",
        at_one="stuck (any severity above 0)",
        change=_board(sensor_stuck=lambda _, s: 0.0 if s > 0 else -1.0),
    ),
    Fault(
        name="sensor-stuck-closed",
        title="coil sensor never opens",
        at_one="stuck (any severity above 0)",
        change=_board(sensor_stuck=lambda _, s: 1.0 if s > 0 else -1.0),
    ),
    Fault(
        name="sensor-out-of-place",
        title="coil sensor off its place, in the air",
        at_one="it feels nothing but air",
        change=_moved,
        usual=0.6,
    ),
    Fault(
        name="sensor-closes-cold",
        title="coil sensor closes below its rating",
        at_one="15 K below",
        change=_board(closes_c=lambda board, s: board.closes_c - 15.0 * s),
        usual=0.5,
    ),
    Fault(
        name="sensor-opens-hot",
        title="coil sensor opens above its rating",
        at_one="25 K above",
        change=_board(opens_c=lambda board, s: board.opens_c + 25.0 * s),
        usual=0.7,
    ),
    Fault(
        name="sensor-opens-cold",
        title="coil sensor opens below its rating",
        at_one="at 3 degC",
        change=_board(opens_c=lambda board, s: board.opens_c + s * (3.0 - board.opens_c)),
        usual=0.8,
    ),
    Fault(
        name="board-dead",
        title="board never starts a defrost",
        at_one="dead (any severity above 0)",
        change=_board(dead=lambda _, s: 1.0 if s > 0 else 0.0),
    ),
    Fault(
        name="timer-slow",
        title="board's clock runs slow",
        at_one="it stands still",
        change=_board(timer_rate=lambda board, s: board.timer_rate * (1.0 - s)),
        usual=0.5,
    ),
    Fault(
        name="timer-fast",
        title="board's clock runs fast",
        at_one="four times as fast",
        change=_board(timer_rate=lambda board, s: board.timer_rate * (1.0 + 3.0 * s)),
        usual=0.5,
    ),
    Fault(
        name="fan-relay-welded",
        title="fan relay welded: the fan runs in defrost",
        at_one="welded (any severity above 0)",
        change=_board(fan_relay=lambda _, s: 1.0 if s > 0 else 0.0),
    ),
    Fault(
        name="fan-relay-open",
        title="fan relay open: the fan never runs",
        at_one="open (any severity above 0)",
        change=_board(fan_relay=lambda _, s: 2.0 if s > 0 else 0.0),
    ),
    Fault(
        name="valve-relay-welded",
        title="valve relay welded: the valve stays shifted",
        at_one="welded (any severity above 0)",
        change=_board(valve_relay=lambda _, s: 1.0 if s > 0 else 0.0),
    ),
    Fault(
        name="valve-relay-open",
        title="valve relay open: the valve never shifts",
        at_one="open (any severity above 0)",
        change=_board(valve_relay=lambda _, s: 2.0 if s > 0 else 0.0),
    ),
    Fault(
        name="backup-relay-welded",
        title="backup relay welded: backup heat runs with any call",
        at_one="welded (any severity above 0)",
        change=_board(backup_relay=lambda _, s: 1.0 if s > 0 else 0.0),
    ),
    Fault(
        name="backup-not-wired",
        title="backup heat not wired to defrost",
        at_one="not wired (any severity above 0)",
        change=_board(backup_relay=lambda _, s: 2.0 if s > 0 else 0.0),
    ),
    Fault(
        name="backup-stage-dead",
        title="a stage of backup heat dead",
        at_one="all of them",
        change=_board(stage_defrost_on=lambda _, s: 1.0 - s, stage_house_on=lambda _, s: 1.0 - s),
        usual=0.5,
    ),
    Fault(
        name="line-voltage-low",
        title="line voltage low",
        at_one="30 % low",
        change=_board(line_volt=lambda board, s: board.line_volt * (1.0 - 0.3 * s)),
        usual=0.5,
    ),
    Fault(
        name="drain-blocked",
        title="drain blocked by ice",
        at_one="no water leaves",
        change=_plant(drain_block=lambda _, s: s),
    ),
)
FAULTS: Final[Mapping[str, Fault]] = {row.name: row for row in _ROWS}
"""By name."""


def apply(plant: Plant, controls: Controls, faults: Mapping[str, float]) -> tuple[Plant, Controls]:
    """Plant and board with faults, name -> severity 0 to 1, single or together.

    Raises
    ------
    InputError
        A fault is not known, or its severity is not from 0 to 1.
    """
    for name, severity in faults.items():
        if name not in FAULTS:
            raise InputError(f'Fault "{name}" is not known. Known are {", ".join(sorted(FAULTS))}.')
        if not 0.0 <= severity <= 1.0:
            raise InputError(
                f"The severity of {name} is {severity:g}. "
                f"It runs from 0 (sound) to 1 ({FAULTS[name].at_one})."
            )
        if severity > 0.0:
            plant, controls = FAULTS[name].change(plant, controls, severity)
    return plant, controls

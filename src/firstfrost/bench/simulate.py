"""Run the bench: a setup in, a run out.

>>> from firstfrost.bench.simulate import Setup, simulate
>>> from firstfrost.bench.weather import constant
>>> run = simulate(Setup(weather=constant(1.67, 0.82), duration_s=7200))
>>> run.state("frost")        # (7201,) kg, at each second
>>> run.derived("p_suction")  # (7201,) Pa
>>> run.board("mode")         # (7201,) 3 in defrost
>>> run.events                # what switched, and the moment it did
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

import numpy as np

from firstfrost.bench import integrate
from firstfrost.bench.board import layout as board_layout
from firstfrost.bench.board import settings
from firstfrost.bench.board.settings import CONTROLS, Controls
from firstfrost.bench.kernel import compiled as compile_kernel
from firstfrost.bench.kernel import is_ready
from firstfrost.bench.plant import layout, parameters
from firstfrost.bench.plant.parameters import PARAMETERS, Plant
from firstfrost.bench.plant.saturation import table
from firstfrost.bench.weather import Weather, constant
from firstfrost.errors import InputError, OutOfRange
from firstfrost.refrigerants.curves import Floats

LOG_LINES = 20_000
PAYS_S = 6 * 3600
"""A run longer than this [s] is worth compiling for."""


@dataclass(frozen=True, kw_only=True)
class Act:
    """What a person does, or what breaks, at a time.

    `act` is a mark of `trace.marks.ACTS` (`note` does nothing), or `set` with `name` of a field of `Plant` or
    `Controls` and its new `value`: a part that breaks, or is mended, during the run.
    """

    time_s: float
    act: str
    name: str = ""
    value: float = 0.0
    note: str = ""


_HANDS: dict[str, tuple[str, float]] = {
    "fan-lead-off": ("hand_fan", 0.0),
    "fan-lead-on": ("hand_fan", 1.0),
    "pins-bridged": ("hand_pins", 1.0),
    "pins-released": ("hand_pins", 0.0),
    "sensor-jumpered": ("hand_jumper", 1.0),
    "sensor-restored": ("hand_jumper", 0.0),
    "call-on": ("hand_call", 1.0),
    "call-off": ("hand_call", 0.0),
    "coil-covered": ("hand_cover", 1.0),
    "coil-uncovered": ("hand_cover", 0.0),
}


@dataclass(frozen=True, kw_only=True)
class Setup:
    """All that a run depends on."""

    plant: Plant = field(default_factory=Plant)
    controls: Controls = field(default_factory=Controls)
    weather: Weather = field(default_factory=lambda: constant(1.67, 0.82))
    acts: tuple[Act, ...] = ()
    duration_s: int = 3600
    start: Literal["running", "rest"] = "running"
    """`running`: heated for `settle_s` before time 0, coil then made as `frost_kg` says; `rest`: cold."""
    settle_s: int = 1500
    house_c: float = 21.1
    frost_kg: float = 0.0
    """On the coil at time 0."""
    frost_density: float = 150.0
    """Of that frost. [kg/m3]"""
    clock_s: float = 0.0
    """Run time on the board's clock at time 0."""


@dataclass(frozen=True, kw_only=True)
class Event:
    """Something that switched. `name`: a row of `board.layout.BOARD`, or of `plant.layout.INPUTS`."""

    time_s: float
    name: str
    value: float


@dataclass(frozen=True, kw_only=True)
class Run:
    """A run at each second from 0: n = duration + 1 rows."""

    setup: Setup
    times_s: Floats
    states: Floats
    """(n, states) in the order of `plant.layout.STATES`."""
    deriveds: Floats
    """(n, derived) in the order of `plant.layout.DERIVED`."""
    boards: Floats
    """(n, board) in the order of `board.layout.BOARD`."""
    events: tuple[Event, ...]
    steps: int

    def state(self, name: str) -> Floats:
        """One state (n,), by its name in `plant.layout.STATES`, in that row's unit."""
        return _column(self.states, layout.NAMES, name, "state")

    def derived(self, name: str) -> Floats:
        """One derived number (n,), by its name in `plant.layout.DERIVED`, in that row's unit."""
        return _column(self.deriveds, layout.DERIVED_NAMES, name, "derived number")

    def board(self, name: str) -> Floats:
        """One of the board's numbers (n,), by its name in `board.layout.BOARD`."""
        return _column(self.boards, board_layout.BOARD_NAMES, name, "number of the board")

    def weather(self) -> tuple[Floats, Floats]:
        """Outdoor temperature (n,) [degC] and humidity ratio (n,) [kg/kg]."""
        sky = self.setup.weather
        at = np.arange(len(sky.temps_c)) * sky.step_s
        return np.interp(self.times_s, at, sky.temps_c), np.interp(self.times_s, at, sky.humidity_ratios)

    def switches(self, name: str) -> list[tuple[float, float]]:
        """Times [s] and new values of one thing that switched."""
        return [(event.time_s, event.value) for event in self.events if event.name == name]


def _column(rows: Floats, names: tuple[str, ...], name: str, what: str) -> Floats:
    if name not in names:
        raise InputError(f'The bench has no {what} "{name}". There are: {", ".join(names)}.')
    return rows[:, names.index(name)]


def simulate(setup: Setup, *, compiled: bool | None = None) -> Run:
    """Run a setup.

    Parameters
    ----------
    setup : Setup
        All that the run depends on.
    compiled : bool, optional
        True: by Numba (some 10 s to compile, once; then 20 ms an hour); False: plain Python, which gives the
        same numbers in a second or two an hour; None: compiled if Numba is there and either has compiled
        before or the run is long enough to pay for it.

    Raises
    ------
    InputError
        A part of the setup does not make sense, or Numba is asked for and missing.
    OutOfRange
        The plant left the range of the refrigerant's tables, or a second would take work without end.
    """
    _check(setup)
    if compiled is None:
        long_run = setup.duration_s > PAYS_S
        compiled = _has_numba() and (long_run or is_ready())
    machine = Machine(setup, compiled=compiled)
    if setup.start == "running":
        calm = replace(setup.controls, thermostat=0.0, dead=1.0, sensor_stuck=0.0)
        machine.run(int(setup.settle_s), (), controls=calm, weather=_held(setup.weather))
        machine.ready()
    return machine.run(int(setup.duration_s), setup.acts)


class Machine:
    """A plant and board that keep their state from one `run` to the next."""

    def __init__(self, setup: Setup, *, compiled: bool) -> None:
        self.setup = setup
        self.compiled = compiled
        self.state = np.array(initial(setup))
        self.board = np.array(board_layout.fresh())
        self.table = table(setup.plant.refrigerant)

    def ready(self) -> None:
        """After the run before time 0: integrals to 0, the coil as the setup says, the board fresh."""
        y = self.state
        y[layout.E_COMP :] = 0.0
        y[layout.WATER] = y[layout.PAN] = 0.0
        y[layout.FROST] = self.setup.frost_kg
        y[layout.THICK] = self.setup.frost_kg / (self.setup.frost_density * self.setup.plant.area_m2)
        y[layout.T_HOUSE] = y[layout.T_MASS] = self.setup.house_c
        running = self.board
        self.board = np.array(board_layout.fresh())
        for name in ("mode", "comp", "fan", "blower", "call"):
            at = board_layout.BOARD_NAMES.index(name)
            self.board[at] = running[at]
        self.board[board_layout.D_RUN] = 1e6
        self.board[board_layout.D_CLOCK] = self.setup.clock_s
        self.board[board_layout.D_SINCE] = self.setup.clock_s
        if y[layout.T_SENSOR] <= self.setup.controls.closes_c:
            self.board[board_layout.D_CONTACT] = self.board[board_layout.D_SENSED] = 1.0

    def run(
        self,
        seconds: int,
        acts: tuple[Act, ...],
        *,
        controls: Controls | None = None,
        weather: Weather | None = None,
    ) -> Run:
        """Run on for a number of seconds."""
        setup = self.setup
        sky = weather or setup.weather
        out_y = np.full((seconds + 1, layout.N_STATES), np.nan)
        out_a = np.empty((seconds + 1, layout.N_DERIVED))
        out_d = np.empty((seconds + 1, board_layout.N_BOARD))
        log = np.empty((LOG_LINES, 4))
        kind: Any = np.array if self.compiled else list
        p = parameters.pack(setup.plant)
        b = settings.pack(controls or setup.controls)
        u = np.zeros(layout.N_INPUTS)
        y, d, u, p, tab, b, air, humid = (
            kind(values.tolist())
            for values in (self.state, self.board, u, p, self.table, b, sky.temps_c, sky.humidity_ratios)
        )
        room = tuple(kind([0.0] * layout.N_STATES) for _ in range(10))
        run = compile_kernel(integrate.run) if self.compiled else integrate.run
        try:
            used, steps = run(
                y, d, u, p, tab, b, air, humid, float(sky.step_s), _acts(acts), seconds,
                out_y, out_a, out_d, log, room,
            )  # fmt: skip
        except (ValueError, OverflowError, ZeroDivisionError) as err:
            # Plain Python stops where compiled code would go on with infinity.
            raise OutOfRange(_left(setup, int(np.isfinite(out_y[:, 0]).sum()), y, self.table)) from err
        if used < 0 and steps < 0:
            raise OutOfRange(_stuck(setup, -used, -steps, y, self.table))
        if used < 0:
            raise OutOfRange(_left(setup, -used, y, self.table))
        if used > LOG_LINES:
            raise OutOfRange(
                f"The board switched more than {LOG_LINES} times. A sensor's temperatures, or a switch's "
                "pressures, lie too close together."
            )
        self.state, self.board = np.array(y), np.array(d)
        names = (board_layout.BOARD_NAMES, tuple(row[0] for row in layout.INPUTS))
        return Run(
            setup=setup,
            times_s=np.arange(seconds + 1.0),
            states=out_y,
            deriveds=out_a,
            boards=out_d,
            events=tuple(
                Event(time_s=line[0], name=names[int(line[1])][int(line[2])], value=line[3])
                for line in log[:used].tolist()
            ),
            steps=steps,
        )


def initial(setup: Setup) -> list[float]:
    """State of a plant that has long been at rest: refrigerant at the outdoor air's pressure."""
    y = [0.0] * layout.N_STATES
    air = float(setup.weather.temps_c[0])
    plant = setup.plant
    parts: Mapping[int, float] = {layout.M_OUT: 0.42, layout.M_IND: 0.34, layout.M_ACC: 0.24}
    for at, part in parts.items():
        y[at] = part * plant.charge_kg
    for at in (layout.T_OUT, layout.T_IND, layout.T_ACC, layout.T_COIL, layout.T_WALL):
        y[at] = air
    y[layout.T_SHELL] = air + 5.0
    for at in (layout.T_DISCHARGE, layout.T_VAPOR, layout.T_LIQUID, layout.T_SUCTION, layout.T_SENSOR):
        y[at] = air
    y[layout.T_CLAMP] = y[layout.T_BULB_OUT] = air
    for at in (layout.T_PLATE, layout.T_BULB_IND, layout.T_HOUSE, layout.T_MASS, layout.T_SUPPLY):
        y[at] = setup.house_c
    if plant.valve_stuck >= 0.0:
        y[layout.VALVE] = plant.valve_stuck
    return y


def _has_numba() -> bool:
    from importlib.util import find_spec

    return find_spec("numba") is not None


def _held(weather: Weather) -> Weather:
    return Weather(temps_c=weather.temps_c[:1], humidity_ratios=weather.humidity_ratios[:1])


def _acts(acts: tuple[Act, ...]) -> Floats:
    rows = []
    for act in sorted(acts, key=lambda one: one.time_s):
        if act.act == "note":
            continue
        if act.act == "set":
            if act.name in PARAMETERS:
                rows.append((act.time_s, 1.0, float(PARAMETERS.index(act.name)), act.value))
            elif act.name in CONTROLS:
                rows.append((act.time_s, 2.0, float(CONTROLS.index(act.name)), act.value))
            else:
                raise InputError(f'"set" names "{act.name}", which is no field of Plant or Controls.')
        elif act.act in _HANDS:
            name, value = _HANDS[act.act]
            rows.append((act.time_s, 0.0, float(board_layout.BOARD_NAMES.index(name)), value))
        else:
            raise InputError(f'Act "{act.act}" is not known. Known are {", ".join(_HANDS)}, note and set.')
    return np.array(rows, dtype=np.float64).reshape(-1, 4)


def _check(setup: Setup) -> None:
    if setup.duration_s < 1 or setup.duration_s != int(setup.duration_s):
        raise InputError(f"A run lasts a whole number of seconds, at least 1; got {setup.duration_s!r}.")
    if setup.start not in ("running", "rest"):
        raise InputError(f'A run starts "running" or at "rest"; got "{setup.start}".')
    if not 5.0 <= setup.house_c <= 35.0:
        raise InputError(f"The house is at {setup.house_c:g} degC; the bench is made for 5 to 35 degC.")
    if any(not math.isfinite(act.time_s) or act.time_s < 0 for act in setup.acts):
        raise InputError("An act has a time that is below 0 or not a number.")


def _left(setup: Setup, second: int, y: Sequence[float], tab: Floats) -> str:
    return (
        f"The plant left the range that the tables of {setup.plant.refrigerant} cover at {second} s: "
        "a vessel ran empty, or so cold or hot that no unit would live. "
        f"{_where(y, tab)} Take a milder fault, or less extreme weather."
    )


def _stuck(setup: Setup, second: int, tries: int, y: Sequence[float], tab: Floats) -> str:
    return (
        f"The bench could not go on with {setup.plant.refrigerant} at {second} s: {tries} steps were tried "
        "within that second, where 40 are usual. A vessel is at the edge of what the bench covers, or a "
        f"sensor's temperatures, or a switch's pressures, lie too close together. {_where(y, tab)} "
        "Take a milder fault, less extreme weather, or switches further apart."
    )


def _where(y: Sequence[float], tab: Floats) -> str:
    """Where the vessels were, and where they should be."""
    vessels = (
        ("outdoor coil", layout.M_OUT, layout.T_OUT),
        ("indoor coil", layout.M_IND, layout.T_IND),
        ("accumulator", layout.M_ACC, layout.T_ACC),
    )
    were = ", ".join(f"{name} {y[m]:.3g} kg at {y[t]:.1f} degC" for name, m, t in vessels)
    return f"Before: {were}; expected: some in each, at {tab[0]:.0f} to {tab[0] + tab[1]:.0f} degC (dew)."

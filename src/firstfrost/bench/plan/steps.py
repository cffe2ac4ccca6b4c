"""The steps of each method: what to do, its caution, the marks to note, and what to expect.

What a board, a bridge or a sensor needs differs by maker: all of this is common practice, no source, and the
maker's instructions go first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from firstfrost.bench.plan.runs import LONGEST_INTERVAL_S, Way
from firstfrost.equipment.unit import Unit

HEAT_FIRST_S: Final = 600.0
HEAT_AFTER_S: Final = 900.0


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step.

    `marks`: acts to note with their time (`trace.marks.ACTS`). `at`: the number (`words.NUMBERS`) that says
    when it comes, in time after the call for heat of the test itself; "" before that call, "call" at it.
    `expect`: the numbers to look for. `stop`: the stop limit belongs here.
    """

    text: str
    caution: str = ""
    marks: tuple[str, ...] = ()
    at: str = ""
    expect: tuple[str, ...] = ()
    stop: bool = False


_DEAD: Final = "Off, locked out and tested dead first: line voltage, and capacitors that hold it."
_BLADE: Final = "Keep clear of the blade: the outdoor fan starts by itself."
_FIRST: Final = (
    Step(
        text="Read the maker's defrost test for this unit. Where it differs from these steps, it goes first.",
        caution="Local codes and licensed practice come first as well.",
    ),
    Step(
        text=(
            "Switch off at the disconnect, lock out, test that it is dead. Put a probe on the outdoor coil "
            "beside its sensor and leads across the sensor for its volts. Put gauges or probes on suction "
            "and high side. Start the recorder."
        ),
        caution=f"{_DEAD} Eyes and hands covered at the gauge ports.",
    ),
)
_LIVE: Final = (
    "Live board: only qualified people, with protection and an insulated bridge for low voltage only."
)
_STOP: Final = (
    "Switch the call for heat off before the stop limit. Never bridge or hold in a pressure switch or relief."
)
_WATER: Final = "Hot discharge line; steam, ice and water come off the coil."


def _heat(text: str) -> Step:
    return Step(text=text, caution=_BLADE, marks=("call-on",), expect=("base_suction_pa", "base_high_pa"))


def _close(minutes: int) -> Step:
    return Step(
        text=(
            "Wait for the volts across the coil sensor to fall to 0: it has closed. If that has not come "
            f"after {minutes} min, switch the call off; the sensor's seat and rating are what to look at."
        ),
        caution=f"{_STOP} Off as well if the suction gauge nears 0 or anything sounds wrong.",
        at="closes_s",
        expect=("closes_s", "closing_suction_pa", "closing_high_pa"),
        stop=True,
    )


def _pins(unit: Unit) -> Step:
    return Step(
        text=(
            "Bridge the board's test pins the way the maker says, and take the bridge off as soon as the "
            f"valve shifts. No shift within {unit.board.pins_s:g} s: take it off, and switch the call off."
        ),
        caution=_LIVE,
        marks=("pins-bridged", "pins-released"),
        at="closes_s",
        expect=("lowest_suction_pa",),
    )


def _defrost(more: str) -> Step:
    return Step(
        text=f"Defrost. Watch the high side until the sensor's volts come back and the valve returns. {more}",
        caution=f"{_STOP} {_WATER}",
        at="starts_s",
        expect=("lasts_s", "peak_pa"),
        stop=True,
    )


_NATURAL_SEEN: Final = "See that valve, outdoor fan and backup heat do their part, untouched."
_FORCED_SEEN: Final = "See that valve and backup heat do their part."


def _after(text: str) -> Step:
    return Step(text=f"{text} Let it heat 15 min on the recorder.", caution=_BLADE, marks=("call-on",))


def _natural(unit: Unit) -> tuple[Step, ...]:
    minutes = unit.board.interval_s / 60
    if unit.board.kind == "demand":
        wait = (
            "Leave it running, untouched, until it starts a defrost by itself; demand control chooses when. "
            f"The plan takes {min(unit.board.interval_s, LONGEST_INTERVAL_S) / 60:.0f} min."
        )
    else:
        wait = (
            f"Leave it running, untouched, for the {minutes:.0f} min of run time that the board is set to, "
            "counted with the sensor closed."
        )
    if unit.board.interval_s > LONGEST_INTERVAL_S:
        wait += " After 2 h bridge the test pins; the start is then prompted."
    else:
        wait += " Short of time: bridge the test pins with frost on the coil; the start is then prompted."
    return (
        *_FIRST,
        Step(
            text="Tools out, covers on as the maker asks. Switch on and call for heat: time 0.",
            caution=_BLADE,
            marks=("call-on",),
            at="call",
            expect=("base_suction_pa", "base_high_pa"),
        ),
        _close(30),
        Step(
            text=wait,
            caution=f"{_BLADE} Note pins-bridged and pins-released if you do.",
            expect=("starts_s", "frost_kg"),
        ),
        _defrost(_NATURAL_SEEN),
        Step(
            text=(
                "Let it heat 15 min more on the recorder. A second defrost in the record shows the board's "
                "count."
            ),
            caution=_BLADE,
            at="ends_s",
        ),
    )


def _forced(unit: Unit, *, off: str, on: str, act: str, undo: str, care: str) -> tuple[Step, ...]:
    return (
        *_FIRST,
        _heat("Switch on, call for heat, and let it heat 10 min with its fan: what it must come back to."),
        Step(
            text=f"Switch the call off, then off at the disconnect, lock out, test dead. {off}",
            caution=f"{_DEAD} {care}",
            marks=("call-off", act),
        ),
        Step(
            text="Hands clear. After a rest of 5 min switch on and call for heat: time 0 of the test.",
            caution="Do not leave the unit alone in this state. Switch off if in doubt.",
            marks=("call-on",),
            at="call",
        ),
        _close(10),
        _pins(unit),
        _defrost(_FORCED_SEEN),
        Step(
            text=f"At once: switch the call off, off at the disconnect, lock out, test dead. {on}",
            caution=f"{_DEAD} It heats without its air until you do.",
            marks=("call-off", undo),
            at="ends_s",
        ),
        _after("Switch on and call for heat after its rest: the fan must run, and heating come back."),
    )


def steps(way: Way, unit: Unit) -> tuple[Step, ...]:
    """The steps of a method for a unit."""
    if way == "natural":
        return _natural(unit)
    if way == "fan-stopped":
        return _forced(
            unit,
            off="Take the outdoor fan's lead off the board and cap its end.",
            on="Put the fan's lead back.",
            act="fan-lead-off",
            undo="fan-lead-on",
            care="The capped end may be live once power is back.",
        )
    return _forced(
        unit,
        off="Cover the coil with stiff sheet that the fan cannot draw in; leave the fan's outlet open.",
        on="Take the cover off.",
        act="coil-covered",
        undo="coil-uncovered",
        care="Nothing loose near the blade, which runs under the cover.",
    )


_ALWAYS: Final = (
    "sensor_opens", "valve_shifts", "backup_runs", "ends_by_sensor", "ends_safely", "valve_returns",
    "heating_resumes",
)  # fmt: skip


def shows(way: Way, unit: Unit, *, frosted: bool, closed_at_rest: bool) -> dict[str, str]:
    """The best standing of each function after a sound visit by this method.

    frosted : frost enough to be seen to clear; closed_at_rest : the sensor is closed before anything runs
    """
    natural = way == "natural"
    prompted = not natural or unit.board.interval_s > LONGEST_INTERVAL_S
    best = dict.fromkeys(_ALWAYS, "shown")
    best["sensor_closes"] = "unseen" if closed_at_rest else "shown"
    best["coil_clears"] = "shown" if frosted else "unseen"
    best["defrost_starts"] = best["timer_counts"] = "prompted" if prompted else "shown"
    best["fan_stops"] = best["fan_returns"] = "bypassed" if way == "fan-stopped" else "shown"
    return best

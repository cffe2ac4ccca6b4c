"""What a season says, in sentences: shared by terminal, page and paper, and by a householder's page."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

import numpy as np

from firstfrost.quantities.show import System, show
from firstfrost.season.faults import FaultCost
from firstfrost.season.money import KWH_J
from firstfrost.season.season import Season

MONTHS: Final = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MONTH_NAMES: Final = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip


def kwh(energy_j: float, *, signed: bool = False) -> str:
    """Energy to two figures, or three from a thousand up: `1,240 kWh`; a model deserves no more."""
    value = energy_j / KWH_J
    size = abs(value)
    if size >= 1000.0:
        value = round(value, -1)
    elif size >= 100.0:
        value = float(f"{value:.2g}")
    else:
        value = round(value)
    text = f"{value:+,.0f}" if signed else f"{value:,.0f}"
    return f"{text.replace('-0', '0') if value == 0 else text} kWh"


def money(value: float, currency: str) -> str:
    """An amount to two figures, or to tens from a hundred up: `USD 120`."""
    size = abs(value)
    rounded = round(value, -1) if size >= 100.0 else float(f"{value:.2g}")
    return f"{currency} {rounded:,.0f}"


def at_visit(made: Season, system: System) -> tuple[str, ...]:
    """What a visit, or a person, measured and the winter takes, and what was left out and why."""
    seen = made.visit
    if seen is None:
        return ()
    day = f" on {seen.when}" if seen.when else ""
    lines = []
    for verb, one in (("closes", seen.closes), ("opens", seen.opens)):
        if one is not None:
            band = show(one.expanded, "temperature_difference", system, symbols=True)
            told = (
                f"The coil sensor {verb} at {show(one.value, 'temperature', system, symbols=True)} ± {band}"
            )
            then = "; costed as a fault, and the rating taken otherwise" if one.failed else ""
            lines.append(f"{told}, as measured{day}{then}.")
    for what, one in (("heat", seen.capacity), ("power", seen.power)):
        if one is not None:
            lines.append(
                f"The unit's {what} is {100.0 * one.value:.0f} ± {100.0 * one.expanded:.0f} % of what its "
                f"ratings say, as measured{day}; the same part is taken in the cold."
            )
    return (*lines, *seen.left_out)


def degrees(temp_c: float, system: System) -> str:
    """A temperature in whole degrees."""
    return show(temp_c, "temperature", system, decimals=0, symbols=True)


def extra(made: Season, cost: FaultCost) -> str:
    """What a fault costs, as a range in words: energy, and money where there are prices."""
    low, high = cost.extra_j
    said = _range(low, high, made.sound_j)
    if made.prices is None:
        return said
    sound = float(made.prices.cost(made.sound_slots_j))
    low, high = sorted(float(made.prices.cost(slots)) - sound for slots in cost.slots_j)
    return (
        f"{said}, or {_span(money(max(low, 0.0), made.prices.currency), money(high, made.prices.currency))}"
    )


def _range(low_j: float, high_j: float, sound_j: float) -> str:
    if high_j <= 0.02 * sound_j:
        return "little or nothing"
    return f"{_span(kwh(max(low_j, 0.0)), kwh(high_j))} more"


def _span(low: str, high: str) -> str:
    """`200 to 1,100 kWh`, `USD 20 to 150`."""
    if low == high:
        return high
    a, b = low.split(" "), high.split(" ")
    if a[0] == b[0]:
        return f"{low} to {b[1]}"
    return f"{a[0]} to {high}" if a[1] == b[1] else f"{low} to {high}"


def fault_lines(made: Season, failed: Iterable[str]) -> tuple[str, ...]:
    """A sentence on each fault with one of the failed functions in it, for a householder."""
    names = set(failed)
    lines = []
    for cost in made.fault_costs:
        if names & set(cost.fault.functions):
            if cost.fault.measured:
                names -= set(cost.fault.functions)
            text = (
                f"Left as it is, a winter like this takes {extra(made, cost)}: {cost.fault.what}. This is an "
                "estimate with wide bounds."
            )
            lines.append(text)
            if cost.fault.besides:
                lines.append(f"Besides, {cost.fault.besides}.")
    return tuple(lines)


def advice(made: Season) -> str:
    """How to set the board, with the reason."""
    rows, both = made.comparison.settings, made.comparison
    best, now = both.best, made.current
    if not made.frosts:
        return (
            "No hour of this weather frosts the coil: the setting hardly matters. Leave the longest interval."
        )
    if made.prepared.case.demand:
        timed = min(range(len(rows) - 1), key=lambda n: float(both.energy_j[n]))
        gain = float(both.energy_j[timed] - both.energy_j[best])
        other = rows[timed].name
        if gain > 0.0:
            return f"Demand control takes about {kwh(gain)} less than the best fixed interval, {other}."
        return f"A fixed interval of {other} would take about {kwh(-gain)} less than demand control."
    lead, u = float(both.lead_j[now]), float(both.lead_u_j[now])
    name, set_to = rows[best].name, rows[now].name
    if now == best:
        others = [n for n in range(len(rows)) if n != best and rows[n].offered]
        second = min(others, key=lambda n: float(both.lead_j[n]))
        near, band = kwh(float(both.lead_j[second])), kwh(float(both.lead_u_j[second]))
        head = f"Leave the board at {name}: it takes the least here. The next best, {rows[second].name},"
        if not both.turns:
            return f"{head} takes about {near} more."
        than = "more" if both.sure[second] else "less"
        return f"{head} takes about {near} more, which is {than} than its uncertainty ({band})."
    if both.turns and lead > u:
        return (
            f"Set the board to {name}: it takes about {kwh(lead)} a winter less than {set_to}, which is more "
            f"than the uncertainty ({kwh(u)})."
        )
    unsure = f", less than its uncertainty ({kwh(u)}): either will do" if both.turns else ""
    return (
        f"{name} comes out best, but takes only about {kwh(lead)} less than the {set_to} that is set{unsure}."
    )


def turning(made: Season) -> str:
    """What changes the answer."""
    both = made.comparison
    best = both.settings[both.best].name
    turns = [t for t in both.turns if best not in (t.best_low, t.best_high) or t.best_low != t.best_high]
    if not both.turns:
        return "What the order of the settings hangs on was not asked (--quick)."
    if not turns:
        return f"{best} stays best at the bounds of everything that was varied, one at a time."
    parts = []
    for turn in turns:
        names = sorted({turn.best_low, turn.best_high} - {best})
        parts.append(f"{turn.factor.name} (then {' or '.join(names)})")
    return f"What would change the answer: {'; '.join(parts)}."


def risk(made: Season) -> str:
    """Hours at risk, and when."""
    found = made.risk
    share = found.hours / max(float(found.possible.sum()), 1.0)
    if not made.frosts:
        return "In no hour is the coil below freezing and below the air's frost point at once: no frost here."
    worst_month = int(np.argmax(found.calendar.sum(axis=1)))
    by_hour = found.calendar.sum(axis=0)
    worst_hour = int(np.argmax(by_hour))
    return (
        f"Heating would frost the coil in {found.hours:,.0f} hours of the {found.possible.sum():,.0f} "
        f"({share:.0%}), most in {MONTH_NAMES[worst_month]} and about {worst_hour:02d}:00."
    )


def carrying(made: Season, system: System) -> str:
    """Balance point and the coldest day."""
    meets, day = made.balance, made.design
    if meets.temp_c is None:
        said = meets.says[0].upper() + meets.says[1:]
    else:
        band = ""
        if meets.low_c is not None and meets.high_c is not None:
            band = f" ({degrees(meets.low_c, system)} to {degrees(meets.high_c, system)})"
        said = f"Down to {degrees(meets.temp_c, system)}{band} the unit carries the house by itself"
    part = 100.0 * day.part.value
    need = day.backup_needed_w
    backup = (
        f"backup heat must give {need.value / 1000.0:.1f} ± {need.expanded / 1000.0:.1f} kW"
        if need.value > 0.0
        else "backup heat is not needed"
    )
    enough = made.prepared.case.backup_w
    lacks = ""
    if need.value > enough:
        lacks = f" There are {enough / 1000.0:.1f} kW: on such a day the house would get cold."
    return (
        f"{said}. At {degrees(day.outdoor_c, system)} it gives {min(part, 999.0):.0f} ± "
        f"{min(100.0 * day.part.expanded, 999.0):.0f} % of the heat, and {backup}.{lacks}"
    )


def comfort(made: Season, system: System) -> str:
    """The coldest supply air at the present setting."""
    found, now = made.comparison.found, made.current
    coldest, cold = float(found.total("coldest")[now]), float(found.total("cold")[now])
    if not math.isfinite(coldest) or coldest > 90.0:
        return "The unit does not run in these hours."
    backup = made.prepared.case.backup_defrost_w
    low = degrees(coldest, system)
    text = f"In defrosts the supply air falls to about {low} with {backup / 1000.0:.1f} kW of backup heat"
    if cold > 60.0:
        return f"{text}; it is below {degrees(15.6, system)} for {cold / 3600.0:,.0f} h over the winter."
    return f"{text}, and stays above {degrees(15.6, system)}."


def lockout(made: Season, system: System) -> str:
    """What a compressor lockout costs, and where a fuel would be cheaper."""
    none, *rows = made.lockouts
    worst = [row for row in rows if row.energy_j > none.energy_j * 1.01]
    text = (
        "A compressor lockout saves nothing here: in the cold the unit still gives more heat than it draws."
    )
    if worst:
        row = worst[0]
        text += (
            f" Locked out below {degrees(row.value, system)} it would take "
            f"{kwh(row.energy_j - none.energy_j)} more with electric backup heat."
        )
    better = [row for row in rows if row.energy_j < none.energy_j * 0.999]
    if better:
        row = min(better, key=lambda one: one.energy_j)
        text = (
            f"Locking the compressor out below {degrees(row.value, system)} would save "
            f"{kwh(none.energy_j - row.energy_j)}: in that cold it gives no more heat than it draws."
        )
    return text


def droop(made: Season, system: System) -> str:
    """What an early second stage costs."""
    early, late = made.droops[0], made.droops[-1]
    a, b = (show(row.value, "temperature_difference", system, symbols=True) for row in (early, late))
    saved = kwh(max(early.energy_j - late.energy_j, 0.0))
    return (
        f"Backup heat that comes on {a} below the setting takes {saved} more a winter than one that waits "
        f"for {b}; the later it comes, the cooler the house gets in the cold."
    )

"""What a season's report says, as fields; terminal, page and paper only lay it out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from firstfrost import __version__
from firstfrost.heating.load import LoadFit, LoadLine
from firstfrost.quantities.show import System
from firstfrost.report.numbers import Numbers
from firstfrost.report.text import clean, unit_name
from firstfrost.report.words import TITLES
from firstfrost.season import words
from firstfrost.season.alternatives import Alternative, alternatives
from firstfrost.season.season import Season
from firstfrost.visit.cautions import cautions

TITLE: Final = "Season report"
MODEL: Final = (
    "The energies come from a model of a generic single-speed unit, fitted to this program's own simulator "
    "and "
    "scaled to this unit's ratings; the weather is the file's. Real winters, houses and coils differ: the "
    "ranges "
    "say by how much, as far as they are known."
)


@dataclass(frozen=True, kw_only=True)
class Row:
    """One setting of the board."""

    name: str
    now: bool
    best: bool
    offered: bool
    energy: str
    lead: str
    """Above the best, with its uncertainty; empty for the best."""
    defrosts: str
    needless: str
    lost: str
    """To frost and defrosts, above a unit that does not frost."""
    backup: str
    left: str
    """Most frost left after a defrost."""
    coldest: str


@dataclass(frozen=True, kw_only=True)
class FaultRow:
    """What a fault costs over the winter."""

    titles: tuple[str, ...]
    what: str
    cost: str
    besides: str
    failed: bool


@dataclass(frozen=True, kw_only=True)
class SeasonFields:
    """All texts of a season's report."""

    title: str
    unit_name: str
    about: str
    where: str
    advice: str
    turning: str
    risk: str
    carrying: str
    comfort: str
    lockout: str
    droop: str
    rows: tuple[Row, ...]
    lost: tuple[tuple[str, str], ...]
    """Where the energy goes at the present setting."""
    ratings: tuple[tuple[str, str], ...]
    money: tuple[tuple[str, str], ...]
    faults: tuple[FaultRow, ...]
    house_lines: tuple[str, ...]
    """For the householder: of the functions that failed at a visit."""
    changes: tuple[tuple[str, str, str, str], ...]
    """Factor, its bounds, best setting at the low and at the high bound."""
    assumptions: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    model: str
    cautions: tuple[str, ...]
    made_by: str


def season_fields(made: Season, system: System = "us", failed: tuple[str, ...] = ()) -> SeasonFields:
    """The fields of a season's report.

    Parameters
    ----------
    made : Season
        Of `season.season`.
    system : {"us", "si"}
        Units of the numbers.
    failed : tuple of str
        Functions that failed at a visit: what they cost is told to the householder.
    """
    unit, air, case = made.unit, made.air, made.prepared.case
    numbers = Numbers(system, unit.site.atmosphere_pa)
    about = [unit.refrigerant]
    if unit.nominal_capacity_w is not None:
        about.append(numbers.capacity(unit.nominal_capacity_w))
    about.append("demand control" if case.demand else f"board at {case.interval_s / 60.0:g} min")
    load = made.house.load.line if isinstance(made.house.load, LoadFit) else made.house.load
    where = (
        f"{clean(air.place or air.source)}, {air.days:.0f} days, "
        f"{words.degrees(float(air.temps_c.min()), system)} to "
        f"{words.degrees(float(air.temps_c.max()), system)}. "
        f"House: {_load(load, made.house.design_temp_c, system)}. Heat needed: {words.kwh(made.heat_j)}."
    )
    return SeasonFields(
        title=TITLE,
        unit_name=unit_name(unit.name),
        about=" · ".join(about),
        where=where,
        advice=words.advice(made),
        turning=words.turning(made),
        risk=words.risk(made),
        carrying=words.carrying(made, system),
        comfort=words.comfort(made, system),
        lockout=words.lockout(made, system),
        droop=words.droop(made, system),
        rows=_rows(made, system),
        lost=_lost(made),
        ratings=_ratings(made),
        money=_money(made, system),
        faults=tuple(
            FaultRow(
                titles=tuple(TITLES[name] for name in cost.fault.functions),
                what=cost.fault.what,
                cost=words.extra(made, cost),
                besides=cost.fault.besides,
                failed=bool(set(failed) & set(cost.fault.functions)),
            )
            for cost in made.fault_costs
        ),
        house_lines=words.fault_lines(made, failed),
        changes=tuple(
            (turn.factor.name, turn.factor.bounds, turn.best_low, turn.best_high)
            for turn in made.comparison.turns
        ),
        assumptions=tuple((one.what, one.better) for one in made.assumptions),
        notes=(*words.at_visit(made, system), *(clean(note) for note in air.notes)),
        model=MODEL,
        cautions=tuple(one.text for one in cautions(unit.refrigerant)),
        made_by=f"Firstfrost {__version__}",
    )


def _load(line: LoadLine, cold_c: float, system: System) -> str:
    """The load at the coldest design hour, and where it ends."""
    value = line.load_w(cold_c)
    heat = f"{value / 293.07107:.0f} kBtu/h" if system == "us" else f"{value / 1000.0:.1f} kW"
    return f"{heat} at {words.degrees(cold_c, system)}, none at {words.degrees(line.zero_load_c, system)}"


def _mass(value_kg: float, system: System) -> str:
    return f"{value_kg / 0.45359237:.1f} lb" if system == "us" else f"{value_kg:.2f} kg"


def _rows(made: Season, system: System) -> tuple[Row, ...]:
    both = made.comparison
    found = both.found
    rows = []
    for n, setting in enumerate(both.settings):
        lead, u = float(both.lead_j[n]), float(both.lead_u_j[n])
        said = ""
        if n != both.best:
            said = words.kwh(lead, signed=True)
            if u > 0.0:
                said += f" ± {words.kwh(u)}".replace(" kWh", "")
        backup = found.total("backup")[n] + found.total("backup_defrost")[n] + found.total("short")[n]
        coldest = float(found.total("coldest")[n])
        rows.append(
            Row(
                name=setting.name,
                now=n == made.current,
                best=n == both.best,
                offered=setting.offered,
                energy=words.kwh(float(both.energy_j[n])),
                lead=said,
                defrosts=f"{found.total('defrosts')[n]:,.0f}",
                needless=f"{found.total('needless')[n]:,.0f}",
                lost=words.kwh(max(float(both.energy_j[n]) - both.frost_free_j, 0.0)),
                backup=words.kwh(float(backup)),
                left=_mass(float(found.total("left_frost")[n]), system),
                coldest=words.degrees(coldest, system) if coldest < 90.0 else "none",
            )
        )
    return tuple(rows)


def _lost(made: Season) -> tuple[tuple[str, str], ...]:
    both, now = made.comparison, made.current
    parts = both.lost_j()
    return (
        ("a unit that does not frost", words.kwh(both.frost_free_j)),
        ("lost to frost on the coil", words.kwh(max(float(parts["frosting"][now]), 0.0))),
        ("lost to defrosts", words.kwh(float(parts["defrosts"][now]))),
        ("backup heat in defrosts, above the unit's own", words.kwh(float(parts["backup in defrosts"][now]))),
        ("in all", words.kwh(float(both.energy_j[now]))),
    )


def _ratings(made: Season) -> tuple[tuple[str, str], ...]:
    if not made.ratings:
        return ()
    rows = [(f"HSPF2, region {one.region.name}", f"{one.value:.2f}") for one in made.ratings]
    credit = made.ratings[0].credit
    return (*rows, ("credit for demand defrost", f"{credit:.3f}" if credit > 1.0 else "none"))


def _cheaper_below(one: Alternative, system: System) -> str:
    """The outdoor temperature below which the unit's COP, frost counted, is less."""
    if one.below_c is None:
        return "nowhere"
    return "everywhere" if one.everywhere else f"below {words.degrees(one.below_c, system)}"


def _money(made: Season, system: System) -> tuple[tuple[str, str], ...]:
    prices = made.prices
    if prices is None:
        return ()
    both = made.comparison
    slots = both.found.electricity_slots
    rows = []
    for n, setting in enumerate(both.settings):
        cost = float(prices.cost(slots[n]))
        carbon = prices.carbon(slots[n])
        said = words.money(cost, prices.currency)
        if carbon is not None:
            said += f", {float(carbon):,.0f} kg CO2"
        rows.append((f"heating with the board at {setting.name}", said))
    for one in alternatives(made):
        said = words.money(one.cost, prices.currency)
        if one.name and one.carbon_kg is not None:
            said += f", {one.carbon_kg:,.0f} kg CO2"
        rows.append((f"the same heat from {one.name or 'resistance alone'}", said))
        if one.name:
            where = _cheaper_below(one, system)
            rows.append((f"{one.name} is cheaper below a COP of {one.equal_cop:.2f}:", where))
    return tuple(rows)

"""What the unit should deliver and draw under the conditions of this visit, each with its uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from firstfrost.equipment.unit import Unit
from firstfrost.errors import InputError, OutOfRange
from firstfrost.heating.maker_table import MakerTable
from firstfrost.heating.rating_points import (
    RatingLines,
    indoor_correction,
    rating_lines,
    single_speed_curve,
)
from firstfrost.instruments.budget import Value, combine
from firstfrost.quantities.show import show

RATING_LIMIT: Final = 0.05
"""Half-width of what a sound unit may differ from its rating, as a part (AHRI 210/240, from memory: a test
must come within 5 %)."""
TABLE_LIMIT: Final = 0.06
"""The same for a maker's table: common practice, no source. Units vary by the rating's 5 %, and rows are
rounded and worked out rather than measured."""
LINE_LIMIT: Final = 0.01
"""Least standard uncertainty, as a part, of a straight line between rating points; see `_off_the_line`."""
FROST_LIMIT: Final = 0.05
"""Half-width, as a part, that the humidity of the day adds where frost is counted: common practice, no
source."""


@dataclass(frozen=True, kw_only=True)
class Expected:
    """Expected capacity and power, and what they rest on."""

    capacity_w: Value
    power_w: Value | None
    source: str
    """The table's file, or the rating points."""
    estimate: bool
    """True from rating points: no maker has printed these figures."""
    frost: Literal["left out", "counted", "not told"]
    """Whether frost and defrost are in them."""
    corrected: tuple[str, ...] = ()
    """Corrections made, in words with their source."""
    left_out: tuple[str, ...] = ()
    """Corrections that were not made, in words."""

    @property
    def cop(self) -> Value | None:
        """Expected COP; None without a power."""
        return None if self.power_w is None else self.capacity_w / self.power_w


def expected(
    unit: Unit,
    *,
    outdoor_c: Value,
    indoor_c: Value | None = None,
    airflow_m3_s: Value | None = None,
    table: MakerTable | None = None,
    frost: bool = False,
) -> Expected:
    """What is expected of the unit today: by the maker's table where it covers the day, else by its ratings.

    Parameters
    ----------
    unit : Unit
        With its ratings.
    outdoor_c, indoor_c : Value
        Air into the outdoor coil, and into the indoor coil. [degC]
    airflow_m3_s : Value, optional
        Over the indoor coil, where the table goes over it. [m3/s]
    table : MakerTable, optional
        As `maker_table.read_performance` reads it.
    frost : bool
        Whether a whole frost and defrost cycle is meant, rather than the steady state after a defrost.

    Raises
    ------
    OutOfRange
        If the day lies outside the table and there are no ratings, or outside both.
    InputError
        If neither a table nor the ratings at 47 and 17 degF are there: what to look up.
    """
    why = ""
    if table is not None:
        try:
            return _by_table(table, unit.maker.performance_is, outdoor_c, indoor_c, airflow_m3_s)
        except (OutOfRange, InputError) as err:
            if rating_lines(unit.ratings) is None:
                raise
            why = str(err)
    lines = rating_lines(unit.ratings)
    if lines is None:
        have = ", ".join(f"{temp_f} degF" for temp_f in unit.ratings.points) or "none"
        raise InputError(
            f"What the unit should deliver is not known: of its rating points there are {have}. Expected the "
            "heating capacities at 47 and 17 degF. Look them up by the model number and write them under "
            "[ratings], "
            "or type in the maker's table under [maker]."
        )
    return by_ratings(lines, outdoor_c=outdoor_c, indoor_c=indoor_c, frost=frost, why_not_table=why)


def _by_table(
    table: MakerTable,
    kind: Literal["steady", "integrated"] | None,
    outdoor_c: Value,
    indoor_c: Value | None,
    airflow_m3_s: Value | None,
) -> Expected:
    at = {"outdoor_air_temp": outdoor_c, "return_air_temp": indoor_c, "airflow": airflow_m3_s}
    capacity = table.at("capacity", **at)
    power = table.at("power", **at) if table.has("power") else None
    u = TABLE_LIMIT / math.sqrt(3.0)
    capacity = capacity.with_source(f"capacity of {table.source}", u * capacity.value)
    if power is not None:
        power = power.with_source(f"power of {table.source}", u * power.value)
    left_out = []
    if "return_air_temp" not in table.columns:
        made = table.fixed.get("return_air_temp")
        at_text = "" if made is None else f", made at {show(made, 'temperature')}"
        left_out.append(f"indoor temperature: the table has one alone{at_text}")
    if "airflow" not in table.columns:
        left_out.append("airflow: the table has one alone")
    left_out.append("outdoor humidity, line length, voltage")
    frost: Literal["left out", "counted", "not told"] = "not told"
    if kind is not None:
        frost = "counted" if kind == "integrated" else "left out"
    return Expected(
        capacity_w=capacity,
        power_w=power,
        source=f"maker's table {table.source}",
        estimate=False,
        frost=frost,
        left_out=tuple(left_out),
    )


def by_ratings(
    lines: RatingLines,
    *,
    outdoor_c: Value,
    indoor_c: Value | None = None,
    frost: bool = False,
    why_not_table: str = "",
) -> Expected:
    """An estimate from the rating points; see `rating_points` for the lines, and `expected`.

    Without `indoor_c` the indoor air is taken at 70 degF, and that is said.

    Raises
    ------
    OutOfRange
        If the outdoor air lies outside -25.5 to 64.5 degF, or the indoor air outside 50 to 86 degF.
    """
    t = outdoor_c.value
    factors = (1.0, 1.0)
    corrected: tuple[str, ...] = ()
    left_out = ["airflow: rated airflow taken", "outdoor humidity, line length, voltage"]
    slopes = (0.0, 0.0)
    if indoor_c is None:
        left_out.insert(0, "indoor temperature: not read, 70 degF taken")
    else:
        factors = indoor_correction(indoor_c.value, t)
        step = 0.1 if indoor_c.value < 20.0 else -0.1
        more = indoor_correction(indoor_c.value + step, t)
        slopes = ((more[0] - factors[0]) / step, (more[1] - factors[1]) / step)
        by = (100.0 * (factors[0] - 1.0), 100.0 * (factors[1] - 1.0))
        what = (
            f"from 70 degF indoors to {show(indoor_c.value, 'temperature')} by {by[0]:+.1f} % of "
            f"capacity and {by[1]:+.1f} % of power (Cutler et al., NREL 2013, single-speed units)"
        )
        corrected = (what,)
    off = _off_the_line(lines, t)
    estimates: list[Value | None] = []
    for i, name in enumerate(("capacity", "power")):
        if i and not lines.has_power:
            estimates.append(None)
            continue
        line = lines.power_w if i else lines.capacity_w
        base = line(t, frost=frost)
        ahead = 0.25 if t < 5.0 else -0.25  # inside the lines' range
        slope = (line(t + ahead, frost=frost) - base) / ahead
        parts = [(outdoor_c, slope * factors[i])]
        if indoor_c is not None:
            parts.append((indoor_c, base * slopes[i]))
        value = combine(base * factors[i], parts)
        value = value.with_source(f"rated {name}", RATING_LIMIT / math.sqrt(3.0) * value.value)
        rated = lines.points[47].power_w if i else lines.points[47].capacity_w
        line_u = math.hypot(LINE_LIMIT * value.value, off[i] * (rated or 0.0))
        value = value.with_source(f"line of {name}", line_u)
        value = value.with_source(f"indoor correction of {name}", 0.5 * (factors[i] - 1.0) * base)
        if frost and -8.3 < t < 7.2:
            value = value.with_source("humidity of the day", FROST_LIMIT / math.sqrt(3.0) * value.value)
        estimates.append(value)
    capacity, power = estimates
    assert capacity is not None  # the first of the two always is one
    temps = ", ".join(str(temp_f) for temp_f in sorted(lines.points))
    tested = "" if lines.frost_tested or not frost else "; 35 degF by 0.90 and 0.985 of the line"
    return Expected(
        capacity_w=capacity,
        power_w=power,
        source=f"rating points at {temps} degF, straight lines{tested}",
        estimate=True,
        frost="counted" if frost else "left out",
        corrected=corrected,
        left_out=(*((why_not_table,) if why_not_table else ()), *left_out),
    )


def _off_the_line(lines: RatingLines, outdoor_c: float) -> tuple[float, float]:
    """How far a usual unit lies off its own straight lines, as a part of capacity and power at 47 degF.

    The curve of `single_speed_curve` against the line through its own points: within 0.02 between 17 and
    47 degF, and 0.08 of the capacity at -10 degF, where a line falls too fast. Taken as a standard
    uncertainty, because the line itself is what the procedure asks for.
    """
    base_c = (70.0 - 32.0) / 1.8
    at = {temp_f: single_speed_curve(base_c, (temp_f - 32.0) / 1.8) for temp_f in (47, 17, 5)}
    here = single_speed_curve(base_c, outdoor_c)
    temp_f = outdoor_c * 1.8 + 32.0
    low, high = (5, 17) if temp_f < 17.0 and 5 in lines.points else (17, 47)
    share = (temp_f - low) / (high - low)
    off = [at[low][i] + (at[high][i] - at[low][i]) * share - here[i] for i in (0, 1)]
    return abs(off[0]), abs(off[1])

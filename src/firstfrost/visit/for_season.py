"""From a visit's result to what a winter hangs on.

The coil sensor lags behind the coil. The result's limit of a switching is the rating's band, widened on the
side of the lag that is granted (`proofs.sensor`): with [low, high] that limit, r the rating and t its
tolerance, the sensor stood between

    measured - (high - (r + t))     and     measured + ((r - t) - low)                                  (1)

The middle is taken, with half the width U_lag, and with the expanded uncertainty U_coil of the coil's
temperature: U = sqrt(U_coil^2 + U_lag^2), two half-widths of 95 % taken as independent (JCGM 100, from
memory).

A number is taken only where it tells more than the rating: the sensor's, where U is less than t; capacity and
power, where they are off what the ratings say by more than their U.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from firstfrost.errors import InputError
from firstfrost.proofs.finding import FUNCTIONS
from firstfrost.quantities.convert import parse
from firstfrost.season.at_visit import AtVisit, Found

CLOSES_C: Final = (-20.0, 12.0)
OPENS_C: Final = (3.0, 50.0)
"""What can be typed: far around what coil sensors are rated, common practice, no source. [degC]"""
OWN: Final = " by itself"
"""In the sentence of each evidence in which a contact switched; one that stayed has no such temperature."""


def read_at_visit(path: Path | str) -> AtVisit:
    """Read the JSON result of a check.

    Raises
    ------
    InputError
        It cannot be read, or is no result of a check.
    """
    try:
        text = Path(path).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as err:
        reason = getattr(err, "strerror", None) or err
        raise InputError(f"The result {path} cannot be read: {reason}. Check its name.") from err
    try:
        data = json.loads(text)
    except ValueError:
        data = None
    return at_visit(data, str(path))


def at_visit(data: Any, source: str) -> AtVisit:
    """What the result of a check says for a winter.

    Parameters
    ----------
    data : Any
        As `visit.as_json.as_json` makes it.
    source : str
        Where it is from, for an error.

    Raises
    ------
    InputError
        It is no result of a check.
    """
    try:
        functions = data["functions"]
        failed = tuple(name for name in FUNCTIONS if functions[name]["standing"] == "failed")
        sensor = data["unit"]["coil_sensor"]
        notes: list[str] = []
        tolerance = float(sensor["tolerance_k"])
        switches = {
            name: _switch(functions[name], float(sensor[rated]), tolerance, notes)
            for name, rated in (("sensor_closes", "closes_at_c"), ("sensor_opens", "opens_at_c"))
        }
        numbers = (data["heating"] or {"numbers": {}})["numbers"]
        heat, watts = (
            _ratio(numbers.get(name), title, notes)
            for name, title in (("capacity_ratio", "heat"), ("power_ratio", "power"))
        )
        start = data["record"]["start"]
    except (KeyError, TypeError, ValueError, AttributeError) as err:
        raise InputError(
            f"{source} is not the result of a check. Expected the JSON that firstfrost check --json writes."
        ) from err
    return AtVisit(
        when=start[:10] if isinstance(start, str) else "",
        failed=failed,
        closes=switches["sensor_closes"],
        opens=switches["sensor_opens"],
        capacity=heat,
        power=watts,
        left_out=tuple(notes),
    )


def typed(
    visit: AtVisit | None,
    *,
    closes: tuple[str | None, str] = (None, ""),
    opens: tuple[str | None, str] = (None, ""),
    capacity: tuple[str | None, str] = (None, ""),
) -> AtVisit | None:
    """The same with what a person typed, which goes before it; None where there is nothing at all.

    Parameters
    ----------
    visit : AtVisit, optional
        From a result.
    closes, opens : (str or None, str)
        Temperature with its unit, and its name for an error; taken to 1 K.
    capacity : (str or None, str)
        Heat measured over what the ratings say, in percent; taken to 10 %.

    Raises
    ------
    InputError
        One of them is not such a quantity, or lies where no unit's can.
    """
    own: dict[str, Found] = {}
    for name, (text, where), (low, high) in (
        ("closes", closes, CLOSES_C),
        ("opens", opens, OPENS_C),
    ):
        if text is not None:
            own[name] = Found(
                value=_within(parse(text, "temperature", where=where), low, high, where), expanded=1.0
            )
    if own.keys() == {"closes", "opens"} and own["closes"].value >= own["opens"].value:
        raise InputError(f"{closes[1]} is not below {opens[1]}. The coil sensor closes cold and opens warm.")
    if capacity[0] is not None:
        part = parse(capacity[0], "ratio", where=capacity[1])
        if not 0.3 <= part <= 1.5:
            raise InputError(f"{capacity[1]} is {part:.0%}. Expected 30 to 150 % of what the ratings say.")
        own["capacity"] = Found(value=part, expanded=0.1 * part)
    if not own:
        return visit
    seen = visit or AtVisit()
    return replace(
        seen,
        closes=own.get("closes", seen.closes),
        opens=own.get("opens", seen.opens),
        capacity=own.get("capacity", seen.capacity),
    )


def _within(value_c: float, low: float, high: float, where: str) -> float:
    if not low <= value_c <= high:
        raise InputError(
            f"{where} is {value_c:.1f} degC. Expected {low:g} to {high:g} degC, where coil sensors switch. "
            "Check the number and its unit."
        )
    return value_c


def _switch(
    function: Mapping[str, Any], rated_c: float, tolerance_k: float, notes: list[str]
) -> Found | None:
    """The sensor's own temperature where its contact switched; the surest of several occasions."""
    kept: list[Found] = []
    for item in function["evidence"]:
        measured, limit = item["measured"], item["limit"]
        if item["standing"] not in ("shown", "failed") or item["standing"] != function["standing"]:
            continue
        if (
            measured is None
            or measured["unit"] != "degC"
            or measured["value"] is None
            or OWN not in item["what"]
        ):
            continue
        ahead = max((limit["high"] if limit else math.inf) - (rated_c + tolerance_k), 0.0)
        behind = max((rated_c - tolerance_k) - (limit["low"] if limit else -math.inf), 0.0)
        if not math.isfinite(ahead + behind):
            continue
        u = math.hypot(measured["expanded"] or 0.0, 0.5 * (ahead + behind))
        value = float(measured["value"]) + 0.5 * (behind - ahead)
        kept.append(Found(value=value, expanded=u, failed=item["standing"] == "failed"))
    if not kept:
        return None
    best = min(kept, key=lambda one: one.expanded)
    if best.expanded >= tolerance_k and not best.failed:
        verb = "closed" if "closed" in function["evidence"][0]["what"] else "opened"
        notes.append(
            f"The coil sensor {verb} where its rating allows; the coil's temperature moved too fast to tell "
            "more, so the rating is taken."
        )
        return None
    return best


def _ratio(number: Mapping[str, Any] | None, title: str, notes: list[str]) -> Found | None:
    if number is None or number["value"] is None or number["standing"] == "unseen":
        return None
    value, u = float(number["value"]), float(number["expanded"] or 0.0)
    if abs(value - 1.0) <= u:
        notes.append(
            f"The {title} measured, {100.0 * value:.0f} ± {100.0 * u:.0f} % of what the ratings say of that "
            "day, is not told apart from them: the ratings are taken."
        )
        return None
    return Found(value=value, expanded=u, failed=number["standing"] == "failed")

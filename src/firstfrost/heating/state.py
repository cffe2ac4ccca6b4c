"""The state of the machine in the steady window: means of readings, each with its uncertainty by source."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property, wraps
from typing import Any, Concatenate, Final, ParamSpec, TypeVar, cast

import numpy as np

from firstfrost.heating.steady import Found, find_steady
from firstfrost.instruments.budget import Value, measured
from firstfrost.phases import fold
from firstfrost.proofs.context import Context, pick
from firstfrost.refrigerants import Refrigerant, refrigerant

INDEPENDENT_S: Final = 30.0
"""Readings closer together than this are not counted as independent ones; common practice, no source."""


Result = TypeVar("Result")
More = ParamSpec("More")


def once(
    function: Callable[Concatenate[State, More], Result],
) -> Callable[Concatenate[State, More], Result]:
    """Work a number out once for each State, for all the rows that build on it."""

    @wraps(function)
    def kept(state: State, *more: More.args, **named: More.kwargs) -> Result:
        key = (function, *more)
        if key not in state.memo:
            state.memo[key] = function(state, *more, **named)
        return cast(Result, state.memo[key])

    return cast("Callable[Concatenate[State, More], Result]", kept)


@dataclass(frozen=True, kw_only=True)
class Reading:
    """A number as measured, before it is held against anything."""

    value: Value
    start_s: float
    end_s: float
    channels: tuple[str, ...]
    how: str = ""
    weak: str = ""
    """Why it cannot be better than doubtful; empty where it can."""


@dataclass(frozen=True, kw_only=True)
class State:
    """What the rows measure from."""

    context: Context
    memo: dict[Any, Any] = field(default_factory=dict, repr=False, compare=False)
    """What `once` has worked out."""

    @cached_property
    def found(self) -> Found:
        """The steady window."""
        return find_steady(self.context)

    @cached_property
    def fluid(self) -> Refrigerant:
        """The refrigerant's properties."""
        return refrigerant(self.context.unit.refrigerant)

    @property
    def span(self) -> tuple[float, float] | None:
        """Start and end of the steady window [s]."""
        best = self.found.best
        return None if best is None else (best.start_s, best.end_s)

    @cached_property
    def weak(self) -> str:
        """Why no number of the steady window can be better than doubtful; empty where it can."""
        best, context = self.found.best, self.context
        if best is None:
            return ""
        if context.sparse:
            return "readings so few or so far apart cannot tell whether heating was steady"
        middle = 0.5 * (best.start_s + best.end_s)
        if not context.marks_known and context.events.state_at(fold.SW_FAN, middle) is False:
            return "the outdoor fan stood still, and no marks tell whether that was on purpose"
        return ""

    @property
    def backup(self) -> bool:
        """Whether backup heat ran in the steady window, as far as known."""
        return bool(self.found.best and self.found.best.backup)

    def mean(self, channel: str, span: tuple[float, float] | None = None) -> Value | None:
        """Mean of a channel over the steady window, or over `span`; None without readings.

        Its sources are the instrument (by its name, where several channels share one) and the scatter,
        s / sqrt(n) with one independent reading each half minute at most (JCGM 100:2008, 4.2.3, from memory).
        """
        where = span or self.span
        if where is None:
            return None
        context = self.context
        _, y = pick(context.trace.time_s, context.trace.get(channel), *where)
        if len(y) == 0:
            return None
        mean = float(np.mean(y))
        unit = context.unit
        value = measured(mean, unit.instruments[channel], unit.shared.get(channel, channel))
        if len(y) > 1:
            n = min(len(y), max(1.0, (where[1] - where[0]) / INDEPENDENT_S))
            value = value.with_source(f"scatter of {channel}", float(np.std(y, ddof=1)) / math.sqrt(n))
        return value

    def _saturation(self, channel: str | None, line: str, span: tuple[float, float] | None) -> Value | None:
        if channel is None:
            return None
        pressure = self.mean(channel, span)
        fluid = self.fluid
        side = fluid.dew if line == "dew" else fluid.bubble
        if pressure is None or not side.pressure_low_pa <= pressure.value <= side.pressure_high_pa:
            return None
        value = pressure.through(side.temp_at(pressure.value), side.slope_at(pressure.value))
        return value.with_source(f"saturation of {fluid.name}", fluid.saturation_u_k)

    def evaporating(self, span: tuple[float, float] | None = None) -> Value | None:
        """Dew temperature of the suction pressure [degC]."""
        return self._saturation("suction_pressure", "dew", span)

    @cached_property
    def condensing(self) -> Value | None:
        """Dew temperature of the high side [degC]."""
        return self._saturation(self.high, "dew", None)

    @cached_property
    def bubble(self) -> Value | None:
        """Bubble temperature of the pressure nearest to the liquid line [degC]."""
        name = "liquid_pressure" if self.context.trace.has("liquid_pressure") else self.high
        return self._saturation(name, "bubble", None)

    @property
    def high(self) -> str | None:
        """Which channel gives the high side."""
        return self.context.cycle.high_channel

    @property
    def liquid(self) -> str | None:
        """Which channel gives the pressure of the liquid line."""
        return "liquid_pressure" if self.context.trace.has("liquid_pressure") else self.high

    def reading(self, value: Value | None, *channels: str | None, how: str = "") -> Reading | None:
        """`value` as a reading of the steady window; None for None."""
        if value is None or self.span is None or not math.isfinite(value.value):
            return None
        start, end = self.span
        names = tuple(dict.fromkeys(name for name in channels if name))
        return Reading(value=value, start_s=start, end_s=end, channels=names, how=how, weak=self.weak)

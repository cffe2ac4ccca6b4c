"""A plain dynamic model of a split heat pump, for made visits.

Not a copy of the package's formulas: refrigerant pressures are carried as saturation temperatures that
follow the coils through an approach and first-order lags; the outdoor coil is one mass with frost on it.

    C dT/dt = q_air + q_refrigerant - q_melt,    frost melts at 0 degC, 334 kJ/kg

Sizes are of the order of trade practice (400 cfm a ton indoors, 12 kJ/K of coil a ton: common practice, no
source). Temperatures in degC, heat in W, time in s.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

FUSION_J_KG = 3.336e5
"""Heat of fusion of ice, value from memory (handbook)."""


def ice_humidity_ratio(temp_c: float) -> float:
    """Humidity ratio [kg/kg] of air saturated at `temp_c` and sea level; Magnus form, values from memory."""
    a, b = (22.46, 272.62) if temp_c < 0.0 else (17.62, 243.12)
    p = 611.2 * exp(a * temp_c / (b + temp_c))
    return 0.622 * p / (101325.0 - p)


@dataclass(kw_only=True)
class Machine:
    """Fixed figures of one machine."""

    refrigerant: str = "R-410A"
    tons: float = 3.0
    coil_heat_j_k_ton: float = 12.0e3
    air_out_w_k_ton: float = 360.0
    frosting_kg_s_ton: float = 0.2
    still_share: float = 0.08
    air_in_w_k_ton: float = 160.0
    mcp_w_k_ton: float = 227.0
    evaporating_w_ton: float = 2600.0
    compressor_w_ton: float = 950.0
    defrost_heat_share: float = 0.95
    approach_defrost_k: float = 10.0
    high_lag_s: float = 30.0
    low_lag_s: float = 9.0
    turn_lag_s: float = 7.0
    swap_s: float = 3.0
    fill_lag_s: float = 25.0
    equalise_s: float = 25.0
    supply_lag_s: float = 18.0
    fan_w: float = 180.0
    blower_w: float = 400.0
    backup_w: float = 8000.0
    standby_w: float = 25.0
    volts: float = 240.0
    blower_off_in_defrost: bool = False
    defrost_work_share: float = 1.0
    boost: float = 1.0
    """How much harder a variable-speed machine runs for ten minutes after a start or a defrost."""


class Plant:
    """The machine's state and its step."""

    def __init__(self, machine: Machine, outdoor_c: float, humidity: float, indoor_c: float) -> None:
        m = self.m = machine
        self.outdoor = outdoor_c
        self.humidity_ratio = humidity * ice_humidity_ratio(outdoor_c)
        self.indoor = indoor_c
        self.coil = outdoor_c
        self.high = self.low = outdoor_c + 0.3 * (indoor_c - outdoor_c)
        self.discharge = self.suction = outdoor_c
        self.vapor = self.liquid = 0.5 * (outdoor_c + indoor_c)
        self.supply = indoor_c
        self.frost = 0.0
        self.fill = 0.0
        self.air = 0.0
        self.cover = 1.0
        self.boost_s = 0.0
        self.swap = 0.0
        self.cool = False
        self.compressor_w = 0.0
        self.heat_w = 0.0
        self.melting = 0.0
        self.c = m.coil_heat_j_k_ton * m.tons
        self.ua_full = m.air_out_w_k_ton * m.tons
        self.ua_in = m.air_in_w_k_ton * m.tons
        self.mcp = m.mcp_w_k_ton * m.tons
        self.frost_room = 1.3 * m.tons

    def step(self, dt: float, on: bool, cool: bool, fan: bool, backup: bool, blower: bool) -> None:
        """Go on by `dt` with the compressor, the valve really standing at `cool`, fan, backup and blower."""
        m = self.m
        tons = m.tons
        self.air += ((1.0 if fan else 0.0) - self.air) * min(1.0, dt / 1.5)
        if cool != self.cool:
            self.cool = cool
            self.boost_s = 600.0 if m.boost > 1.0 else 0.0
            self.swap = m.swap_s
            self.fill = min(self.fill, 0.25)
        if not on:
            self.fill = max(0.0, self.fill - dt / 60.0)
        blocked = min(1.0, self.frost / self.frost_room)
        ua = self.ua_full * (
            m.still_share + (1.0 - m.still_share) * self.air * self.cover * (1.0 - 0.6 * blocked**1.4)
        )
        air = ua * (self.outdoor - self.coil)
        coil, high, low = self.coil, self.high, self.low
        ua_in = self.ua_in if blower else 0.12 * self.ua_in
        to_coil = 0.0
        if on:
            self.fill += (1.0 - self.fill) * dt / m.fill_lag_s
            drawn = m.evaporating_w_ton * tons * exp(0.033 * low) * max(0.2, 1.0 - 0.007 * (high - 40.0))
            drawn *= 0.15 + 0.85 * self.fill
            if self.boost_s > 0.0 and not cool:
                self.boost_s -= dt
                drawn *= 1.0 + 0.8 * (m.boost - 1.0) * min(1.0, self.boost_s / 60.0)
            work = m.compressor_w_ton * tons * max(0.25, 1.0 + 0.014 * (high - 40.0) + 0.006 * low)
            if self.boost_s > 0.0 and not cool:
                work *= 1.0 + (m.boost - 1.0) * min(1.0, self.boost_s / 60.0)
            if cool:
                work *= m.defrost_work_share
            self.compressor_w = work
            if cool:
                sent = m.defrost_heat_share * (
                    m.evaporating_w_ton * tons * exp(0.02 * low) * max(0.2, 1.0 - 0.007 * (high - 40.0))
                    + 0.8 * work
                )
                sent *= 0.25 + 0.75 * self.fill
                to_coil = sent
                high_to = coil + m.approach_defrost_k * sent / (3300.0 * tons)
                taken = max(0.0, sent - 0.8 * work)
                low_to = self.indoor - 2.0 - taken / ua_in * 0.8 - 14.0 * (1.0 - self.fill)
                low_to = min(max(low_to, -28.0), high - 7.0)
                heat = -taken if blower else 0.0
                high_lag, low_lag = m.turn_lag_s, m.turn_lag_s * 1.6
                vapor_to, liquid_to, suction_to = low + 6.0, min(high - 2.0, coil + 3.0), low + 7.0
            else:
                to_coil = -drawn
                high_to = min(self.indoor + (drawn + 0.9 * work) / ua_in, 66.0)
                low_to = coil - 0.8 - 2.2 * drawn / (2600.0 * tons)
                heat = max(0.0, high - self.indoor) * ua_in
                high_lag, low_lag = m.high_lag_s, m.low_lag_s
                vapor_to, liquid_to, suction_to = (
                    self.discharge - 4.0,
                    max(high - 7.0, self.indoor + 1.0),
                    low + 6.0,
                )
            discharge_to = high + 22.0 + 0.35 * (high - low)
            if self.swap > 0.0:
                self.swap -= dt
                high_to = low_to = 0.5 * (high + low)
                high_lag = low_lag = 2.0
            self.high += (high_to - high) * min(1.0, dt / high_lag)
            self.low += (low_to - low) * min(1.0, dt / low_lag)
            self.discharge += (discharge_to - self.discharge) * dt / 70.0
            line_lag = 14.0
        else:
            self.compressor_w = 0.0
            self.swap = 0.0
            mean = 0.5 * (high + low)
            rest = self.outdoor + 0.25 * (self.indoor - self.outdoor)
            self.high += (mean - high) * dt / m.equalise_s + (rest - high) * dt / 240.0
            self.low += (mean - low) * dt / m.equalise_s + (rest - low) * dt / 240.0
            heat = 0.0
            self.discharge += (self.outdoor + 3.0 - self.discharge) * dt / 700.0
            vapor_to = liquid_to = 0.5 * (self.outdoor + self.indoor)
            suction_to = self.outdoor
            line_lag = 260.0
        self.vapor += (vapor_to - self.vapor) * dt / line_lag
        self.liquid += (liquid_to - self.liquid) * dt / (line_lag * 1.2)
        self.suction += (suction_to - self.suction) * dt / (line_lag * 1.3)
        self.heat_w = heat
        self._coil(dt, air + to_coil, on, cool)
        extra = m.backup_w if backup else 0.0
        if blower:
            supply_to, lag = self.indoor + (heat + extra) / self.mcp, m.supply_lag_s
        else:
            supply_to, lag = self.indoor, 150.0
        self.supply += (supply_to - self.supply) * dt / lag

    def _coil(self, dt: float, heat: float, on: bool, cool: bool) -> None:
        """Warm or cool the coil by `heat`, and grow or melt frost."""
        coil = self.coil
        melt = 0.0
        if self.frost > 0.0 and coil > 0.0:
            share = min(1.0, self.frost / 0.35)
            melt = min(9000.0 * self.m.tons * coil * (0.25 + 0.75 * share), self.frost * FUSION_J_KG / dt)
            self.frost = max(0.0, self.frost - melt * dt / FUSION_J_KG)
            if self.frost < 1e-6:
                self.frost = 0.0
        elif coil < 0.0 and on and not cool:
            excess = self.humidity_ratio - ice_humidity_ratio(coil - 0.5)
            if excess > 0.0:
                self.frost += (
                    self.m.frosting_kg_s_ton * self.m.tons * (0.03 + self.air * self.cover) * excess * dt
                )
        self.melting = melt
        self.coil += (heat - melt) * dt / self.c

    def power_w(self, backup: bool, blower: bool) -> float:
        """Electric power of the whole machine [W]."""
        m = self.m
        return (
            m.standby_w
            + self.compressor_w
            + m.fan_w * self.air
            + (m.blower_w if blower else 0.0)
            + (m.backup_w if backup else 0.0)
        )

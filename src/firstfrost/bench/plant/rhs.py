"""The right-hand side: d(state)/dt from state, inputs and parameters.

Three vessels (outdoor coil, indoor coil, accumulator) hold liquid and vapor in equilibrium, each by mass M
and dew temperature t. With `saturation.node`'s U(t, M) the balances

    dM/dt = sum of flows
    dt/dt = (sum of enthalpy flows - dU/dM dM/dt) / (dU/dt)

close energy by construction. A coil that boils is wet over 1 - exp(-x / wet_part) of its surface, x the
liquid part of its volume; over the dry rest vapor is superheated towards the air. A coil that condenses is
flooded over (x - film_part); there liquid is subcooled towards what its fins let it see, `fin_part` of the
way from air to metal. So superheat and subcooling follow the charge. The heat of both is taken from, or given
to, the coil's metal, and only the rest of the coil deals with the air. Below `film_part` vapor leaves a
condenser with the liquid (`vapor_left`) and starves the metering device; above `spill_part` a boiling coil
spills liquid to the accumulator.

The reversing valve at position v joins discharge and suction to the coils in the parts v and 1 - v, and the
coils to each other in between. The liquid line's own content is taken as constant.

Left out: refrigerant in oil, pressure drops along a coil, liquid hammer, water condensing on the indoor coil
in defrost, radiation, wind. Probes on pipes are lags without heat of their own.
"""

from __future__ import annotations

import math

from firstfrost.bench.kernel import Flat, kernel
from firstfrost.bench.plant.circuit import (
    compressor,
    heat_of_superheat,
    opening,
    superheat_of,
    through,
)
from firstfrost.bench.plant.index import (
    P_ACC_JK,
    P_ACC_M3,
    P_ACC_WK,
    P_AREA_M2,
    P_BACKUP_S,
    P_BLEED,
    P_BLOWER_S,
    P_BLOWER_W,
    P_BLOWER_WEAK,
    P_BULB_S,
    P_BULB_SPAN_K,
    P_BULB_STATIC_K,
    P_BYPASS_K,
    P_CHECK_M2,
    P_CHECK_OPEN_IND,
    P_CHECK_OPEN_OUT,
    P_CHECK_SHUT_IND,
    P_CHECK_SHUT_OUT,
    P_CLAMP_METAL,
    P_CLAMP_REFRIGERANT,
    P_CLAMP_S,
    P_COIL_JK,
    P_COVER_KG,
    P_DISCHARGE_PA,
    P_DRAIN_BLOCK,
    P_DRAIN_PART,
    P_DRAIN_S,
    P_DRY_NTU,
    P_FAN_S,
    P_FAN_W,
    P_FAN_WEAK,
    P_FILM_PART,
    P_FIN_PART,
    P_FIXED_IND,
    P_FIXED_OUT,
    P_FLOOD_NTU,
    P_FLOOD_PART,
    P_HELD_KG,
    P_HOUSE_AIR_JK,
    P_HOUSE_FIXED,
    P_HOUSE_GAIN_W,
    P_HOUSE_MASS_JK,
    P_HOUSE_MASS_WK,
    P_HOUSE_UA_WK,
    P_IND_COND_WK,
    P_IND_EVAP_WK,
    P_IND_M3,
    P_LAST_KG,
    P_LINE_M2,
    P_MELT_WK,
    P_ORIFICE_IND_M2,
    P_ORIFICE_OUT_M2,
    P_OUT_COND_WK,
    P_OUT_EVAP_WK,
    P_OUT_M3,
    P_PIPE_S,
    P_PLATE_JK,
    P_SENSOR_METAL,
    P_SENSOR_REFRIGERANT,
    P_SENSOR_S,
    P_SHELL_AIR_WK,
    P_SHELL_GAS_WK,
    P_SHELL_JK,
    P_SPILL_PART,
    P_SUCTION_K,
    P_SUCTION_SOFT_PA,
    P_SUPPLY_S,
    P_VALVE_LEAK_M2,
    P_VALVE_S,
    P_VALVE_STUCK,
    P_VOLTS,
    P_WET_PART,
)
from firstfrost.bench.plant.indoor import indoor_air
from firstfrost.bench.plant.layout import (
    A_AIRFLOW_IND,
    A_AIRFLOW_OUT,
    A_DEPOSIT,
    A_FLOW,
    A_FROST_DENSITY,
    A_HEAT,
    A_I_COMP,
    A_I_FAN,
    A_MELT,
    A_OPENING,
    A_P_DISCHARGE,
    A_P_IND,
    A_P_LIQUID,
    A_P_OUT,
    A_P_SUCTION,
    A_POWER,
    A_POWER_COMP,
    A_SUBCOOLING,
    A_SUPERHEAT,
    A_T_AIR_OFF,
    A_T_FROST,
    A_WET,
    BACKUP,
    BLOWER,
    COMP,
    E_BACKUP,
    E_COMP,
    E_FANS,
    FAN,
    FROST,
    M_ACC,
    M_IND,
    M_OUT,
    PAN,
    Q_INDOOR,
    Q_OUTDOOR,
    Q_SHELL,
    T_ACC,
    T_BULB_IND,
    T_BULB_OUT,
    T_CLAMP,
    T_COIL,
    T_DISCHARGE,
    T_HOUSE,
    T_IND,
    T_LIQUID,
    T_MASS,
    T_OUT,
    T_PLATE,
    T_SENSOR,
    T_SHELL,
    T_SUCTION,
    T_SUPPLY,
    T_VAPOR,
    T_WALL,
    THICK,
    U_AIR,
    U_BACKUP,
    U_BLOWER,
    U_COMP,
    U_FAN,
    U_HUMID,
    U_OPEN,
    U_VALVE,
    U_VOLT,
    VALVE,
    W_DRAINED,
    W_GAINED,
    WATER,
)
from firstfrost.bench.plant.outdoor import (
    C_ICE,
    C_VAPOR,
    C_WATER,
    FUSION,
    ICE,
    VAPOR_0,
    new_frost_density,
    outdoor_air,
    positive,
)
from firstfrost.bench.plant.saturation import node


@kernel
def suction_flow(k: float, soft: float, dp: float) -> float:
    """Vapor flow [kg/s] along a suction path, k dp / sqrt(|dp| + soft): smooth, and not too stiff, at 0."""
    return k * dp / math.sqrt(abs(dp) + soft)


@kernel
def coil(
    p: Flat, x: float, mid: float, metal: float, air: float, moving: float, evap_wk: float, cond_wk: float
) -> tuple[float, float, float, float, float]:
    """Refrigerant side of one coil.

    x : liquid part of the volume; mid, metal, air : saturation, metal, air [degC]; moving : fan speed

    Gives heat from refrigerant to metal [W], superheat [K] and subcooling [K] that leaving vapor and liquid
    have, liquid part of the vapor that leaves, part of the coil at work
    """
    towards = metal + moving * (air - metal)
    wet = 1.0 - math.exp(-x / p[P_WET_PART])
    flooded = min(positive(x - p[P_FILM_PART], 0.02) / p[P_FLOOD_PART], 0.98)
    superheat, subcooling = 0.0, 0.0
    warmer = metal - mid
    if warmer > 0.0:
        heat = -evap_wk * wet * warmer
    else:
        heat = -cond_wk * (1.0 - flooded) * warmer
    # Exponentials cost most here, so each is taken only where it counts.
    if towards > mid:
        superheat = (towards - mid) * (1.0 - math.exp(-p[P_DRY_NTU] * (1.0 - wet)))
    behind = towards + p[P_FIN_PART] * (metal - towards)
    if behind < mid:
        subcooling = (mid - behind) * (1.0 - math.exp(-p[P_FLOOD_NTU] * flooded))
    boils = 0.5 + 0.5 * warmer / math.sqrt(warmer * warmer + 0.25)
    active = boils * wet + (1.0 - boils) * (1.0 - flooded)
    over = max(x - p[P_SPILL_PART], 0.0)
    spill = 0.8 * over * over / (over * over + 0.03)
    return heat, superheat, subcooling, spill, active


@kernel
def vapor_left(x: float, film: float, soft: float) -> float:
    """Mass part of vapor in what leaves a condensing coil whose volume is liquid over x.

        q = s / (2.5 - 1.5 s),      s = (film - x)+ / film

    With x at or above `film` all is condensed; below, the outlet's quality q is that at which the mean liquid
    part of a tube, quality falling evenly from 1 to q, is x. Zivi's slip, (rho_f / rho_g)^(1/3) (1964, from
    memory), gives that mean; the closed form is this project's, within 0.01 of it at a density ratio of 9.5
    (R-410A near 40 degC), within 0.03 from 7 to 11, and 0.1 high at 33 (near 5 degC). `soft` rounds the
    corner: circuits do not all run dry at once (model choice, no source).

    x : liquid part of the volume; film : x at which all is condensed; soft : width of the corner
    """
    bare = min(positive(film - x, soft) / film, 1.0)
    return bare / (2.5 - 1.5 * bare)


@kernel
def inlet_density(vapor: float, rho_g: float, rho_f: float) -> float:
    """Density [kg/m3] that a metering device feels of a mixture with a mass part `vapor` of vapor.

        1 / rho = (v / rho_g + K (1 - v) / rho_f) (v + (1 - v) / K),      K = (rho_f / rho_g)^(1/3)

    Momentum of two phases that slip by K, which is Zivi's as in `vapor_left` (both from memory): at 20 %
    vapor of R-410A at 40 degC some 29 % denser than without slip, so that the device passes 13 % more. Made
    for pipes; at a short opening a model choice, no source.
    """
    slip = math.exp(math.log(rho_f / rho_g) / 3.0)
    liquid = 1.0 - vapor
    return 1.0 / ((vapor / rho_g + slip * liquid / rho_f) * (vapor + liquid / slip))


@kernel
def rhs(y: Flat, u: Flat, p: Flat, tab: Flat, dy: Flat, aux: Flat) -> None:
    """Fill dy (`layout.STATES`) and aux (`layout.DERIVED`) from y, inputs u, parameters p and table tab."""
    v = y[VALVE]
    air, house = u[U_AIR], y[T_HOUSE]
    fan, blower = y[FAN], y[BLOWER]
    po, mid_o, hfo, hgo, rfo, rgo, liq_o, _uo, uto, umo, cfo, _ko, bulk_o = node(
        tab, p, y[T_OUT], y[M_OUT], p[P_OUT_M3]
    )
    pi, mid_i, hfi, hgi, rfi, rgi, liq_i, _ui, uti, umi, cfi, _ki, bulk_i = node(
        tab, p, y[T_IND], y[M_IND], p[P_IND_M3]
    )
    ps, _mid, hfa, hga, _rf, rga, liq_a, _ua, uta, uma, _ca, sh_a, bulk_a = node(
        tab, p, y[T_ACC], y[M_ACC], p[P_ACC_M3]
    )

    x_o, x_i = liq_o / (rfo * p[P_OUT_M3]), liq_i / (rfi * p[P_IND_M3])
    q_o, sh_o, sc_o, spill_o, active_o = coil(
        p, x_o, mid_o, y[T_COIL], air, fan * u[U_OPEN], p[P_OUT_EVAP_WK], p[P_OUT_COND_WK]
    )
    q_i, sh_i, sc_i, spill_i, active_i = coil(
        p, x_i, mid_i, y[T_PLATE], house, blower, p[P_IND_EVAP_WK], p[P_IND_COND_WK]
    )

    # Vapor from the coils to the accumulator, and from coil to coil through a half-shifted valve.
    s_o = suction_flow(p[P_SUCTION_K] * (1.0 - v), p[P_SUCTION_SOFT_PA], po - ps)
    s_i = suction_flow(p[P_SUCTION_K] * v, p[P_SUCTION_SOFT_PA], pi - ps)
    e_o = max(heat_of_superheat(p, y[T_OUT], sh_o) * (1.0 - spill_o), bulk_o)
    e_i = max(heat_of_superheat(p, y[T_IND], sh_i) * (1.0 - spill_i), bulk_i)
    if s_o > 0.0:
        h_so = hgo + e_o - spill_o * (hgo - hfo)
        taken_o = s_o * (e_o - bulk_o)
    else:
        h_so = hga + bulk_a
        taken_o = 0.0
    if s_i > 0.0:
        h_si = hgi + e_i - spill_i * (hgi - hfi)
        taken_i = s_i * (e_i - bulk_i)
    else:
        h_si = hga + bulk_a
        taken_i = 0.0
    between = suction_flow(p[P_BYPASS_K] * 4.0 * v * (1.0 - v), p[P_SUCTION_SOFT_PA], po - pi)
    if between > 0.0:
        h_between = hgo + bulk_o
    else:
        h_between = hgi + bulk_i

    # Compressor; its discharge sees the coils in the parts v and 1 - v.
    p_d = (1.0 - v) * pi + v * po
    dew_d = (1.0 - v) * y[T_IND] + v * y[T_OUT]
    hg_d, rg_d = (1.0 - v) * hgi + v * hgo, (1.0 - v) * rgi + v * rgo
    leak = through(p[P_VALVE_LEAK_M2], rg_d, p_d - ps)
    pool = liq_a * liq_a / (liq_a * liq_a + 0.0016)
    h_in = hga + bulk_a - 0.06 * pool * (hga - hfa)
    rho_in = rga
    if liq_a <= 0.0:
        rho_in = y[M_ACC] / p[P_ACC_M3]
    flow, power = compressor(p, y[COMP], ps, p_d, y[T_ACC], dew_d, rho_in, rga)
    shell_loss = p[P_SHELL_AIR_WK] * (y[T_SHELL] - air)
    h_d, t_d, to_shell = h_in, y[T_SHELL], power
    if flow > 1e-9:
        h_hot = h_in + power / flow
        t_hot = dew_d + superheat_of(p, dew_d, h_hot - hg_d)
        t_d = y[T_SHELL] + (t_hot - y[T_SHELL]) * math.exp(-p[P_SHELL_GAS_WK] / (flow * 1100.0))
        h_d = hg_d + heat_of_superheat(p, dew_d, max(t_d - dew_d, -40.0))
        to_shell = flow * (h_hot - h_d)
    pressed = p_d + p[P_DISCHARGE_PA] * flow * flow
    into = flow - leak
    if into >= 0.0:
        h_into_o, h_into_i, h_leak = h_d, h_d, h_d
    else:
        # With the compressor at rest the leak draws on the coils themselves.
        h_into_o, h_into_i = hgo + bulk_o, hgi + bulk_i
        h_leak = (flow * h_d - into * (v * h_into_o + (1.0 - v) * h_into_i)) / leak

    # Metering: heating direction is from the indoor coil to the outdoor coil.
    bleed, static, span = p[P_BLEED], p[P_BULB_STATIC_K], p[P_BULB_SPAN_K]
    a_o = p[P_ORIFICE_OUT_M2] * opening(p[P_FIXED_OUT], bleed, y[T_BULB_OUT], y[T_OUT], static, span)
    a_i = p[P_ORIFICE_IND_M2] * opening(p[P_FIXED_IND], bleed, y[T_BULB_IND], y[T_IND], static, span)
    check, line = p[P_CHECK_M2], p[P_LINE_M2]
    dp = pi - po
    if dp >= 0.0:
        device = 1e-12 + a_o + p[P_CHECK_OPEN_OUT] * check
        other = 1e-12 + a_i + (1.0 - p[P_CHECK_SHUT_IND]) * check
        bub_i = vapor_left(x_i, p[P_FILM_PART], p[P_DRAIN_PART])
        rho = inlet_density(bub_i, rgi, rfi)
        given_i = (1.0 - bub_i) * cfi * sc_i
        given_o = 0.0
        h_m = hfi - given_i + bub_i * (hgi + bulk_i - hfi)
        opened = a_o / p[P_ORIFICE_OUT_M2]
    else:
        device = 1e-12 + a_i + p[P_CHECK_OPEN_IND] * check
        other = 1e-12 + a_o + (1.0 - p[P_CHECK_SHUT_OUT]) * check
        bub_o = vapor_left(x_o, p[P_FILM_PART], p[P_DRAIN_PART])
        rho = inlet_density(bub_o, rgo, rfo)
        given_o = (1.0 - bub_o) * cfo * sc_o
        given_i = 0.0
        h_m = hfo - given_o + bub_o * (hgo + bulk_o - hfo)
        opened = a_i / p[P_ORIFICE_IND_M2]
    area = 1.0 / math.sqrt(1.0 / (device * device) + 1.0 / (other * other) + 1.0 / (line * line))
    metered = through(area, rho, dp)
    give = abs(metered)

    # Mass and energy of the three vessels.
    dm_o = metered - s_o + v * into - between
    dm_i = -metered - s_i + (1.0 - v) * into + between
    dm_a = s_o + s_i + leak - flow
    g_o = metered * h_m - s_o * h_so + taken_o + v * into * h_into_o - between * h_between
    g_i = -metered * h_m - s_i * h_si + taken_i + (1.0 - v) * into * h_into_i + between * h_between
    g_a = s_o * h_so + s_i * h_si + leak * h_leak - flow * h_in
    # Subcooled liquid leaves with less than saturated; the difference goes to the metal below.
    g_o = g_o - q_o - give * given_o
    g_i = g_i - q_i - give * given_i
    dy[M_OUT] = dm_o
    dy[T_OUT] = (g_o - umo * dm_o) / uto
    dy[M_IND] = dm_i
    dy[T_IND] = (g_i - umi * dm_i) / uti
    dy[M_ACC] = dm_a
    # The wall gives its heat to a pool alone; with none it would boil what is not there.
    wall = p[P_ACC_WK] * pool * (y[T_WALL] - y[T_ACC])
    dy[T_ACC] = (g_a + wall - uma * dm_a) / uta
    dy[T_WALL] = -wall / p[P_ACC_JK]
    dy[T_SHELL] = (to_shell - shell_loss) / p[P_SHELL_JK]

    # Where a coil is dry or flooded its metal follows the air and gives it nothing.
    moves = flow / (flow + 0.002)
    still = 1.0 - moves
    active_o = still + moves * max(active_o, 0.05)
    active_i = still + moves * max(active_i, 0.05)

    # Outdoor coil: metal, frost and water share what comes from refrigerant and air.
    airflow, sensible, deposit, surface, air_off = outdoor_air(
        p, active_o, fan, u[U_OPEN], air, u[U_HUMID], y[T_COIL], y[FROST], y[THICK], y[WATER], y[PAN]
    )
    t = y[T_COIL]
    # Frost is at the metal's temperature below freezing and at 0 degC above, smoothly within 0.1 K.
    root = math.sqrt(t * t + 0.01)
    t_ice, ice1 = 0.5 * (t - root), 0.5 * (1.0 - t / root)
    above, below = 0.5 * (t + root) - 0.05, 0.5 * (root - t) - 0.05
    above, below = max(above, 0.0), max(below, 0.0)
    frost, water = max(y[FROST], 0.0), max(y[WATER], 0.0)
    melt, freeze = 0.0, 0.0
    if above > 0.0:
        melt = p[P_MELT_WK] * frost / (frost + p[P_COVER_KG]) * above / FUSION
    if below > 0.0 and water > 0.0:
        freeze = 0.5 * p[P_MELT_WK] * water / (water + p[P_COVER_KG]) * below / FUSION
    if deposit >= 0.0:
        as_frost = 0.0
        if surface < 3.0:
            as_frost = deposit
        if abs(surface) < 3.0:
            as_frost = deposit / (1.0 + math.exp(surface / 0.1))
        as_water = deposit - as_frost
    else:
        as_frost = deposit * frost / (frost + water + 1e-9)
        as_water = deposit - as_frost
    drain = positive(water - p[P_HELD_KG], 0.01) / p[P_DRAIN_S] * water / (water + 0.01)
    d_frost = as_frost + freeze - melt
    d_water = as_water - freeze + melt - drain
    area = p[P_AREA_M2]
    grown = max(as_frost, 0.0) / (new_frost_density(surface) * area) + freeze / (ICE * area)
    gone = (melt + max(-as_frost, 0.0)) * y[THICK] / (frost + 1e-4)
    got = sensible + deposit * (VAPOR_0 + C_VAPOR * surface) - drain * C_WATER * t
    warm = p[P_COIL_JK] + water * C_WATER + frost * C_ICE * ice1
    into_coil = q_o + give * given_o - taken_o + got
    dy[T_COIL] = (into_coil - d_frost * (C_ICE * t_ice - FUSION) - d_water * C_WATER * t) / warm
    dy[FROST] = d_frost
    dy[WATER] = d_water
    dy[THICK] = grown - gone
    dy[PAN] = drain * p[P_DRAIN_BLOCK] - 1e-5 * y[PAN] * max(air, 0.0)

    # Indoor coil and house.
    airflow_i, rate, q_air = indoor_air(p, active_i, blower, house, y[T_PLATE])
    dy[T_PLATE] = (q_i + give * given_i - taken_i - q_air) / p[P_PLATE_JK]
    blower_w = p[P_BLOWER_W] * blower * blower
    fan_w = p[P_FAN_W] * fan * fan
    to_mass = p[P_HOUSE_MASS_WK] * (house - y[T_MASS])
    lost = p[P_HOUSE_UA_WK] * (house - air)
    free = 1.0 - p[P_HOUSE_FIXED]
    dy[T_HOUSE] = (
        free * (q_air + y[BACKUP] + blower_w + p[P_HOUSE_GAIN_W] - lost - to_mass) / p[P_HOUSE_AIR_JK]
    )
    dy[T_MASS] = free * to_mass / p[P_HOUSE_MASS_JK]
    dy[BACKUP] = (u[U_BACKUP] * u[U_VOLT] * u[U_VOLT] - y[BACKUP]) / p[P_BACKUP_S]

    # Moving parts. Below 80 % of its voltage a motor stalls.
    runs = 1.0 - 0.15 * (1.0 - u[U_VOLT])
    if u[U_VOLT] < 0.8:
        runs = 0.0
    dy[COMP] = (u[U_COMP] * runs - y[COMP]) / 0.7
    dy[FAN] = (u[U_FAN] * runs * (1.0 - p[P_FAN_WEAK]) - fan) / p[P_FAN_S]
    dy[BLOWER] = (u[U_BLOWER] * runs * (1.0 - p[P_BLOWER_WEAK]) - blower) / p[P_BLOWER_S]
    dy[VALVE] = 0.0
    if p[P_VALVE_STUCK] < 0.0:
        dy[VALVE] = (u[U_VALVE] - v) / p[P_VALVE_S]

    # Bulbs and probes.
    out_gas, ind_gas = y[T_OUT] + sh_o * (1.0 - spill_o), y[T_IND] + sh_i * (1.0 - spill_i)
    dy[T_BULB_OUT] = ((1.0 - v) * out_gas + v * t_d - y[T_BULB_OUT]) / p[P_BULB_S]
    dy[T_BULB_IND] = (v * ind_gas + (1.0 - v) * t_d - y[T_BULB_IND]) / p[P_BULB_S]
    per_pipe = 1.0 / p[P_PIPE_S]
    dy[T_DISCHARGE] = (moves * t_d + still * y[T_SHELL] - y[T_DISCHARGE]) * per_pipe
    from_indoor = 0.5 + 0.5 * dp / math.sqrt(dp * dp + 1.0e9)
    t_m = from_indoor * (mid_i - sc_i) + (1.0 - from_indoor) * (mid_o - sc_o)
    vapor_line = (1.0 - v) * t_d + v * ind_gas
    dy[T_VAPOR] = (moves * vapor_line + still * air - y[T_VAPOR]) * per_pipe
    dy[T_LIQUID] = (moves * t_m + still * air - y[T_LIQUID]) * per_pipe
    dy[T_SUCTION] = (moves * (y[T_ACC] + sh_a) + still * air - y[T_SUCTION]) * per_pipe
    # Both sit low on the coil, where the last of the frost keeps the tube near 0 degC.
    bare = 1.0
    if t > 0.0:
        bare = 1.0 - t / (t + 0.4) * frost / (frost + p[P_LAST_KG])
    metal, fluid = p[P_SENSOR_METAL], p[P_SENSOR_REFRIGERANT]
    place = bare * (metal * t + fluid * mid_o) + (1.0 - metal - fluid) * air
    dy[T_SENSOR] = (place - y[T_SENSOR]) / p[P_SENSOR_S]
    metal, fluid = p[P_CLAMP_METAL], p[P_CLAMP_REFRIGERANT]
    place = bare * (metal * t + fluid * mid_o) + (1.0 - metal - fluid) * air
    dy[T_CLAMP] = (place - y[T_CLAMP]) / p[P_CLAMP_S]
    supply = house + (q_air + y[BACKUP] + blower_w) / (rate + 20.0)
    dy[T_SUPPLY] = (supply - y[T_SUPPLY]) / p[P_SUPPLY_S]

    # What crosses the border of the plant.
    dy[E_COMP] = power
    dy[E_FANS] = fan_w + blower_w
    dy[E_BACKUP] = y[BACKUP]
    dy[Q_INDOOR] = q_air
    dy[Q_OUTDOOR] = got
    dy[Q_SHELL] = shell_loss
    dy[W_GAINED] = deposit
    dy[W_DRAINED] = drain - dy[PAN]

    aux[A_P_SUCTION] = ps
    aux[A_P_DISCHARGE] = pressed
    aux[A_P_LIQUID] = max(pi, po)
    aux[A_P_OUT] = po
    aux[A_P_IND] = pi
    aux[A_FLOW] = flow
    aux[A_POWER_COMP] = power
    aux[A_POWER] = power + fan_w + blower_w
    aux[A_HEAT] = q_air
    aux[A_AIRFLOW_OUT] = airflow
    aux[A_AIRFLOW_IND] = airflow_i
    if v < 0.5:
        aux[A_SUPERHEAT] = sh_o
        aux[A_SUBCOOLING] = sc_i
    else:
        aux[A_SUPERHEAT] = sh_i
        aux[A_SUBCOOLING] = sc_o
    aux[A_T_FROST] = surface
    aux[A_DEPOSIT] = deposit
    aux[A_MELT] = melt
    aux[A_OPENING] = opened
    per_volt = 1.0 / (p[P_VOLTS] * max(u[U_VOLT], 0.1))
    aux[A_I_COMP] = power * per_volt / 0.93
    aux[A_I_FAN] = fan_w * per_volt / 0.9
    aux[A_FROST_DENSITY] = min(frost / (y[THICK] * area + 1e-9), ICE)
    aux[A_T_AIR_OFF] = air_off
    aux[A_WET] = (1.0 if liq_o > 0.0 else 0.0) + (2.0 if liq_i > 0.0 else 0.0) + (4.0 if liq_a > 0.0 else 0.0)

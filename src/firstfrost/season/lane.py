"""One unit's winter, step by step: frost, board, house, backup heat.

The same function runs as plain Python and compiled by Numba. What the bench's physics says of heating,
defrosts and rests comes in as flat tables, already brought to each hour's air (`winter.drive`).

State: frost mass m and mean thickness x, the board's clock, run time since the last defrost, the sensor's
contact, kelvins that the house's air and mass lack, da and dm. In a step of s seconds with the part X of it
running:

    dm = G(T, RH, x) X s,   dx = H(T, RH, x) X s                        growth, from the bench
    X  = (need + starts) / Q(T, RH, x), at most 1                       starts: heat that starts lack
    need = load + Ca da / s + U dm                                      what brings the air to its setting
    starts = N L (1 - exp(-rest / lag)),   N = 4 c Q X (1 - X)          rests a hour, of length (1 - X) / N

and each rest melts and drains some frost where the air is warm. A defrost takes the time, heat and
electricity of the bench's own at (T, m, opening rating), with what the following ten minutes lack; what it
cannot melt before the longest defrost stays.
"""

from __future__ import annotations

import math

from firstfrost.bench.kernel import Flat, kernel

PARAMETERS = (
    ("capacity", "1", "capacity over the bench's at 0 degC"),
    ("capacity_slope", "1/K", "its change with outdoor temperature"),
    ("power", "1", "power over the bench's at 0 degC"),
    ("power_slope", "1/K", "its change with outdoor temperature"),
    ("size", "1", "outdoor coil over the bench's"),
    ("growth", "1", "frost growth over the bench's"),
    ("defrost", "1", "length and energy of a defrost over the bench's"),
    ("frost_free", "1", "1: no frost at all, for comparison"),
    ("interval", "s", "run time to a defrost; demand control: its back-up timer"),
    ("demand", "1", "1: demand control"),
    ("split", "K", "demand: growth of air over coil split that starts a defrost"),
    ("learn", "s", "demand: run time after a defrost at which the clean split is learnt"),
    ("least", "s", "demand: shortest run time between defrosts"),
    ("longest", "s", "longest defrost"),
    ("closes", "degC", "coil sensor closes"),
    ("opens", "degC", "coil sensor opens"),
    ("stuck", "1", "sensor: -1 works, 0 stays open, 1 stays closed"),
    ("always", "1", "1: run time counts with the sensor open as well, and is asked at its end"),
    ("conductance", "W/K", "house to outdoor air"),
    ("gain", "W", "heat from people and things in the house"),
    ("set", "degC", "thermostat"),
    ("air_store", "J/K", "house air and light things"),
    ("mass_store", "J/K", "walls and furniture"),
    ("mass", "W/K", "house air to its mass"),
    ("swing", "K", "thermostat's on-off difference"),
    ("second", "K", "second stage calls this far below the thermostat's setting"),
    ("cycles", "1/(h W)", "thermostat cycles an hour at half run time, over capacity"),
    ("start_heat", "J", "heat that a start lacks after a long rest"),
    ("start_lag", "s", "its time constant in the rest"),
    ("backup", "W", "backup heat on the second stage"),
    ("backup_defrost", "W", "backup heat in a defrost"),
    ("lockout", "degC", "compressor does not run below"),
    ("air", "W/K", "heat capacity rate of the indoor air"),
    ("blower_heat", "W", "part of capacity that the blower gives"),
    ("cold", "degC", "supply air below this is counted as cold"),
    ("fan_on", "1", "1: outdoor fan left on in defrosts"),
)  # fmt: skip
(
    P_CAPACITY, P_CAPACITY_SLOPE, P_POWER, P_POWER_SLOPE, P_SIZE, P_GROWTH, P_DEFROST, P_FROST_FREE,
    P_INTERVAL, P_DEMAND, P_SPLIT, P_LEARN, P_LEAST, P_LONGEST, P_CLOSES, P_OPENS, P_STUCK, P_ALWAYS,
    P_CONDUCTANCE, P_GAIN, P_SET, P_AIR_STORE, P_MASS_STORE, P_MASS, P_SWING, P_SECOND, P_CYCLES,
    P_START_HEAT, P_START_LAG, P_BACKUP, P_BACKUP_DEFROST, P_LOCKOUT, P_AIR, P_BLOWER_HEAT, P_COLD, P_FAN_ON,
) = range(36)  # fmt: skip

OUTPUTS = (
    ("heat", "J", "to the house from the unit, what defrosts take off"),
    ("power", "J", "electricity of the unit"),
    ("backup", "J", "backup heat on the second stage"),
    ("backup_defrost", "J", "backup heat in defrosts"),
    ("load", "J", "what the house loses at its temperature"),
    ("defrosts", "1", "started"),
    ("needless", "1", "of these, begun with less than 3 % of capacity lost to frost"),
    ("timed_out", "1", "of these, ended by the longest defrost"),
    ("defrost_time", "s", "in defrosts"),
    ("defrost_power", "J", "electricity of defrosts, with what the next ten minutes lack"),
    ("defrost_heat", "J", "heat they take from the house, with what the next ten minutes lack"),
    ("run", "s", "compressor runs in heating"),
    ("frost_made", "kg", "frost grown"),
    ("most_frost", "kg", "most frost on the coil"),
    ("left_frost", "kg", "most frost left after a defrost"),
    ("iced", "s", "run time with more than a fifth of capacity lost to frost"),
    ("coldest", "degC", "coldest supply air"),
    ("cold", "s", "supply air below the mark"),
    ("short", "J", "heat that neither unit nor backup gives"),
)
(
    O_HEAT, O_POWER, O_BACKUP, O_BACKUP_DEFROST, O_LOAD, O_DEFROSTS, O_NEEDLESS, O_TIMED_OUT, O_DEFROST_TIME,
    O_DEFROST_POWER, O_DEFROST_HEAT, O_RUN, O_FROST_MADE, O_MOST_FROST, O_LEFT_FROST, O_ICED, O_COLDEST,
    O_COLD, O_SHORT,
) = range(19)  # fmt: skip
N_OUT = len(OUTPUTS)

STEP_S = 600.0
COOLS_S = 70.0
"""The sensor has cooled down this long after a start: the bench's own. [s]"""
GOLDEN = 0.6180339887
ICE_AREA = 917.0 * 20.5
"""kg per metre of solid ice on the bench's coil."""
NEEDLESS = 0.97
ICED = 0.80
SPARE_K = 3.0
"""A house this far above its setting has its windows opened: our own judgement. [K]"""
SHORT_K = 5.0
"""A house this far below its setting is held there by something else, which is counted as short. [K]"""


@kernel
def find(nodes: Flat, value: float, count: int) -> int:
    """Index of the last node at or below value, at most count - 2."""
    low, high = 0, count - 2
    while low < high:
        middle = (low + high + 1) // 2
        if nodes[middle] <= value:
            low = middle
        else:
            high = middle - 1
    return low


@kernel
def part(nodes: Flat, at: int, value: float) -> float:
    """Place of value between node `at` and the next, 0 to 1."""
    w = (value - nodes[at]) / (nodes[at + 1] - nodes[at])
    return min(max(w, 0.0), 1.0)


@kernel
def melted(
    table: Flat,
    it: int,
    wt: float,
    frosts: Flat,
    n_frosts: int,
    rests: Flat,
    n_rests: int,
    m: float,
    rest: float,
) -> float:
    """Kilograms in a rest: table (temperatures, frosts, rests), straight between its nodes."""
    j, k = find(frosts, m, n_frosts), find(rests, rest, n_rests)
    w, v = part(frosts, j, m), part(rests, k, rest)
    a = (it * n_frosts + j) * n_rests + k
    b = a + n_rests * n_frosts
    low = (1.0 - wt) * ((1.0 - v) * table[a] + v * table[a + 1])
    low = low + wt * ((1.0 - v) * table[b] + v * table[b + 1])
    a, b = a + n_rests, b + n_rests
    high = (1.0 - wt) * ((1.0 - v) * table[a] + v * table[a + 1])
    high = high + wt * ((1.0 - v) * table[b] + v * table[b + 1])
    if m < frosts[0]:
        # Below the least frost of the table as much as there is, in its proportion.
        return low * m / frosts[0]
    return min((1.0 - w) * low + w * high, m)


@kernel
def of_defrost(
    table: Flat,
    kind: int,
    it: int,
    wt: float,
    n_temp: int,
    j: int,
    w: float,
    n_frost: int,
    k: int,
    v: float,
    n_open: int,
) -> float:
    """One number of a defrost: table (kinds, temperatures, frosts, openings)."""
    a = ((kind * n_temp + it) * n_frost + j) * n_open + k
    b = a + n_frost * n_open
    cold = (1.0 - w) * ((1.0 - v) * table[a] + v * table[a + 1])
    cold = cold + w * ((1.0 - v) * table[a + n_open] + v * table[a + n_open + 1])
    mild = (1.0 - w) * ((1.0 - v) * table[b] + v * table[b + 1])
    mild = mild + w * ((1.0 - v) * table[b + n_open] + v * table[b + n_open + 1])
    return (1.0 - wt) * cold + wt * mild


@kernel
def winter(
    p: Flat,
    hours: int,
    step_s: float,
    temps: Flat,
    slot: Flat,
    thicks: Flat,
    n_thick: int,
    q_of: Flat,
    p_of: Flat,
    g_of: Flat,
    h_of: Flat,
    s_of: Flat,
    frosts: Flat,
    n_frost: int,
    opens: Flat,
    n_open: int,
    table_temps: Flat,
    n_temp: int,
    defrost_of: Flat,
    fan_of: Flat,
    fall_of: Flat,
    levels: Flat,
    n_level: int,
    rest_frosts: Flat,
    n_rest_frost: int,
    rests: Flat,
    n_rest: int,
    melt_of: Flat,
    drain_of: Flat,
    out: Flat,
    by_slot: Flat,
) -> None:
    """Run one unit through `hours` steps of `step_s` and fill `out` (OUTPUTS) and `by_slot` (slots, 6)."""
    size = p[P_SIZE]
    # The house falls from where calls end to its second stage: 0.7 of the swing by comparison with the bench.
    falls = p[P_SECOND] + 0.7 * p[P_SWING]
    m = 0.0
    x = 0.0
    clock = 0.0
    since = 0.0
    clean = -1.0
    closed = 0.0
    lag = 0.0
    air_k = 0.0
    mass_k = 0.0
    ran = 1.0
    staged = 0.0
    carry = 0.0
    out[O_COLDEST] = 99.0
    if p[P_STUCK] > 0.5:
        closed = 1.0
    ko = find(opens, p[P_OPENS], n_open)
    # Beyond the table's opening ratings its last slope goes on.
    wo = (p[P_OPENS] - opens[ko]) / (opens[ko + 1] - opens[ko])
    kc = find(levels, -p[P_CLOSES], n_level)
    wc = part(levels, kc, -p[P_CLOSES])
    for i in range(hours - 1):
        left = step_s + carry
        carry = 0.0
        mean = 0.5 * (temps[i] + temps[i + 1])
        here = 6 * int(slot[i + 1])
        if (
            m <= 1e-4
            and air_k <= -SPARE_K + 1e-9
            and mass_k <= -SPARE_K + 0.1
            and p[P_CONDUCTANCE] * (p[P_SET] - min(temps[i], temps[i + 1])) <= p[P_GAIN]
        ):
            if mean >= p[P_OPENS] and p[P_STUCK] < 0.5:
                closed = 0.0
                clock = 0.0
            continue
        while left > 1.0:
            s = min(left, STEP_S)
            f = min(max(1.0 - (left - 0.5 * s) / step_s, 0.0), 1.0)
            t = temps[i] + f * (temps[i + 1] - temps[i])
            # Growth at the thickness in the middle of the step, by a first look at its start.
            k = find(thicks, x, n_thick)
            w = part(thicks, k, x)
            a, b = i * n_thick + k, (i + 1) * n_thick + k
            h = (1.0 - f) * ((1.0 - w) * h_of[a] + w * h_of[a + 1])
            h = p[P_GROWTH] * (h + f * ((1.0 - w) * h_of[b] + w * h_of[b + 1]))
            middle = max(x + 0.5 * h * s * ran, 0.0)
            k = find(thicks, middle, n_thick)
            w = part(thicks, k, middle)
            a, b = i * n_thick + k, (i + 1) * n_thick + k
            c0, c1, c2, c3 = (1.0 - f) * (1.0 - w), (1.0 - f) * w, f * (1.0 - w), f * w
            scale = p[P_CAPACITY] + p[P_CAPACITY_SLOPE] * t
            q = scale * (c0 * q_of[a] + c1 * q_of[a + 1] + c2 * q_of[b] + c3 * q_of[b + 1])
            q0 = scale * ((1.0 - f) * q_of[i * n_thick] + f * q_of[(i + 1) * n_thick])
            watt = c0 * p_of[a] + c1 * p_of[a + 1] + c2 * p_of[b] + c3 * p_of[b + 1]
            watt = watt * (p[P_POWER] + p[P_POWER_SLOPE] * t)
            sensor = c0 * s_of[a] + c1 * s_of[a + 1] + c2 * s_of[b] + c3 * s_of[b + 1]
            g = size * p[P_GROWTH] * (c0 * g_of[a] + c1 * g_of[a + 1] + c2 * g_of[b] + c3 * g_of[b + 1])
            h = p[P_GROWTH] * (c0 * h_of[a] + c1 * h_of[a + 1] + c2 * h_of[b] + c3 * h_of[b + 1])
            idle = p[P_CONDUCTANCE] * (p[P_SET] - t) - p[P_GAIN]
            need = idle + p[P_AIR_STORE] * air_k / s + p[P_MASS] * mass_k
            runs = 1.0
            starts = 0.0
            rest = s
            if t < p[P_LOCKOUT]:
                runs = 0.0
            elif need <= 0.0:
                # The house holds more than it needs.
                runs = 0.0
            elif need < q:
                runs = need / q
                for _ in range(2):
                    rest = 3600.0 / (4.0 * p[P_CYCLES] * q * max(runs, 1e-3))
                    starts = 4.0 * p[P_CYCLES] * q * runs * (1.0 - runs)
                    lost = starts / 3600.0 * p[P_START_HEAT] * size * (1.0 - math.exp(-rest / p[P_START_LAG]))
                    runs = min((need + lost) / q, 1.0)
            run = runs * s
            ran = runs
            # The contact, and what the clocks leave of the step before a defrost.
            if p[P_STUCK] < -0.5:
                if lag > 0.0 and run < lag:
                    lag = lag - run
                elif closed < 0.5 and run > 0.0 and sensor <= p[P_CLOSES]:
                    closed = 1.0
                elif closed > 0.5 and t >= p[P_OPENS] and runs < 1.0:
                    closed = 0.0
                if closed < 0.5 and p[P_ALWAYS] < 0.5:
                    clock = 0.0
                elif lag > 0.0:
                    # It closes within the step: the clock counts from there.
                    if p[P_ALWAYS] < 0.5:
                        clock = -lag
                    lag = 0.0
            asks = False
            share = 1.0
            counts = closed > 0.5 or p[P_ALWAYS] > 0.5
            if run > 0.0 and p[P_FROST_FREE] < 0.5:
                if counts and clock + run >= p[P_INTERVAL]:
                    share = max((p[P_INTERVAL] - clock) / run, 0.0)
                    asks = True
                if p[P_DEMAND] > 0.5:
                    if clean < 0.0:
                        if since + run >= p[P_LEARN]:
                            first = max((p[P_LEARN] - since) / run, 0.0)
                            if first < share:
                                share = first
                                asks = False
                    elif closed > 0.5:
                        gone = x + h * run * share
                        k2 = find(thicks, gone, n_thick)
                        w2 = part(thicks, k2, gone)
                        a2, b2 = i * n_thick + k2, (i + 1) * n_thick + k2
                        then = (1.0 - f) * ((1.0 - w2) * s_of[a2] + w2 * s_of[a2 + 1]) + f * (
                            (1.0 - w2) * s_of[b2] + w2 * s_of[b2 + 1]
                        )
                        grown, grows = t - sensor - clean, t - then - clean
                        if grows >= p[P_SPLIT] and since + run * share >= p[P_LEAST]:
                            # The split is known in the middle and at the end of the step.
                            where = share
                            if grows > grown + 1e-9:
                                where = share * (0.5 + 0.5 * (p[P_SPLIT] - grown) / (grows - grown))
                            where = max(where, (p[P_LEAST] - since) / run)
                            share = min(share, max(where, 0.0))
                            asks = True
            s = s * share
            run = run * share
            if counts:
                clock = clock + run
            since = since + run
            if p[P_DEMAND] > 0.5 and clean < 0.0 and since >= p[P_LEARN] - 1e-3:
                # Soon after a start the sensor is still warm, and a split learnt then is too small. When in a
                # run the time comes is as good as chance: evenly spread from defrost to defrost.
                cold = 1.0
                if runs < 1.0 and starts > 0.0:
                    phase = out[O_DEFROSTS] * GOLDEN
                    phase = (phase - math.floor(phase)) * runs * 3600.0 / starts
                    cold = min(phase / COOLS_S, 1.0)
                clean = max(t - sensor, 0.0) * cold
            # Heat and power of the step.
            given = q * run - starts * s / 3600.0 * p[P_START_HEAT] * size * (
                1.0 - math.exp(-rest / p[P_START_LAG])
            )
            given = max(given, 0.0)
            stiff = p[P_AIR_STORE] / max(s, 1.0) + p[P_CONDUCTANCE] + p[P_MASS]
            want = p[P_AIR_STORE] * air_k + (idle + p[P_MASS] * mass_k) * s
            air_k = (want - given) / max(s, 1.0) / stiff
            extra = 0.0
            if staged < 0.5 and air_k >= falls:
                staged = 1.0
            if staged > 0.5:
                extra = max(min(p[P_BACKUP], air_k * stiff), 0.0)
                air_k = air_k - extra / stiff
                if air_k <= 1e-6:
                    staged = 0.0
            if air_k > SHORT_K:
                out[O_SHORT] += (air_k - SHORT_K) * stiff * s
                air_k = SHORT_K
            air_k = max(air_k, -SPARE_K)
            load = idle - p[P_CONDUCTANCE] * air_k
            mass_k = (p[P_MASS_STORE] * mass_k / max(s, 1.0) + p[P_MASS] * air_k) / (
                p[P_MASS_STORE] / max(s, 1.0) + p[P_MASS]
            )
            extra = extra * s
            out[O_HEAT] += given
            out[O_POWER] += watt * run
            out[O_BACKUP] += extra
            out[O_LOAD] += load * s
            out[O_RUN] += run
            by_slot[here] += given
            by_slot[here + 1] += watt * run
            by_slot[here + 2] += extra
            by_slot[here + 4] += load * s
            if run > 0.0:
                out[O_COLDEST] = min(out[O_COLDEST], p[P_SET] + q / p[P_AIR])
                if q < ICED * q0:
                    out[O_ICED] += run
            # Frost: grown in running, melted in rests.
            if p[P_FROST_FREE] < 0.5:
                grown = g * run
                if grown > 0.0:
                    out[O_FROST_MADE] += grown
                m = max(m + grown, 0.0)
                x = max(x + h * run, 0.0)
                if runs < 1.0 and m > 0.0 and t > -1.0:
                    it = find(table_temps, t, n_temp)
                    wt = part(table_temps, it, t)
                    if starts > 0.0:
                        length, number = min(rest, 3600.0), starts * s / 3600.0
                    else:
                        length, number = 3600.0, s / 3600.0
                    kg = m / size
                    gone = melted(melt_of, it, wt, rest_frosts, n_rest_frost, rests, n_rest, kg, length)
                    off = melted(drain_of, it, wt, rest_frosts, n_rest_frost, rests, n_rest, kg, length)
                    gone = min(gone * number, kg)
                    off = min(off * number, gone)
                    x = x * (1.0 - gone / kg) + (gone - off) / ICE_AREA
                    m = m - off * size
                if m < 1e-4:
                    m = 0.0
                    x = 0.0
                out[O_MOST_FROST] = max(out[O_MOST_FROST], m)
            left = left - s
            if not asks:
                if s < 1e-6:
                    left = left - 1.0
                continue
            if closed < 0.5:
                # Its time is over with the sensor open: the clock begins anew.
                clock = 0.0
                continue
            # A defrost.
            kg = m / size
            j = find(frosts, kg, n_frost)
            wj = part(frosts, j, kg)
            it = find(table_temps, t, n_temp)
            wt = part(table_temps, it, t)
            lasts = of_defrost(defrost_of, 0, it, wt, n_temp, j, wj, n_frost, ko, wo, n_open) * p[P_DEFROST]
            takes = of_defrost(defrost_of, 1, it, wt, n_temp, j, wj, n_frost, ko, wo, n_open) * p[P_DEFROST]
            takes = takes * size
            draws = of_defrost(defrost_of, 2, it, wt, n_temp, j, wj, n_frost, ko, wo, n_open) * p[P_DEFROST]
            draws = draws * (p[P_POWER] + p[P_POWER_SLOPE] * t)
            usual = of_defrost(defrost_of, 5, it, wt, n_temp, j, wj, n_frost, ko, wo, n_open) * size
            if p[P_STUCK] > 0.5 and lasts < p[P_LONGEST]:
                # The sensor never ends it: what follows the melting warms the yard.
                takes = takes + usual * (p[P_LONGEST] - lasts)
                draws = draws * p[P_LONGEST] / lasts
                lasts = p[P_LONGEST]
                out[O_TIMED_OUT] += 1.0
            stays = of_defrost(defrost_of, 3, it, wt, n_temp, j, wj, n_frost, ko, wo, n_open) * size
            least = of_defrost(defrost_of, 4, it, wt, n_temp, j, wj, n_frost, ko, wo, n_open) * size
            if p[P_FAN_ON] > 0.5:
                slow = (1.0 - wt) * fan_of[it] + wt * fan_of[it + 1]
                lasts = lasts * slow
                takes = takes * slow
                draws = draws * slow
            if lasts > p[P_LONGEST]:
                # Melting fills what lies between the first half minute and the last.
                done = max((p[P_LONGEST] - 30.0) / (lasts - 30.0), 0.0)
                stays = max(m * (1.0 - done), stays)
                takes = takes * p[P_LONGEST] / lasts
                draws = draws * p[P_LONGEST] / lasts
                lasts = p[P_LONGEST]
                out[O_TIMED_OUT] += 1.0
                x = x * stays / max(m, 1e-6)
            else:
                x = stays / size / ICE_AREA
            stays = min(stays, m)
            if q > NEEDLESS * q0:
                out[O_NEEDLESS] += 1.0
            m = stays
            out[O_DEFROSTS] += 1.0
            out[O_DEFROST_TIME] += lasts
            out[O_DEFROST_POWER] += draws
            out[O_DEFROST_HEAT] -= takes
            out[O_HEAT] += takes
            out[O_POWER] += draws
            out[O_LEFT_FROST] = max(out[O_LEFT_FROST], m)
            extra = p[P_BACKUP_DEFROST] * lasts
            out[O_BACKUP_DEFROST] += extra
            by_slot[here + 3] += extra
            lost = max(idle - p[P_CONDUCTANCE] * air_k, 0.0) * lasts
            out[O_LOAD] += lost
            stiff = p[P_AIR_STORE] / lasts + p[P_CONDUCTANCE] + p[P_MASS]
            want = p[P_AIR_STORE] * air_k + (idle + p[P_MASS] * mass_k) * lasts
            air_k = (want - takes - extra) / lasts / stiff
            # Where a defrost brings the house to its second stage, this runs beside the unit until the air is
            # back.
            if air_k >= falls and p[P_BACKUP] > 0.0 and staged < 0.5:
                rate = max(q + p[P_BACKUP] - idle - p[P_MASS] * mass_k, 0.2 * p[P_BACKUP])
                holds = p[P_AIR_STORE] + p[P_MASS] * STEP_S * 0.5
                extra = p[P_BACKUP] * holds * air_k / rate
                air_k = air_k - extra / holds
                out[O_BACKUP] += extra
                by_slot[here + 2] += extra
            by_slot[here] += takes
            by_slot[here + 1] += draws
            by_slot[here + 4] += lost
            by_slot[here + 5] += 1.0
            cold = p[P_SET] + (least + p[P_BACKUP_DEFROST]) / p[P_AIR]
            out[O_COLDEST] = min(out[O_COLDEST], cold)
            if p[P_SET] + (usual + p[P_BACKUP_DEFROST]) / p[P_AIR] < p[P_COLD]:
                out[O_COLD] += lasts
            clock = 0.0
            since = 0.0
            clean = -1.0
            if p[P_STUCK] < -0.5:
                closed = 0.0
                a, b = it * n_level + kc, (it + 1) * n_level + kc
                lag = (1.0 - wt) * ((1.0 - wc) * fall_of[a] + wc * fall_of[a + 1])
                lag = lag + wt * ((1.0 - wc) * fall_of[b] + wc * fall_of[b + 1])
                if lag > 1800.0:
                    lag = 0.0
            left = left - lasts
        carry = min(left, 0.0)

"""The board's logic: clocks that run, guards that rise through zero, and what follows.

Between switches every clock runs evenly, so that the time of the next one is known (`due`) and stepped to
exactly. What depends on the plant is a guard (`guards`): the integrator finds the moment at which one rises
through zero and lands on it. At each such moment `decide` moves the board on until nothing changes.
"""

from __future__ import annotations

from firstfrost.bench.board.index import (
    B_BACKUP_DEFROST_W,
    B_BACKUP_RELAY,
    B_BACKUP_STAGE_W,
    B_BLOWER_OFF_S,
    B_CLOSES_C,
    B_COUNT_ALWAYS,
    B_DEAD,
    B_DEMAND,
    B_DEMAND_LEARN_S,
    B_DEMAND_LEAST_S,
    B_DEMAND_SPLIT_K,
    B_END_DELAY_S,
    B_FAN_RELAY,
    B_HP_CLOSES_PA,
    B_HP_LOCKS,
    B_HP_OPENS_PA,
    B_INTERVAL_S,
    B_LONGEST_S,
    B_LP_CLOSES_PA,
    B_LP_DELAY_S,
    B_LP_LOCKS,
    B_LP_OPENS_PA,
    B_OPENS_C,
    B_PINS_NEED_SENSOR,
    B_PINS_SPEED,
    B_RESET_ON_OPEN,
    B_REST_S,
    B_SECOND_K,
    B_SENSOR_STUCK,
    B_SET_C,
    B_STAGE_DEFROST_ON,
    B_STAGE_HOUSE_ON,
    B_START_DELAY_S,
    B_SWING_K,
    B_THERMOSTAT,
    B_TIMER_RATE,
    B_VALVE_RELAY,
)
from firstfrost.bench.board.layout import (
    D_BACKUP,
    D_BLOWER,
    D_BLOWER_LEFT,
    D_CALL,
    D_CLEAN_SPLIT,
    D_CLOCK,
    D_COMP,
    D_CONTACT,
    D_DEFROST_TIME,
    D_DEFROSTS,
    D_DELAY,
    D_ENDED_BY,
    D_FAN,
    D_HAND_CALL,
    D_HAND_FAN,
    D_HAND_JUMPER,
    D_HAND_PINS,
    D_HIGH,
    D_HIGH_TRIPS,
    D_LOCKED,
    D_LOW,
    D_LOW_TRIPS,
    D_MODE,
    D_REST,
    D_RUN,
    D_SECOND,
    D_SENSED,
    D_SINCE,
    D_VALVE,
)
from firstfrost.bench.kernel import Flat, kernel

NEVER = 1e30
CLOSE = 1e-7
"""A clock this near to its end [s] has run out."""


@kernel
def clock_rate(d: Flat, b: Flat) -> float:
    """Seconds the defrost clock counts in a second."""
    if d[D_MODE] != 1.0 or d[D_COMP] < 0.5 or b[B_DEAD] > 0.5:
        return 0.0
    fast = d[D_HAND_PINS] > 0.5 and (b[B_PINS_NEED_SENSOR] < 0.5 or d[D_SENSED] > 0.5)
    counts = fast or b[B_COUNT_ALWAYS] > 0.5 or d[D_SENSED] > 0.5
    if not counts:
        return 0.0
    if fast:
        return b[B_TIMER_RATE] * b[B_PINS_SPEED]
    return b[B_TIMER_RATE]


@kernel
def advance(d: Flat, b: Flat, dt: float) -> None:
    """Run all clocks on by dt [s]."""
    d[D_CLOCK] = d[D_CLOCK] + dt * clock_rate(d, b)
    if d[D_COMP] > 0.5:
        d[D_RUN] = d[D_RUN] + dt
        if d[D_MODE] == 1.0:
            d[D_SINCE] = d[D_SINCE] + dt
    else:
        d[D_REST] = d[D_REST] + dt
    if d[D_MODE] == 3.0:
        d[D_DEFROST_TIME] = d[D_DEFROST_TIME] + dt
    if d[D_MODE] == 2.0 or d[D_MODE] == 4.0:
        d[D_DELAY] = d[D_DELAY] - dt
    if d[D_BLOWER_LEFT] > 0.0:
        d[D_BLOWER_LEFT] = max(d[D_BLOWER_LEFT] - dt, 0.0)


@kernel
def due(d: Flat, b: Flat) -> float:
    """Time [s] to the next moment a clock runs out."""
    left = NEVER
    rate = clock_rate(d, b)
    if rate > 0.0 and d[D_CLOCK] < b[B_INTERVAL_S]:
        left = min(left, (b[B_INTERVAL_S] - d[D_CLOCK]) / rate)
    if d[D_MODE] == 3.0:
        left = min(left, b[B_LONGEST_S] - d[D_DEFROST_TIME])
    if d[D_MODE] == 2.0 or d[D_MODE] == 4.0:
        left = min(left, d[D_DELAY])
    if d[D_COMP] < 0.5 and d[D_REST] < b[B_REST_S]:
        left = min(left, b[B_REST_S] - d[D_REST])
    if d[D_COMP] > 0.5 and d[D_RUN] < b[B_LP_DELAY_S]:
        left = min(left, b[B_LP_DELAY_S] - d[D_RUN])
    if d[D_BLOWER_LEFT] > 0.0:
        left = min(left, d[D_BLOWER_LEFT])
    if b[B_DEMAND] > 0.5 and d[D_MODE] == 1.0 and d[D_COMP] > 0.5:
        if d[D_SINCE] < b[B_DEMAND_LEARN_S]:
            left = min(left, b[B_DEMAND_LEARN_S] - d[D_SINCE])
        if d[D_SINCE] < b[B_DEMAND_LEAST_S]:
            left = min(left, b[B_DEMAND_LEAST_S] - d[D_SINCE])
    return left


@kernel
def guards(
    d: Flat,
    b: Flat,
    sensor_c: float,
    air_c: float,
    house_c: float,
    suction_pa: float,
    discharge_pa: float,
    g: Flat,
) -> None:
    """Fill g (`N_GUARDS`): each switches its part when it is not below zero.

    0 coil sensor's contact, 1 high pressure switch, 2 low pressure switch, 3 thermostat, 4 its second stage,
    5 demand control's split. A part that cannot switch stays at -1.
    """
    if b[B_SENSOR_STUCK] >= 0.0:
        g[0] = -1.0
    elif d[D_CONTACT] > 0.5:
        g[0] = sensor_c - b[B_OPENS_C]
    else:
        g[0] = b[B_CLOSES_C] - sensor_c
    if d[D_HIGH] > 0.5:
        g[1] = 1e-5 * (b[B_HP_CLOSES_PA] - discharge_pa)
    else:
        g[1] = 1e-5 * (discharge_pa - b[B_HP_OPENS_PA])
    if d[D_LOW] > 0.5:
        g[2] = 1e-5 * (suction_pa - b[B_LP_CLOSES_PA])
    else:
        g[2] = 1e-5 * (b[B_LP_OPENS_PA] - suction_pa)
    g[3] = -1.0
    g[4] = -1.0
    if b[B_THERMOSTAT] > 0.5:
        half = 0.5 * b[B_SWING_K]
        if d[D_CALL] > 0.5:
            g[3] = house_c - b[B_SET_C] - half
        else:
            g[3] = b[B_SET_C] - half - house_c
        if d[D_SECOND] > 0.5:
            g[4] = house_c - b[B_SET_C]
        else:
            g[4] = b[B_SET_C] - b[B_SECOND_K] - house_c
    g[5] = -1.0
    if (
        b[B_DEMAND] > 0.5
        and d[D_MODE] == 1.0
        and d[D_COMP] > 0.5
        and d[D_SENSED] > 0.5
        and d[D_CLEAN_SPLIT] >= 0.0
        and d[D_SINCE] >= b[B_DEMAND_LEAST_S] - CLOSE
        and b[B_DEAD] < 0.5
    ):
        g[5] = air_c - sensor_c - d[D_CLEAN_SPLIT] - b[B_DEMAND_SPLIT_K]


@kernel
def start_defrost(d: Flat, b: Flat) -> None:
    """Leave heating for a defrost."""
    d[D_DEFROST_TIME] = 0.0
    d[D_DEFROSTS] = d[D_DEFROSTS] + 1.0
    d[D_ENDED_BY] = 0.0
    if b[B_START_DELAY_S] > 0.0:
        d[D_MODE] = 2.0
        d[D_DELAY] = b[B_START_DELAY_S]
    else:
        d[D_MODE] = 3.0


@kernel
def end_defrost(d: Flat, b: Flat, by: float) -> None:
    """Leave a defrost for heating."""
    d[D_ENDED_BY] = by
    d[D_CLOCK] = 0.0
    d[D_SINCE] = 0.0
    d[D_CLEAN_SPLIT] = -1.0
    if b[B_END_DELAY_S] > 0.0:
        d[D_MODE] = 4.0
        d[D_DELAY] = b[B_END_DELAY_S]
    else:
        d[D_MODE] = 1.0


@kernel
def flip(d: Flat, b: Flat, g: Flat) -> bool:
    """Switch each part whose guard has risen to zero. Gives whether demand control asks for a defrost."""
    if g[0] >= 0.0:
        d[D_CONTACT] = 1.0 - d[D_CONTACT]
    if g[1] >= 0.0:
        d[D_HIGH] = 1.0 - d[D_HIGH]
        d[D_HIGH_TRIPS] = d[D_HIGH_TRIPS] + d[D_HIGH]
    if g[2] >= 0.0:
        d[D_LOW] = 1.0 - d[D_LOW]
        d[D_LOW_TRIPS] = d[D_LOW_TRIPS] + d[D_LOW]
    if g[3] >= 0.0:
        d[D_CALL] = 1.0 - d[D_CALL]
    if g[4] >= 0.0:
        d[D_SECOND] = 1.0 - d[D_SECOND]
    return g[5] >= 0.0


@kernel
def modes(d: Flat, b: Flat, asked: bool, air_c: float, sensor_c: float) -> None:
    """Move the board's mode on by what has switched and what clock has run out."""
    called = d[D_CALL] > 0.5 and d[D_HAND_CALL] > 0.5
    if not called:
        d[D_HIGH_TRIPS] = d[D_LOW_TRIPS] = d[D_LOCKED] = 0.0
    elif (b[B_HP_LOCKS] > 0.5 and d[D_HIGH_TRIPS] >= b[B_HP_LOCKS]) or (
        b[B_LP_LOCKS] > 0.5 and d[D_LOW_TRIPS] >= b[B_LP_LOCKS]
    ):
        d[D_LOCKED] = 1.0
    low = d[D_LOW] > 0.5 and d[D_MODE] != 3.0 and d[D_RUN] >= b[B_LP_DELAY_S] - CLOSE
    may_run = called and d[D_HIGH] < 0.5 and not low and d[D_LOCKED] < 0.5
    mode = d[D_MODE]
    if mode == 0.0:
        rested = d[D_REST] >= b[B_REST_S] - CLOSE
        # A low pressure switch still open keeps a stopped compressor from starting.
        if called and d[D_HIGH] < 0.5 and d[D_LOW] < 0.5 and d[D_LOCKED] < 0.5 and rested:
            d[D_MODE] = 1.0
            d[D_RUN] = 0.0
    elif mode == 3.0:
        if not may_run:
            by = 3.0 if called else 4.0
            kept = d[D_CLOCK]
            end_defrost(d, b, by)
            d[D_CLOCK] = kept
            d[D_MODE] = 0.0
        elif d[D_SENSED] < 0.5:
            end_defrost(d, b, 1.0)
        elif d[D_DEFROST_TIME] >= b[B_LONGEST_S] - CLOSE:
            end_defrost(d, b, 2.0)
    elif not may_run:
        d[D_MODE] = 0.0
    elif mode == 2.0:
        if d[D_DELAY] <= CLOSE:
            d[D_MODE] = 3.0
    elif mode == 4.0:
        if d[D_DELAY] <= CLOSE:
            d[D_MODE] = 1.0
    else:
        if b[B_DEMAND] > 0.5 and d[D_CLEAN_SPLIT] < 0.0 and d[D_SINCE] >= b[B_DEMAND_LEARN_S] - CLOSE:
            d[D_CLEAN_SPLIT] = max(air_c - sensor_c, 0.0)
        if d[D_SENSED] < 0.5 and b[B_COUNT_ALWAYS] < 0.5 and b[B_RESET_ON_OPEN] > 0.5:
            d[D_CLOCK] = 0.0
        out_of_time = d[D_CLOCK] >= b[B_INTERVAL_S] - CLOSE
        if out_of_time and d[D_SENSED] < 0.5 and b[B_COUNT_ALWAYS] > 0.5:
            d[D_CLOCK] = 0.0
        elif (out_of_time or asked) and d[D_SENSED] > 0.5 and b[B_DEAD] < 0.5:
            start_defrost(d, b)


@kernel
def outputs(d: Flat, b: Flat) -> None:
    """Set the outputs by mode, relays and hand."""
    called = d[D_CALL] > 0.5 and d[D_HAND_CALL] > 0.5
    mode = d[D_MODE]
    runs = 1.0 if mode == 1.0 or mode == 3.0 else 0.0
    if runs < 0.5 and d[D_COMP] > 0.5:
        d[D_REST] = 0.0
    if runs > 0.5 and d[D_COMP] < 0.5:
        d[D_RUN] = 0.0
    d[D_COMP] = runs
    d[D_VALVE] = 1.0 if mode == 3.0 or mode == 4.0 else 0.0
    if b[B_VALVE_RELAY] == 1.0:
        d[D_VALVE] = 1.0 if called else 0.0
    elif b[B_VALVE_RELAY] == 2.0:
        d[D_VALVE] = 0.0
    d[D_FAN] = 1.0 if mode == 1.0 or mode == 4.0 else 0.0
    if b[B_FAN_RELAY] == 1.0:
        d[D_FAN] = 1.0 if mode != 0.0 else 0.0
    elif b[B_FAN_RELAY] == 2.0:
        d[D_FAN] = 0.0
    if d[D_HAND_FAN] < 0.5:
        d[D_FAN] = 0.0
    house = b[B_BACKUP_STAGE_W] * b[B_STAGE_HOUSE_ON]
    melt = b[B_BACKUP_DEFROST_W] * b[B_STAGE_DEFROST_ON]
    power = 0.0
    if called and d[D_SECOND] > 0.5:
        power = house
    if (mode == 3.0 and b[B_BACKUP_RELAY] < 1.5) or (b[B_BACKUP_RELAY] == 1.0 and called):
        power = max(power, melt)
    d[D_BACKUP] = power
    if called:
        d[D_BLOWER] = 1.0
        d[D_BLOWER_LEFT] = 0.0
    elif d[D_BLOWER] > 0.5 and d[D_BLOWER_LEFT] <= 0.0:
        # The call has just gone, or the time to run on is over.
        d[D_BLOWER] = 0.0


@kernel
def decide(
    d: Flat,
    b: Flat,
    sensor_c: float,
    air_c: float,
    house_c: float,
    suction_pa: float,
    discharge_pa: float,
    g: Flat,
) -> None:
    """Move the board on until nothing changes. g is room for the guards."""
    if b[B_THERMOSTAT] < 0.5:
        d[D_CALL] = 1.0
    for _ in range(6):
        guards(d, b, sensor_c, air_c, house_c, suction_pa, discharge_pa, g)
        asked = flip(d, b, g)
        if b[B_SENSOR_STUCK] >= 0.0:
            d[D_CONTACT] = 1.0 if b[B_SENSOR_STUCK] > 0.5 else 0.0
        d[D_SENSED] = max(d[D_CONTACT], d[D_HAND_JUMPER])
        before = d[D_MODE]
        called_before = d[D_BLOWER] > 0.5 and d[D_BLOWER_LEFT] <= 0.0
        modes(d, b, asked, air_c, sensor_c)
        called = d[D_CALL] > 0.5 and d[D_HAND_CALL] > 0.5
        if called_before and not called and d[D_COMP] > 0.5:
            d[D_BLOWER_LEFT] = b[B_BLOWER_OFF_S]
        outputs(d, b)
        again = d[D_MODE] != before
        for i in range(5):
            if g[i] >= 0.0:
                again = True
        if not again:
            break

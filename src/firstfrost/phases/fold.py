"""The fold: one sample after the other, `state, sample -> state, events`.

The same function serves the live feed and the batch path, and, compiled, a great many logs: it only indexes
`state` (a list or a float64 array) and `sample` (likewise), so plain Python and a compiler run the same
arithmetic on it.

What it decides. A heat pump that runs carries heat one way or the other. While it heats, the outdoor coil
evaporates: it is the coldest point of the circuit (suction saturation <= coil < outdoor air), the vapor
line is hot and condensing saturation lies above the return air. When the reversing valve is shifted the
outdoor coil condenses: it warms past the outdoor air, or lies below suction saturation right after the
shift; the vapor line is cold, and condensing saturation falls to the temperature of the cold coil, below
the return air, which no heating machine can do. Each of these is a sign with a weight (a log-likelihood
ratio in nats, from plain thermodynamics and common practice rather than a fit); their sum `S`, smoothed
over `SMOOTH_S`, is the log-odds `L` that the circuit is turned. |L| beyond `DECIDE` changes the mode; what
lies between keeps the mode it had.

Where nothing tells that the compressor runs, a stop and a turn look alike at first: the pressures come
together in both. After a turn they part again, after a stop they do not; so there the signs of a turn wait
until the lift has grown again.

Electric power and supply air alone have a slower sign: power leaves its plateau while the supply air
sinks towards the room.

Beside the mode, the fold reads every two-state channel (contact, fan, backup heat, reversing valve coil,
compressor, call) with levels that it learns, so that a 0.6 A fan and a 2 A fan are both on.
"""

from __future__ import annotations

from typing import Any, Final

# What a sample holds, in this order; NaN where missing.
T: Final = 0  # time [s]
LOW: Final = 1  # dew temperature of suction pressure [degC]
HIGH: Final = 2  # dew temperature of high-side pressure [degC]
VAPOR: Final = 3  # vapor line [degC]
COIL: Final = 4  # outdoor coil [degC]
OUT: Final = 5  # outdoor air [degC]
SUPPLY: Final = 6  # supply air [degC]
RETURN: Final = 7  # return air [degC]
VOLTS: Final = 8  # across the coil sensor's contact [V]
FAN: Final = 9  # outdoor fan [A]
COMPRESSOR: Final = 10  # [A]
BACKUP: Final = 11  # [A]
VALVE: Final = 12  # reversing valve coil [V]
POWER: Final = 13  # [W]
CALL: Final = 14  # call for heat, volts or 0/1
ON_PURPOSE: Final = 15  # 1 while a mark says the outdoor air was stopped on purpose, else 0; NaN: not known
WIDTH: Final = 16

SAMPLE: Final = (
    "", "suction_pressure", "high_pressure", "vapor_line_temp", "outdoor_coil_temp", "outdoor_air_temp",
    "supply_air_temp", "return_air_temp", "sensor_voltage", "fan_current", "compressor_current",
    "backup_current", "valve_voltage", "power", "heating_call", "",
)  # fmt: skip

# Modes of the circuit.
UNKNOWN: Final = 0
OFF: Final = 1
HEAT: Final = 2
TURNED: Final = 3

# Signs, each with the sum of its votes since the mode began.
SIGN_VAPOR: Final = 0
SIGN_BETWEEN: Final = 1
SIGN_HIGH: Final = 2
SIGN_COIL: Final = 3
SIGN_AIR: Final = 4
SIGN_FAN: Final = 5
SIGN_POWER: Final = 6
SIGNS: Final = 7
SIGN_CHANNELS: Final = (
    ("vapor_line_temp",),
    ("outdoor_coil_temp", "suction_pressure", "high_pressure"),
    ("high_pressure",),
    ("outdoor_coil_temp", "outdoor_air_temp"),
    ("supply_air_temp",),
    ("fan_current",),
    ("power", "supply_air_temp"),
)

# Two-state channels: the state keeps, for each, where it is (-1 not known, 0, 1), since when, where it may be
# going, since when, and the level it has learnt.
SW_CONTACT: Final = 0  # 1 open, 0 closed
SW_FAN: Final = 1
SW_COMPRESSOR: Final = 2
SW_BACKUP: Final = 3
SW_VALVE: Final = 4
SW_CALL: Final = 5
SWITCHES: Final = 6
SWITCH_CHANNELS: Final = (
    "sensor_voltage", "fan_current", "compressor_current", "backup_current", "valve_voltage", "heating_call",
)  # fmt: skip

# The state.
S_T: Final = 0  # time of the last sample, NaN before the first
S_DT: Final = 1  # typical step
S_L: Final = 2  # log-odds that the circuit is turned
S_MODE: Final = 3
S_MODE_T: Final = 4  # when the mode began
S_RUN_T: Final = 5  # when the compressor last started
S_BEFORE: Final = 6  # the mode before the last stop
S_REST: Final = 7  # how long the last stop was
S_P0: Final = 8  # plateau of power
S_T0: Final = 9  # plateau of supply air
S_DIP_T: Final = 10  # when power left its plateau, NaN while on it
S_LOW_T: Final = 11  # since when power or lift says the compressor rests, NaN while it runs
S_P_TOP: Final = 12  # highest power
S_LIFT_T: Final = 13  # since when saturations lie together
S_WAS: Final = 14  # mode before this one
S_WEIGHT: Final = 15  # seconds summed into the votes
S_SUPPLY_LOW: Final = 16  # lowest supply air in a dip
S_LIFT_LOW: Final = 17  # lowest lift lately
S_STRONG: Final = 18  # 1 once a direct sign has been read
S_HAS: Final = 19  # 2 once the compressor's current was read, 1 once power was
S_VALVE_HEAT: Final = 20  # the valve coil's state in heating, -1 not known
S_LIFT_TOP: Final = 21  # highest lift of this mode
S_FELL: Final = 22  # 1 once the lift has fallen well below it
S_BACK_T: Final = 23  # since when the signs speak against the mode without the pressures' consent
S_UNSTEADY: Final = 24  # how far power strays from its plateau, as a share
S_RATE: Final = 25  # coil [K/s], smoothed
S_COIL: Final = 26  # the coil before
S_COIL_T: Final = 27
S_AIR_RATE: Final = 28  # supply air [K/s], smoothed
S_SUPPLY: Final = 29
S_COOLED_T: Final = 30  # when the coil last cooled fast
S_OFF_SPLIT: Final = 31  # coil above outdoor air when a rest was first seen
S_ABS: Final = 32  # the greatest |L| of the mode [nat]
S_LIFT_READ_T: Final = 33  # when both pressures were last read
S_VOTES: Final = 34
S_LAST_WEIGHT: Final = S_VOTES + SIGNS  # the same three of the mode before
S_LAST_ABS: Final = S_LAST_WEIGHT + 1
S_LAST_VOTES: Final = S_LAST_ABS + 1
S_SWITCH: Final = S_LAST_VOTES + SIGNS
STATE: Final = S_SWITCH + 5 * SWITCHES

# Events, bits of the number that `step` returns.
E_MODE: Final = 1
E_GAP: Final = 2
E_SWITCH: Final = 4  # shifted left by the switch's number

SMOOTH_S: Final = 4.0
DECIDE: Final = 1.2
START_S: Final = 150.0
SOON_S: Final = 45.0
HEAT_S: Final = 40.0
AGAINST_S: Final = 40.0
REST_POWER_S: Final = 90.0
REST_LIFT_S: Final = 90.0
DROP_OUT_S: Final = 20.0
ROOM_C: Final = 21.0
NAN: Final = float("nan")


def fresh() -> list[float]:
    """The state before the first sample."""
    state = [0.0] * STATE
    state[S_T] = NAN
    state[S_DT] = NAN
    state[S_MODE_T] = NAN
    state[S_RUN_T] = NAN
    state[S_P0] = NAN
    state[S_T0] = NAN
    state[S_DIP_T] = NAN
    state[S_LOW_T] = NAN
    state[S_LIFT_T] = NAN
    state[S_SUPPLY_LOW] = NAN
    state[S_LIFT_LOW] = NAN
    state[S_VALVE_HEAT] = -1.0
    state[S_BACK_T] = NAN
    state[S_COIL] = NAN
    state[S_COOLED_T] = NAN
    state[S_COIL_T] = NAN
    state[S_SUPPLY] = NAN
    state[S_LIFT_READ_T] = NAN
    for k in range(SWITCHES):
        state[S_SWITCH + 5 * k] = -1.0
        state[S_SWITCH + 5 * k + 2] = -1.0
    return state


def clip(value: float, low: float, high: float) -> float:
    """`value` held within [low, high]."""
    if value < low:
        return low
    if value > high:
        return high
    return value


def switch(s: Any, k: int, t: float, reading: float, on_at: float, off_at: float, hold: float) -> int:
    """Read one two-state channel; 1 when it has changed for good.

    A change counts from its first sample once it has lasted `hold` seconds more, so that a single
    spike is no change.
    """
    base = S_SWITCH + 5 * k
    if reading != reading:
        return 0
    now = s[base]
    if reading >= on_at:
        to = 1.0
    elif reading <= off_at:
        to = 0.0
    else:
        to = now
    if to == now:
        s[base + 2] = -1.0
        return 0
    if now < 0.0:
        s[base] = to
        s[base + 1] = t
        return 0
    if s[base + 2] != to:
        s[base + 2] = to
        s[base + 3] = t
    if t - s[base + 3] >= hold:
        s[base] = to
        s[base + 1] = s[base + 3]
        s[base + 2] = -1.0
        return 1
    return 0


def learnt(s: Any, k: int, reading: float) -> float:
    """The level that channel `k` has when on: the highest steady reading so far, sinking very slowly."""
    at = S_SWITCH + 5 * k + 4
    if reading == reading:
        level = s[at]
        if reading > level:
            s[at] = level + 0.5 * (reading - level)
        else:
            s[at] = level * 0.99999
    return float(s[at])


def enter(s: Any, mode: int, t: float) -> None:
    """Change the mode from time `t` on."""
    s[S_WAS] = s[S_MODE]
    s[S_MODE] = mode
    s[S_MODE_T] = t
    s[S_LAST_WEIGHT] = s[S_WEIGHT]
    s[S_LAST_ABS] = s[S_ABS]
    for k in range(SIGNS):
        s[S_LAST_VOTES + k] = s[S_VOTES + k]
    s[S_WEIGHT] = 0.0
    s[S_ABS] = 0.0
    s[S_LIFT_TOP] = 0.0
    s[S_FELL] = 0.0
    s[S_BACK_T] = NAN
    for k in range(SIGNS):
        s[S_VOTES + k] = 0.0


def resting(s: Any, x: Any, t: float) -> float:
    """Whether the compressor rests: 1 yes, 0 no, NaN not known; from the best channel there is."""
    compressor = s[S_SWITCH + 5 * SW_COMPRESSOR]
    if compressor >= 0.0:
        s[S_HAS] = 2.0
        return 1.0 - float(compressor)
    power = x[POWER]
    if power != power and s[S_HAS] == 1.0:
        return 1.0 if s[S_MODE] == OFF else 0.0
    if power == power:
        s[S_HAS] = 1.0
        if power > s[S_P_TOP]:
            s[S_P_TOP] += 0.5 * (power - s[S_P_TOP])
        top = s[S_P_TOP]
        if power > 0.09 * top and power > 60.0:
            s[S_LOW_T] = NAN
        elif s[S_LOW_T] != s[S_LOW_T]:
            s[S_LOW_T] = t
        if s[S_LOW_T] == s[S_LOW_T]:
            if t - s[S_LOW_T] >= REST_POWER_S:
                return 1.0
            return 1.0 if s[S_MODE] == OFF or s[S_MODE] == UNKNOWN else 0.0
        return 0.0
    lift = x[HIGH] - x[LOW]
    if lift != lift and t - s[S_LIFT_READ_T] < DROP_OUT_S:
        return 1.0 if s[S_MODE] == OFF else 0.0
    if lift == lift:
        s[S_LIFT_READ_T] = t
        if lift > 7.0 or at_work(s, x):
            s[S_LIFT_T] = NAN
            return 0.0
        if lift < 4.0 and s[S_LIFT_T] != s[S_LIFT_T]:
            s[S_LIFT_T] = t
        if s[S_LIFT_T] == s[S_LIFT_T] and t - s[S_LIFT_T] >= REST_LIFT_S:
            return 1.0
        return 1.0 if s[S_MODE] == OFF or (s[S_MODE] == UNKNOWN and lift < 4.0) else 0.0
    call = s[S_SWITCH + 5 * SW_CALL]
    if x[CALL] == x[CALL] and call >= 0.0:
        return 1.0 - float(call)
    return idle(s, x, t)


def at_work(s: Any, x: Any) -> bool:
    """Whether outputs or coil say that the compressor runs although the pressures lie together.

    Backup heat on with the fan off, or the valve coil energised as it is not in heating, or a coil well above
    outdoor air: a defrost with little lift while the frost melts.
    """
    if s[S_SWITCH + 5 * SW_BACKUP] == 1.0 and s[S_SWITCH + 5 * SW_FAN] == 0.0:
        return True
    if s[S_SWITCH + 5 * SW_VALVE] == 1.0 and s[S_VALVE_HEAT] == 0.0:
        return True
    split = x[COIL] - x[OUT]
    if s[S_MODE] == OFF:
        return bool(split > 3.0 and split > s[S_OFF_SPLIT] + 2.0)  # only a coil that warms in the rest
    if s[S_FELL] == 1.0 and s[S_LIFT_TOP] > 18.0:
        return False  # a warm coil after a stop: the pressures had parted and have come together
    return bool(split > 3.0)


def idle(s: Any, x: Any, t: float) -> float:
    """Whether the unit rests, by temperatures alone: coil at outdoor air and supply at room for long."""
    split = x[COIL] - x[OUT]
    if split != split:
        return NAN
    room = x[RETURN]
    if room != room:
        room = ROOM_C
    rise = x[SUPPLY] - room
    if split < -1.6 or split > 1.6 or rise > 3.0:
        s[S_LIFT_T] = NAN
        return 0.0
    if -1.2 < split < 1.2 and s[S_LIFT_T] != s[S_LIFT_T]:
        s[S_LIFT_T] = t
    if s[S_LIFT_T] == s[S_LIFT_T] and t - s[S_LIFT_T] >= REST_LIFT_S:
        return 1.0
    return 1.0 if s[S_MODE] == OFF else 0.0


def odds_of(s: Any) -> float:
    """The log-odds that the circuit is turned, as of the last sample [nat]."""
    return float(s[S_L])


def votes(s: Any, x: Any, t: float, dt: float) -> float:
    """The sum of the signs that the circuit is turned [nat]; each sign is also summed into the state."""
    total = 0.0
    room = x[RETURN]
    if room != room:
        room = ROOM_C
    strong = 0.0
    top = 1.0
    if s[S_HAS] == 0.0 and not at_work(s, x):
        top = regrown(s, x[HIGH] - x[LOW], dt)

    if x[VAPOR] == x[VAPOR]:
        warm = room + 4.0
        if x[OUT] + 6.0 > warm:
            warm = x[OUT] + 6.0  # a line at rest has the temperature of the air around it
        v = 3.0 * clip((room + 4.0 - x[VAPOR]) / 6.0, 0.0, top) - 3.0 * clip(
            (x[VAPOR] - warm) / 6.0, 0.0, 1.0
        )
        s[S_VOTES + SIGN_VAPOR] += v * dt
        total += v
        strong = 1.0

    lift = x[HIGH] - x[LOW]
    least = -1.0  # no machine heats with its high side at or below the room: nothing then speaks for heating
    if x[HIGH] == x[HIGH]:
        least = -clip((x[HIGH] - room - 2.0) / 4.0, 0.0, 1.0)
    if lift > 6.0 and x[COIL] == x[COIL]:
        between = (x[COIL] - x[LOW]) / lift
        if between >= -0.15:
            v = 2.5 * clip((between - 0.28) / 0.09, least, top)
        elif x[HIGH] < room + 8.0:
            v = 2.0 * clip((-between * lift - 2.5) / 1.0, 0.0, top)
        else:
            v = 0.0
        s[S_VOTES + SIGN_BETWEEN] += v * dt
        total += v
        strong = 1.0
    if x[HIGH] == x[HIGH]:
        v = 3.0 * clip((room - 1.0 - x[HIGH]) / 4.0, 0.0, top)
        if strong == 0.0 and x[COIL] != x[COIL] and (s[S_MODE] != TURNED or s[S_FELL] == 1.0):
            # Gauges alone: a high side well above the room heats it, unless it has climbed there in a circuit
            # that was turned, with no swap of pressures since.
            v -= 2.0 * clip((x[HIGH] - room - 8.0) / 4.0, 0.0, 1.0)
        s[S_VOTES + SIGN_HIGH] += v * dt
        total += v

    split = x[COIL] - x[OUT]
    if split == split:
        if split > 0.0:
            v = 2.5 * clip((split - 0.7) / 1.3, 0.0, top) + 2.0 * clip((split - 2.0) / 3.0, 0.0, 1.0)
        else:
            v = 1.5 * least * clip((-split - 0.3) / 1.0, 0.0, 1.0)
            if x[HIGH] != x[HIGH] and x[VAPOR] != x[VAPOR] and x[SUPPLY] < room + 2.0:
                v = 0.0  # a unit that heats blows warm
        if x[HIGH] != x[HIGH] and x[VAPOR] != x[VAPOR]:
            # Temperatures alone: a coil that rises fast while the supply air does not is being heated.
            rate = rates(s, x, t)
            if s[S_AIR_RATE] < 0.005:
                v += 3.5 * clip((rate - 0.05) / 0.05, 0.0, 1.0)
        s[S_VOTES + SIGN_COIL] += v * dt
        total += v
        strong = 1.0

    backup = s[S_SWITCH + 5 * SW_BACKUP]
    if x[SUPPLY] == x[SUPPLY]:
        rise = x[SUPPLY] - room
        v = 0.0
        if total > 0.0 or strong == 0.0:
            v = 1.5 * clip((0.0 - rise) / 2.0, 0.0, top)
        cold = 3.0 * clip((-6.0 - rise) / 3.0, 0.0, top)  # no machine heats a room by cooling its air
        if cold > v:
            v = cold
        if backup == 0.0:
            v -= 1.5 * clip((rise - 4.0) / 4.0, 0.0, 1.0)
        elif backup != 1.0:
            v -= 1.2 * clip((rise - 4.0) / 4.0, 0.0, 1.0)
        s[S_VOTES + SIGN_AIR] += v * dt
        total += v

    still = s[S_SWITCH + 5 * SW_FAN] == 0.0 and s[S_SWITCH + 5 * SW_FAN + 4] > 0.15
    if still and x[FAN] == x[FAN] and x[ON_PURPOSE] != 1.0:
        s[S_VOTES + SIGN_FAN] += top * dt
        total += top

    if strong > 0.0:
        s[S_STRONG] = 1.0
    elif s[S_STRONG] == 0.0 and x[POWER] == x[POWER] and x[SUPPLY] == x[SUPPLY]:
        v = dip(s, x, t, dt)
        if v > 0.0 or s[S_MODE] != TURNED:
            s[S_VOTES + SIGN_POWER] += v * dt
        total += v
    return total


def rates(s: Any, x: Any, t: float) -> float:
    """How fast the coil warms [K/s], over about 15 s; that of the supply air is kept beside it."""
    if s[S_COIL] == s[S_COIL] and t > s[S_COIL_T]:
        step_s = t - s[S_COIL_T]
        a = step_s / (step_s + 15.0)
        s[S_RATE] += a * ((x[COIL] - s[S_COIL]) / step_s - s[S_RATE])
        if x[SUPPLY] == x[SUPPLY]:
            if s[S_SUPPLY] == s[S_SUPPLY]:
                s[S_AIR_RATE] += a * ((x[SUPPLY] - s[S_SUPPLY]) / step_s - s[S_AIR_RATE])
            s[S_SUPPLY] = x[SUPPLY]
        if s[S_RATE] < -0.03:
            s[S_COOLED_T] = t
    s[S_COIL] = x[COIL]
    s[S_COIL_T] = t
    return float(s[S_RATE])


def regrown(s: Any, lift: float, dt: float) -> float:
    """Whether the saturations have come together and parted again: 1, else 0.

    Needed where nothing tells that the compressor runs. After a stop they come together and stay; after a
    turn of the circuit they part again.
    """
    low = s[S_LIFT_LOW]
    if lift != lift:
        return 1.0 if low != low or s[S_MODE] == TURNED else 0.0
    if low != low or lift < low:
        s[S_LIFT_LOW] = lift
        return 0.0
    s[S_LIFT_LOW] = low + (lift - low) * dt / (dt + 120.0)
    return 1.0 if lift - low > 2.5 or s[S_MODE] == TURNED else 0.0


def dip(s: Any, x: Any, t: float, dt: float) -> float:
    """The sign of power and supply air alone [nat].

    Power leaves a steady plateau: down by a quarter or more (the compressor works against little lift) but
    not to rest, or up by half (backup heat on the same meter), while the supply air sinks, or at least does
    not rise as backup heat in heating would make it. A supply that sinks 12 K and below 29 degC counts the
    more. Power back on its plateau, or a supply that has turned up by a twelfth of its fall, ends it.
    """
    power = x[POWER]
    supply = x[SUPPLY]
    if s[S_P0] != s[S_P0]:
        s[S_P0] = power
        s[S_T0] = supply
        s[S_UNSTEADY] = 0.2
        return 0.0
    ratio = power / s[S_P0] if s[S_P0] > 1.0 else 1.0
    off = ratio < 0.75 or ratio > 1.45
    if s[S_DIP_T] != s[S_DIP_T]:
        if off and s[S_UNSTEADY] < 0.06:
            s[S_DIP_T] = t
            s[S_SUPPLY_LOW] = supply
            return 0.0
        away = ratio - 1.0 if ratio > 1.0 else 1.0 - ratio
        a = dt / (dt + (60.0 if s[S_UNSTEADY] > 0.06 else 120.0))
        s[S_UNSTEADY] += a * ((away if away < 0.5 else 0.5) - s[S_UNSTEADY])
        s[S_P0] += a * (power - s[S_P0])
        if supply > s[S_T0]:
            s[S_T0] = supply
        else:
            s[S_T0] += a * (supply - s[S_T0])
        return -1.5 if supply > 27.0 else 0.0
    if supply < s[S_SUPPLY_LOW]:
        s[S_SUPPLY_LOW] = supply
    fall = s[S_T0] - s[S_SUPPLY_LOW]
    risen = supply - s[S_SUPPLY_LOW]
    deep = fall > 12.0 and s[S_SUPPLY_LOW] < 29.0
    if s[S_MODE] == TURNED and ((deep and risen > 0.08 * fall and risen > 1.2) or not off):
        s[S_DIP_T] = NAN
        s[S_P0] = NAN
        return -8.0
    if not off:
        s[S_DIP_T] = NAN
        return 0.0
    if t - s[S_DIP_T] > 1500.0:
        s[S_DIP_T] = NAN
        s[S_P0] = NAN
        return -8.0
    if deep:
        return 4.0
    if t - s[S_DIP_T] >= 45.0 and (
        (ratio > 1.45 and supply < s[S_T0] + 1.5) or (0.12 < ratio < 0.75 and supply < s[S_T0] - 1.5)
    ):
        return 2.5
    return 2.5 if s[S_MODE] == TURNED else 0.0


def step(s: Any, x: Any) -> int:
    """Take one sample into the state and tell what changed.

    Parameters
    ----------
    s : (STATE,) list or float64 array
        Changed in place.
    x : (WIDTH,) list or float64 array
        One sample.

    Returns
    -------
    int
        Bits `E_MODE`, `E_GAP`, and `E_SWITCH << k` for switch k. The times of the changes stand in the state.
    """
    t = x[T]
    events = 0
    first = s[S_T] != s[S_T]
    dt = 0.0 if first else t - s[S_T]
    if not first:
        typical = s[S_DT]
        if typical != typical:
            s[S_DT] = dt
        elif dt > 3.6 * typical and dt > 12.0:
            events |= E_GAP
            s[S_FELL] = 1.0
            s[S_L] *= 0.2
            s[S_DIP_T] = NAN
            s[S_LOW_T] = NAN
            s[S_LIFT_T] = NAN
            for k in range(SWITCHES):
                s[S_SWITCH + 5 * k + 2] = -1.0
            dt = typical
        else:
            s[S_DT] = typical + 0.1 * (clip(dt, 0.0, 4.0 * typical) - typical)
    s[S_T] = t
    hold = 0.0 if dt >= 4.0 or first else 0.5 * dt

    # Two-state channels.
    volts = x[VOLTS]
    if volts < 0.0:
        volts = -volts
    if switch(s, SW_CONTACT, t, volts, 12.0, 6.0, hold):
        events |= E_SWITCH << SW_CONTACT
    level = learnt(s, SW_FAN, x[FAN])
    if switch(s, SW_FAN, t, x[FAN], max(0.12, 0.45 * level), max(0.08, 0.3 * level), hold):
        events |= E_SWITCH << SW_FAN
    level = learnt(s, SW_COMPRESSOR, x[COMPRESSOR])
    if switch(s, SW_COMPRESSOR, t, x[COMPRESSOR], max(0.8, 0.15 * level), max(0.5, 0.08 * level), hold):
        events |= E_SWITCH << SW_COMPRESSOR
    level = learnt(s, SW_BACKUP, x[BACKUP])
    if switch(s, SW_BACKUP, t, x[BACKUP], max(1.5, 0.2 * level), max(1.0, 0.12 * level), hold):
        events |= E_SWITCH << SW_BACKUP
    valve = x[VALVE]
    if valve < 0.0:
        valve = -valve
    level = learnt(s, SW_VALVE, valve)
    if switch(s, SW_VALVE, t, valve, max(8.0, 0.5 * level), max(5.0, 0.3 * level), hold):
        events |= E_SWITCH << SW_VALVE
    level = learnt(s, SW_CALL, x[CALL])
    if switch(s, SW_CALL, t, x[CALL], max(0.5, 0.5 * level), max(0.4, 0.3 * level), hold):
        events |= E_SWITCH << SW_CALL

    # The mode.
    mode = s[S_MODE]
    rest = resting(s, x, t)
    if rest == 1.0:
        if mode != OFF:
            began = t
            if x[COMPRESSOR] == x[COMPRESSOR]:
                began = s[S_SWITCH + 5 * SW_COMPRESSOR + 1]
            elif x[POWER] == x[POWER] and s[S_LOW_T] == s[S_LOW_T]:
                began = s[S_LOW_T]
            elif s[S_LIFT_T] == s[S_LIFT_T]:
                began = s[S_LIFT_T]
            if s[S_MODE_T] == s[S_MODE_T] and began < s[S_MODE_T]:
                began = s[S_MODE_T]
            s[S_BEFORE] = mode
            enter(s, OFF, began)
            s[S_OFF_SPLIT] = x[COIL] - x[OUT]
            s[S_L] = 0.0
            s[S_P0] = NAN
            s[S_DIP_T] = NAN
            events |= E_MODE
        s[S_WEIGHT] += dt
        s[S_ABS] = 3.0
        return events
    if mode == OFF:
        began = t
        if x[COMPRESSOR] == x[COMPRESSOR]:
            began = s[S_SWITCH + 5 * SW_COMPRESSOR + 1]
        s[S_REST] = began - s[S_MODE_T]
        s[S_RUN_T] = began
        s[S_L] = 0.0
        enter(s, UNKNOWN, began)
        mode = UNKNOWN
        events |= E_MODE
    elif mode == UNKNOWN and s[S_MODE_T] != s[S_MODE_T]:
        enter(s, UNKNOWN, t)
        s[S_RUN_T] = t
        s[S_BEFORE] = UNKNOWN
        s[S_REST] = NAN
        events |= E_MODE

    if mode == HEAT and t - s[S_MODE_T] > 30.0 and odds_of(s) < -2.0:
        s[S_VALVE_HEAT] = s[S_SWITCH + 5 * SW_VALVE]
    total = votes(s, x, t, dt)
    s[S_L] += (total - s[S_L]) * (1.0 if first else dt / (dt + SMOOTH_S))
    odds = s[S_L]
    s[S_WEIGHT] += dt
    if odds > s[S_ABS]:
        s[S_ABS] = odds
    elif -odds > s[S_ABS]:
        s[S_ABS] = -odds
    lift = x[HIGH] - x[LOW]
    if lift == lift:
        if lift > s[S_LIFT_TOP] and (odds > DECIDE or mode != TURNED or s[S_STRONG] == 0.0):
            s[S_LIFT_TOP] = lift
        elif lift < 0.7 * s[S_LIFT_TOP]:
            s[S_FELL] = 1.0
    if odds < -DECIDE and mode != HEAT:
        if (
            mode == TURNED
            and lift != lift
            and x[VAPOR] != x[VAPOR]
            and s[S_COIL] == s[S_COIL]
            and not t - s[S_COOLED_T] < 150.0
        ):
            # A coil that is not being cooled again is still held to be heated, for a while.
            if s[S_BACK_T] != s[S_BACK_T]:
                s[S_BACK_T] = t
            if t - s[S_BACK_T] < 225.0:
                return events
        if mode == TURNED and s[S_LIFT_TOP] > 10.0 and s[S_FELL] == 0.0 and not x[VAPOR] > ROOM_C + 12.0:
            # The pressures have not come together since: the circuit can hardly have turned back.
            if s[S_BACK_T] != s[S_BACK_T]:
                s[S_BACK_T] = t
            if t - s[S_BACK_T] < AGAINST_S:
                return events
        if mode == UNKNOWN and s[S_REST] == s[S_REST] and t - s[S_RUN_T] < HEAT_S:
            return events
        enter(s, HEAT, s[S_MODE_T] if mode == UNKNOWN else t)
        events |= E_MODE
    elif odds > DECIDE and mode == TURNED:
        s[S_BACK_T] = NAN
    elif odds > DECIDE:
        if mode == UNKNOWN:
            run = t - s[S_RUN_T]
            wait = START_S
            if s[S_REST] != s[S_REST]:
                wait = 0.0
            elif s[S_BEFORE] == HEAT and s[S_REST] < 90.0:
                wait = SOON_S
            if run < wait:
                return events
            enter(s, TURNED, s[S_MODE_T])
        elif mode == HEAT and s[S_REST] == s[S_REST] and t - s[S_RUN_T] < START_S and s[S_BEFORE] != HEAT:
            return events
        else:
            enter(s, TURNED, s[S_DIP_T] if s[S_DIP_T] == s[S_DIP_T] else t)
        events |= E_MODE
    return events

"""Fixed-step Runge-Kutta of fourth order that lands on every switch.

Between switches the right-hand side is smooth. Steps are no longer than `longest_step`, which goes by
the time since a switch, and are cut so that they end on the next output second, act, or clock of the board.
After a step the board's guards are looked at; if one has risen to zero, the step is taken again, shorter,
by bisection to `LANDING_S`, and the board decides there. The steps a run takes depend on nothing but its
input.
"""

from __future__ import annotations

from firstfrost.bench.board.index import B_COVER_OPEN, B_LINE_VOLT
from firstfrost.bench.board.layout import (
    D_BACKUP,
    D_BLOWER,
    D_BLOWER_LEFT,
    D_CLEAN_SPLIT,
    D_COMP,
    D_FAN,
    D_HAND_COVER,
    D_VALVE,
    N_BOARD,
    N_GUARDS,
)
from firstfrost.bench.board.logic import advance, decide, due, guards
from firstfrost.bench.kernel import Flat, kernel
from firstfrost.bench.plant.layout import (
    A_P_DISCHARGE,
    A_P_SUCTION,
    A_WET,
    M_ACC,
    M_IND,
    M_OUT,
    N_DERIVED,
    T_ACC,
    T_HOUSE,
    T_IND,
    T_OUT,
    T_SENSOR,
    U_AIR,
    U_BACKUP,
    U_BLOWER,
    U_COMP,
    U_FAN,
    U_HUMID,
    U_OPEN,
    U_VALVE,
    U_VOLT,
)
from firstfrost.bench.plant.rhs import rhs
from firstfrost.refrigerants.curves import Floats

LANDING_S = 1e-9
STABLE = 2.5
"""Step times rate beyond which a step is taken again at half its length; the method itself bears 2.78."""
LEAST_STEP = 0.01
EDGE_STEP = 0.0625
EASE_S = 8
"""After a step had to be cut, the limit doubles every so many seconds."""
MOST_TRIES = 5000
"""Steps tried within one second before the run is given up. A defrost takes up to 40; at `LEAST_STEP` and
with a few switches it would be some 400."""


@kernel
def longest_step(since: float) -> float:
    """Longest step [s] by the time since a switch [s].

    Fine enough for 1e-5 or so in temperatures while pressures swap. Where even that is too long for a stiff
    moment (a coil nearly dry), `stiffness` cuts it.
    """
    if since < 8.0:
        return 0.0625
    if since < 40.0:
        return 0.16667
    return 0.50001


@kernel
def set_weather(u: Flat, air: Flat, humid: Flat, step: float, t: float) -> None:
    """Outdoor air at t [s], straight between points `step` [s] apart; held beyond the last."""
    last = len(air) - 1
    k = int(t / step)
    if k >= last:
        u[U_AIR] = air[last]
        u[U_HUMID] = humid[last]
    else:
        s = t / step - k
        u[U_AIR] = air[k] + s * (air[k + 1] - air[k])
        u[U_HUMID] = humid[k] + s * (humid[k + 1] - humid[k])


@kernel
def set_inputs(u: Flat, d: Flat, b: Flat) -> None:
    """What the board's outputs and a person's hand make of the plant's inputs."""
    u[U_COMP] = d[D_COMP]
    u[U_VALVE] = d[D_VALVE]
    u[U_FAN] = d[D_FAN]
    u[U_BLOWER] = d[D_BLOWER]
    u[U_BACKUP] = d[D_BACKUP]
    u[U_OPEN] = b[B_COVER_OPEN] if d[D_HAND_COVER] > 0.5 else 1.0
    u[U_VOLT] = b[B_LINE_VOLT]


@kernel
def rk4(
    y: Flat,
    t: float,
    h: float,
    u: Flat,
    air: Flat,
    humid: Flat,
    step: float,
    p: Flat,
    tab: Flat,
    k1: Flat,
    k2: Flat,
    k3: Flat,
    k4: Flat,
    z: Flat,
    aux: Flat,
    new: Flat,
) -> None:
    """One step of h [s] from y at t into `new`; k1 holds the slope at y already."""
    n = len(y)
    half = 0.5 * h
    for i in range(n):
        z[i] = y[i] + half * k1[i]
    set_weather(u, air, humid, step, t + half)
    rhs(z, u, p, tab, k2, aux)
    for i in range(n):
        z[i] = y[i] + half * k2[i]
    rhs(z, u, p, tab, k3, aux)
    for i in range(n):
        z[i] = y[i] + h * k3[i]
    set_weather(u, air, humid, step, t + h)
    rhs(z, u, p, tab, k4, aux)
    sixth = h / 6.0
    for i in range(n):
        new[i] = y[i] + sixth * (k1[i] + 2.0 * (k2[i] + k3[i]) + k4[i])


@kernel
def stiffness(k1: Flat, k2: Flat, k3: Flat) -> float:
    """Step times the rate of the fastest pressure mode, from the slopes of one step.

    |k3 - k2| / |k2 - k1| times 2: both differ by half a step times the Jacobian (Hairer and Wanner, Solving
    Ordinary Differential Equations II, IV.2, from memory).
    """
    first, then = 0.0, 0.0
    for i in (T_OUT, T_IND, T_ACC):
        first = max(first, abs(k2[i] - k1[i]))
        then = max(then, abs(k3[i] - k2[i]))
    if first < 1e-7:
        return 0.0
    return 2.0 * then / first


@kernel
def sound(y: Flat) -> bool:
    """Whether the circuit is where its tables and fits mean something; False for NaN."""
    for i in (T_OUT, T_IND, T_ACC):
        if not (-90.0 < y[i] < 100.0):
            return False
    return y[M_OUT] > 1e-5 and y[M_IND] > 1e-5 and y[M_ACC] > 1e-5


@kernel
def switched(d: Flat, b: Flat, y: Flat, u: Flat, aux: Flat, g: Flat) -> bool:
    """Whether a guard has risen to zero."""
    guards(d, b, y[T_SENSOR], u[U_AIR], y[T_HOUSE], aux[A_P_SUCTION], aux[A_P_DISCHARGE], g)
    highest = -1.0
    for i in range(N_GUARDS):
        highest = max(highest, g[i])
    return highest >= 0.0


@kernel
def note(log: Floats, used: int, t: float, kind: float, which: float, value: float) -> int:
    """Write a line of the log if there is room; gives the lines used."""
    if used < len(log):
        log[used, 0] = t
        log[used, 1] = kind
        log[used, 2] = which
        log[used, 3] = value
    return used + 1


@kernel
def run(
    y: Flat,
    d: Flat,
    u: Flat,
    p: Flat,
    tab: Flat,
    b: Flat,
    air: Flat,
    humid: Flat,
    step: float,
    acts: Floats,
    seconds: int,
    out_y: Floats,
    out_a: Floats,
    out_d: Floats,
    log: Floats,
    room: tuple[Flat, ...],
) -> tuple[int, int]:
    """Run for a whole number of seconds.

    y, d, u, p, tab, b : state, board, inputs, parameters, saturation table, settings; y, d, u, p, b change
    air, humid, step : weather, points `step` [s] apart
    acts : (n, 4) in rising order: time [s], 0 board / 1 plant parameter / 2 setting, index, value
    out_y, out_a, out_d : (seconds + 1, ...) filled with state, derived numbers and board at each second,
    after what switches at that very second log : (n, 4) filled with time, 0 board / 1 input, index, new
    value of all that switched room : ten sequences as long as the state, for work

    Gives lines of the log used (more than its length if it was too short; minus the second in which the run
    could not go on), steps taken (minus the steps tried in that second if there were more than `MOST_TRIES`).
    y is then where it stopped.
    """
    k1, k2, k3, k4, z, new, g, aux, old, old_u = room
    n = len(y)
    acts_done = 0
    used = 0
    steps = 0
    tries = 0
    t = 0.0
    since = 0.0
    limit = 1.0
    wet = 0.0
    set_weather(u, air, humid, step, t)
    set_inputs(u, d, b)
    fresh = True
    second = 0
    while True:
        tries += 1
        if tries > MOST_TRIES:
            return -max(second, 1), -tries
        # Here something may switch: an act, a clock that has run out, a guard.
        if fresh:
            for i in range(N_BOARD):
                old[i] = d[i]
            while acts_done < len(acts) and acts[acts_done, 0] <= t + 1e-9:
                at = int(acts[acts_done, 2])
                if acts[acts_done, 1] == 0.0:
                    d[at] = acts[acts_done, 3]
                elif acts[acts_done, 1] == 1.0:
                    p[at] = acts[acts_done, 3]
                else:
                    b[at] = acts[acts_done, 3]
                acts_done += 1
            for i in range(7):
                old_u[i] = u[i]
            rhs(y, u, p, tab, k1, aux)
            decide(d, b, y[T_SENSOR], u[U_AIR], y[T_HOUSE], aux[A_P_SUCTION], aux[A_P_DISCHARGE], g)
            set_inputs(u, d, b)
            for i in range(N_BOARD):
                # Clocks run all the time; what switches is noted.
                if old[i] != d[i] and (i < 3 or i == D_CLEAN_SPLIT or (i > 9 and i != D_BLOWER_LEFT)):
                    used = note(log, used, t, 0.0, i, d[i])
            changed = False
            for i in range(7):
                if old_u[i] != u[i]:
                    used = note(log, used, t, 1.0, i, u[i])
                    changed = True
            if changed:
                since = 0.0
            rhs(y, u, p, tab, k1, aux)
            wet = aux[A_WET]
            fresh = False
        if t >= second:
            for i in range(n):
                out_y[second, i] = y[i]
            for i in range(N_DERIVED):
                out_a[second, i] = aux[i]
            for i in range(N_BOARD):
                out_d[second, i] = d[i]
            if second >= seconds:
                break
            second += 1
            tries = 0
            if second % EASE_S == 0:
                limit = 2.0 * limit
        left = second - t
        stop = False
        wait = due(d, b)
        if wait <= left:
            left = max(wait, 0.0)
            stop = True
        if acts_done < len(acts) and acts[acts_done, 0] - t <= left:
            left = max(acts[acts_done, 0] - t, 0.0)
            stop = True
        longest = min(longest_step(since), limit)
        count = int(left / longest + 0.999999)
        h = left
        if count > 1:
            h = left / count
            stop = False
        if h > 0.0:
            rk4(y, t, h, u, air, humid, step, p, tab, k1, k2, k3, k4, z, aux, new)
            if h > LEAST_STEP and stiffness(k1, k2, k3) > STABLE:
                limit = 0.5 * h
                continue
            rhs(new, u, p, tab, k2, aux)
            if aux[A_WET] != wet and h > EDGE_STEP and limit > EDGE_STEP:
                # Slopes bend where a vessel runs dry or gets its first liquid. Once only: the parts of what
                # is left of a second may be longer than the limit by a rounding, and stay so.
                limit = EDGE_STEP
                rhs(y, u, p, tab, k1, aux)
                continue
            steps += 1
            if switched(d, b, new, u, aux, g):
                low, high = 0.0, h
                while high - low > LANDING_S:
                    tries += 1
                    mid = 0.5 * (low + high)
                    rk4(y, t, mid, u, air, humid, step, p, tab, k1, k2, k3, k4, z, aux, new)
                    rhs(new, u, p, tab, k2, aux)
                    if switched(d, b, new, u, aux, g):
                        high = mid
                    else:
                        low = mid
                h = high
                rk4(y, t, h, u, air, humid, step, p, tab, k1, k2, k3, k4, z, aux, new)
                rhs(new, u, p, tab, k2, aux)
                stop = True
                count = 2
            if not sound(new):
                return -second, steps
            for i in range(n):
                y[i] = new[i]
                k1[i] = k2[i]
            wet = aux[A_WET]
            advance(d, b, h)
            since += h
            t = t + h
            if count <= 1 and abs(second - t) < 1e-9:
                t = float(second)
        if stop:
            fresh = True
    return used, steps

"""The same right-hand side run by SciPy between the switches that a run of the bench found."""

import numpy as np
from scipy.integrate import solve_ivp

from firstfrost.bench.kernel import compiled
from firstfrost.bench.plant import layout
from firstfrost.bench.plant.parameters import pack
from firstfrost.bench.plant.rhs import rhs
from firstfrost.bench.plant.saturation import table

INPUTS = [row[0] for row in layout.INPUTS]


def slope(setup, inputs):
    """The compiled right-hand side as SciPy calls it; `inputs` (9,) are the plant's, changed from outside."""
    function, p, tab = compiled(rhs), pack(setup.plant), table(setup.plant.refrigerant)
    sky = setup.weather
    at = np.arange(len(sky.temps_c)) * sky.step_s
    aux = np.empty(layout.N_DERIVED)

    def f(t, y):
        inputs[layout.U_AIR] = np.interp(t, at, sky.temps_c)
        inputs[layout.U_HUMID] = np.interp(t, at, sky.humidity_ratios)
        dy = np.empty_like(y)
        function(y, inputs, p, tab, dy, aux)
        return dy

    return f


def segments(run):
    """Stretches without a switch: (start [s], end [s], inputs), from the run's events."""
    inputs = np.array([1.0, 0.0, 1.0, 1.0, 0.0, 1.0, 1.0, 0.0, 0.0])
    changes = {}
    for event in run.events:
        if event.name in INPUTS:
            changes.setdefault(event.time_s, []).append((INPUTS.index(event.name), event.value))
    ends = [*sorted(t for t in changes if t > 0), float(run.times_s[-1])]
    start = 0.0
    for end in ends:
        for at, value in changes.get(start, []):
            inputs[at] = value
        yield start, end, inputs.copy()
        start = end


def by_scipy(run, *, each_second=False, **options):
    """States (n, states) at each second of a run, by SciPy from its first state."""
    out = np.empty_like(run.states)
    out[0] = y = run.states[0].copy()
    for start, end, inputs in segments(run):
        f = slope(run.setup, inputs)
        seconds = np.arange(np.floor(start) + 1, np.floor(end + 1e-9) + 1)
        stops = np.unique([*seconds, end])
        if each_second:
            t = start
            for stop in stops:
                y = solve_ivp(f, (t, stop), y, **options).y[:, -1]
                t = stop
                if stop == round(stop):
                    out[round(stop)] = y
        else:
            # A step must not jump over the corners of the weather, a minute apart.
            done = solve_ivp(f, (start, end), y, t_eval=stops, max_step=60.0, **options)
            for t, row in zip(done.t, done.y.T, strict=True):
                if t == round(t):
                    out[round(t)] = row
            y = done.y[:, -1]
    return out

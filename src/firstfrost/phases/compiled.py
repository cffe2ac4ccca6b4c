"""The fold compiled: the very functions of `fold`, for a great many records.

Compiling takes seconds and Numba's import one more, so a single visit never comes here: the plain fold takes
an hour of readings in milliseconds. Nothing is written twice: the functions of `fold` are handed to the
compiler as they stand, without fast-math, so that the events are those of `events.find` to the last bit.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from types import FunctionType
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstfrost.errors import InputError
from firstfrost.phases import fold
from firstfrost.phases.events import Events, Finder

Floats = NDArray[np.float64]

ROOM: Final = 256
"""Changes noted before the compiled loop hands them over."""


def find_compiled(samples: Floats) -> Events:
    """Run the compiled fold over all samples, (n, fold.WIDTH) in rising order of time; as `events.find`.

    Raises
    ------
    InputError
        If Numba is not installed.
    """
    scan = compiled_scan()
    rows = np.ascontiguousarray(samples, dtype=np.float64)
    state = np.array(fold.fresh())
    notes = np.empty((ROOM, fold.STATE))
    bits, before_s = np.empty(ROOM, dtype=np.int64), np.empty(ROOM)
    finder = Finder()
    at = 0
    while at < len(rows):
        at, noted = scan(rows, at, state, notes, bits, before_s)
        noted_at = zip(notes[:noted].tolist(), bits[:noted].tolist(), before_s[:noted].tolist(), strict=True)
        for finder.state, got, before in noted_at:
            finder._record(got, before, finder.state[fold.S_T])
    finder.state = state.tolist()
    return finder.finish()


@cache
def compiled_step() -> Callable[..., Any]:
    """`fold.step`, compiled: takes float64 arrays, changes the state, gives the bits.

    Raises
    ------
    InputError
        If Numba is not installed.
    """
    njit = _njit()
    # Copies of the functions with a namespace of their own, in which they find each other compiled.
    space: dict[str, Any] = dict(vars(fold))
    plain = {
        name: thing
        for name, thing in space.items()
        if isinstance(thing, FunctionType) and thing.__module__ == fold.__name__
    }
    for name, function in plain.items():
        space[name] = njit(
            FunctionType(function.__code__, space, name, function.__defaults__), forceinline=True
        )
    step: Callable[..., Any] = space["step"]
    return step


@cache
def compiled_scan() -> Callable[..., Any]:
    """The loop over samples, compiled.

    Takes the samples, where to go on, the state, and room for what it notes after each sample that brought an
    event or made a switch known: the state, the event bits, and the time of the sample before. Gives where it
    stopped, which is the end of the samples unless the room is full, and how many notes it made.

    Raises
    ------
    InputError
        If Numba is not installed.
    """
    compiled: Callable[..., Any] = _njit()(loop(compiled_step(), _borrowed()))
    return compiled


def loop(step: Callable[..., Any], borrowed: Callable[[Any], Any]) -> Callable[..., tuple[int, int]]:
    """The loop over samples, plain, around a `step`, on arrays that `borrowed` has made of those given."""
    switches, s_switch, s_t = fold.SWITCHES, fold.S_SWITCH, fold.S_T

    def scan(rows: Any, at: int, state: Any, notes: Any, bits: Any, before_s: Any) -> tuple[int, int]:
        s, x = borrowed(state), borrowed(rows)
        noted = 0
        known = 0
        for k in range(switches):
            if s[s_switch + 5 * k] >= 0.0:
                known += 1
        for i in range(at, len(x)):
            before = s[s_t]
            got = step(s, x[i])
            now = 0
            for k in range(switches):
                now += s[s_switch + 5 * k] >= 0.0
            if got != 0 or now != known:
                known = now
                notes[noted] = s
                bits[noted] = got
                before_s[noted] = before
                noted += 1
                if noted == len(notes):
                    return i + 1, noted
        return len(x), noted

    return scan


def _borrowed() -> Callable[[Any], Any]:
    """An array without an owner, for the compiler: counting references to it took half of the time.

    The caller keeps the array itself for as long.
    """
    from numba.core import cgutils
    from numba.extending import intrinsic

    tools: Any = cgutils
    mark: Any = intrinsic

    def borrowed(_: Any, array: Any) -> Any:
        def code(context: Any, builder: Any, _signature: Any, args: Any) -> Any:
            view = context.make_array(array)(context, builder, args[0])
            view.meminfo = tools.get_null_value(view.meminfo.type)
            return view._getvalue()

        return array(array), code

    made: Callable[[Any], Any] = mark(borrowed)
    return made


def _njit() -> Callable[..., Any]:
    try:
        import numba
    except ImportError as err:
        raise InputError(
            "The compiled fold needs Numba, which is not installed. Install firstfrost[fast], or use "
            "firstfrost.phases.events.find, which gives the same events."
        ) from err
    njit: Callable[..., Any] = numba.njit
    return njit

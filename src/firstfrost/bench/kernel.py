"""Functions that run as plain Python and, the very same, compiled by Numba.

A function marked `@kernel` works on flat sequences of floats (a list in plain Python, a float64 array when
compiled) and calls only `math` and other kernels. `compiled(f)` hands it and all it calls to Numba as they
stand, without fast-math, so that both give the same numbers. Compiled code is kept in a folder named by the
hash of the bench's own sources, because Numba does not notice a change in a function that is called.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from functools import cache
from pathlib import Path
from types import FunctionType
from typing import Any, TypeVar

from firstfrost.errors import InputError

Flat = list[float]
"""A flat sequence of floats: a list in plain Python, a float64 array when compiled."""
F = TypeVar("F", bound=Callable[..., Any])
_KERNELS: set[int] = set()


def kernel(function: F) -> F:
    """Mark a function as one that Numba may compile; it stays a plain function."""
    _KERNELS.add(id(function))
    return function


@cache
def compiled(function: Callable[..., Any]) -> Callable[..., Any]:
    """`function` and every kernel it calls, compiled.

    Raises
    ------
    InputError
        If Numba is not installed.
    """
    try:
        import numba
    except ImportError as err:
        raise InputError(
            "The compiled bench needs Numba, which is not installed. Install firstfrost[fast], or run plain."
        ) from err
    assert isinstance(function, FunctionType)
    names = dict(function.__globals__)
    for name in function.__code__.co_names:
        called = names.get(name)
        if id(called) in _KERNELS and called is not None:
            names[name] = compiled(called)
    copy = FunctionType(function.__code__, names, function.__name__, function.__defaults__)
    copy.__module__, copy.__qualname__ = function.__module__, function.__qualname__
    return _jit(numba, copy)


def _jit(numba: Any, function: FunctionType) -> Callable[..., Any]:
    folder = _folder()
    before = numba.config.CACHE_DIR
    try:
        if folder is None:
            done: Callable[..., Any] = numba.njit(error_model="numpy")(function)
        else:
            numba.config.CACHE_DIR = str(folder)
            done = numba.njit(cache=True, error_model="numpy")(function)
    finally:
        numba.config.CACHE_DIR = before
    return done


def is_ready() -> bool:
    """Whether compiled code is at hand, from this process or an earlier one: else it takes some 10 s."""
    folder = _folder()
    return bool(compiled.cache_info().currsize) or (folder is not None and any(folder.rglob("*.nbi")))


@cache
def _folder() -> Path | None:
    """Where compiled code is kept: None where nothing can be written."""
    here = Path(__file__).parent
    sources = hashlib.sha256()
    kernels = [*here.glob("*/*.py"), here / "integrate.py", here / "kernel.py"]
    for path in sorted(path for path in kernels if path.parent.name in ("bench", "plant", "board")):
        sources.update(path.read_bytes())
    base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    folder = base / "firstfrost" / f"bench-{sources.hexdigest()[:16]}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return None
    return folder if os.access(folder, os.W_OK) else None

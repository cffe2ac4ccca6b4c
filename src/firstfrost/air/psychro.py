"""PsychroLib, as a copy of our own.

PsychroLib keeps its unit system in a module-level switch, and compiles itself with Numba where that is
installed, which costs a single visit over a second. The copy loaded here is private, so that its switch can
be set to SI without touching anybody else's, and is loaded as on a machine without Numba, a case that
PsychroLib provides for. (Compiled, version 2.5.0 with Numba 0.68 even ends the process when asked for its
unit system.)
"""

from __future__ import annotations

import builtins
import importlib.util
from functools import cache
from types import ModuleType
from typing import Any


def _import_without_numba(name: str, *args: Any, **kwargs: Any) -> Any:
    if name == "numba":
        raise ImportError("PsychroLib is loaded without Numba")
    return builtins.__import__(name, *args, **kwargs)


@cache
def psychrolib() -> ModuleType:
    """PsychroLib in SI units; loaded at the first call."""
    spec = importlib.util.find_spec("psychrolib")
    if spec is None or spec.loader is None:
        raise ModuleNotFoundError("Moist air needs PsychroLib. Install Firstfrost with its dependencies.")
    module = importlib.util.module_from_spec(spec)
    module.__dict__["__builtins__"] = {**vars(builtins), "__import__": _import_without_numba}
    spec.loader.exec_module(module)
    module.SetUnitSystem(module.SI)
    return module

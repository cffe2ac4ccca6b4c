"""What a device takes along for a time without signal: words, cautions, saturation tables."""

from __future__ import annotations

import hashlib
from functools import cache
from typing import Any, Final

import numpy as np
from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from firstfrost.errors import InputError, Missing
from firstfrost.proofs.finding import FUNCTIONS
from firstfrost.refrigerants import REFRIGERANTS, refrigerant
from firstfrost.refrigerants.curves import Curve
from firstfrost.report.words import SIGNS, TITLES
from firstfrost.trace.channels import CHANNELS
from firstfrost.trace.marks import ACTS, ENDS
from firstfrost.visit.cautions import cautions
from firstfrost.web.answers import (
    TableOut,
    WordsOut,
)
from firstfrost.web.signin import Asking

router = APIRouter(prefix="/api")

PIECES: Final = 128
"""Of a curve on a device: within 0.1 mK and 3 Pa of the library's own."""


@router.get("/words", response_model=WordsOut)
def get_words(caller: Asking) -> dict[str, Any]:
    """Channels, acts, functions, standings, cautions."""
    return _words()


@cache
def _words() -> dict[str, Any]:
    return {
        "channels": [
            {
                "name": one.name,
                "kind": one.kind,
                "title": one.title,
                "unit": one.unit,
                "lowest": one.lowest,
                "highest": one.highest,
            }
            for one in CHANNELS.values()
        ],
        "acts": list(ACTS),
        "ends": dict(ENDS),
        "functions": [{"name": name, "title": TITLES[name]} for name in FUNCTIONS],
        "standings": list(SIGNS),
        "cautions": {
            name: [{"code": one.code, "text": one.text} for one in cautions(name)] for name in REFRIGERANTS
        },
        "refrigerants": list(REFRIGERANTS),
    }


@router.get("/tables/{refrigerant}", response_model=TableOut, responses={304: {"description": "as before"}})
def get_table(refrigerant: str, caller: Asking, request: Request) -> Response:
    """The saturation curves of a refrigerant."""
    try:
        content = table(refrigerant)
    except InputError as err:
        raise Missing(str(err)) from err
    answer = JSONResponse(content, headers={"Cache-Control": "no-cache"})
    tag = f'"{hashlib.sha256(bytes(answer.body)).hexdigest()[:20]}"'
    answer.headers["ETag"] = tag
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers={"ETag": tag, "Cache-Control": "no-cache"})
    return answer


@cache
def table(name: str) -> dict[str, Any]:
    """The saturation curves of a refrigerant as a device gets them.

    Raises
    ------
    InputError
        If the refrigerant is not known.
    """
    fluid = refrigerant(name)
    dew, bubble = fluid.dew, fluid.bubble
    curves = {}
    for kind, one in (("dew", dew), ("bubble", bubble)):
        ends = (float(np.sqrt(one.pressure_low_pa)), float(np.sqrt(one.pressure_high_pa)))
        curves[f"{kind}_temp_c"] = {"over": "sqrt_pressure_pa", **_nodes(one.temp, *ends)}
        curves[f"{kind}_pressure_pa"] = {
            "over": "temp_c",
            **_nodes(one.pressure, one.temp_low_c, one.temp_high_c),
        }
    return {
        "refrigerant": fluid.name,
        "source": fluid.source,
        "critical_temp_c": fluid.critical_temp_c,
        "temp_low_c": dew.temp_low_c,
        "temp_high_c": dew.temp_high_c,
        "curves": curves,
    }


def _nodes(curve: Curve, low: float, high: float) -> dict[str, Any]:
    """Nodes of a curve between two ends: value and slope at low, low + step, ..."""
    x = np.linspace(low, high, PIECES + 1)
    return {
        "start": low,
        "step": (high - low) / PIECES,
        "y": [float(f"{v:.12g}") for v in curve.many(x).tolist()],
        "dy": [float(f"{v:.9g}") for v in curve.slopes(x).tolist()],
    }

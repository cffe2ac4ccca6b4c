"""A winter of a unit, and the prices that it is asked with."""

from __future__ import annotations

import hashlib
import json
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request, Response

from firstfrost.errors import InputError
from firstfrost.quantities.convert import parse
from firstfrost.season.at_visit import AtVisit
from firstfrost.season.money import prices_from
from firstfrost.store import judging, visits
from firstfrost.store.records import VISIT, find
from firstfrost.visit.for_season import at_visit, typed
from firstfrost.web.answers import PricesOut, SeasonOut
from firstfrost.web.bodies import UUID, PricesIn
from firstfrost.web.routes.records import PLAN_WAIT_S, known_unit
from firstfrost.web.signin import Asking
from firstfrost.web.state import Parts, PathId, Service
from firstfrost.web.uploads import BINARY
from firstfrost.web.work import Asked, Weather, in_thread

router = APIRouter(prefix="/api")
Written = Annotated[str | None, Query(max_length=60)]


@router.post("/prices", response_model=PricesOut)
def put_prices(body: PricesIn, service: Parts, caller: Asking) -> dict[str, Any]:
    """Check prices and keep them at hand for a winter; nothing is kept in the store."""
    data = body.model_dump(exclude_none=True)
    prices = prices_from(data, "The prices", lambda text: text)
    key = "sha256:" + hashlib.sha256(json.dumps(data, sort_keys=True).encode()).hexdigest()
    service.workshop.keep_prices(key, prices)
    return {"prices": key, "currency": prices.currency, "flat": prices.flat}


@router.post(
    "/units/{unit}/season",
    response_model=SeasonOut,
    responses={202: {"model": SeasonOut}},
    openapi_extra={"requestBody": {**BINARY["requestBody"], "required": False}},
)
async def season_of_unit(
    unit: PathId,
    service: Parts,
    caller: Asking,
    request: Request,
    response: Response,
    weather: Annotated[
        str | None, Query(pattern=r"^(region:(I|II|III|IV|V|VI)|sha256:[0-9a-f]{64})$")
    ] = None,
    name: Annotated[str, Query(max_length=200, pattern=r"^[^\x00]*$")] = "",
    humidity: Written = None,
    prices: Annotated[str, Query(pattern=r"^(sha256:[0-9a-f]{64})?$")] = "",
    visit: Annotated[str | None, Query(pattern=UUID)] = None,
    closes_at: Written = None,
    opens_at: Written = None,
    capacity: Written = None,
    system: Annotated[Literal["us", "si"], Query(alias="units")] = "us",
) -> dict[str, Any]:
    """A winter of a unit, in the weather of a region or of the file sent; 202 while it is worked out."""
    content = await request.body()
    if bool(content) == (weather is not None):
        text = "Expected one of weather (region:I to region:VI) and a body with the bytes of a weather file."
        raise InputError(f"{text} Give one of the two.")
    told = weather or f"sha256:{hashlib.sha256(content).hexdigest()}"
    humid = None if humidity is None else parse(humidity, "humidity", "humidity")
    sky = Weather(told=told, content=content or None, name=name, humidity=humid)

    def work() -> dict[str, Any] | None:
        known = known_unit(service, unit)
        seen = typed(
            None if visit is None else _seen(service, unit, visit),
            closes=(closes_at, "closes_at"),
            opens=(opens_at, "opens_at"),
            capacity=(capacity, "capacity"),
        )
        asked = Asked(visit=seen, prices_key=prices)
        return service.workshop.season(known, sky, asked, system, wait_s=PLAN_WAIT_S)

    found = await in_thread(work)
    if found is None:
        response.status_code = 202
        response.headers["Retry-After"] = "2"
        return {"state": "working", "weather": told, "season": None, "retry_after_s": 2.0}
    return {"state": "ready", "weather": told, "season": found, "retry_after_s": None}


def _seen(service: Service, unit: str, visit: str) -> AtVisit:
    """What a visit of the unit found: as it was closed, or as it stands now."""
    row = service.store.read(lambda c: find(c, VISIT, visit))
    if row.unit_id != unit:
        raise InputError("That visit is of another unit. Expected a visit of this one. Take its last visit.")
    if row.state == "closed":
        _, told = service.store.read(lambda c: visits.revision_result(c, visit, row.revision))
    else:
        source = service.store.read(lambda c: judging.sources(c, visit))
        if not len(judging.trace_of(source)):
            return AtVisit(left_out=("The visit holds no reading: the ratings are taken.",))
        told = service.workshop.judge(source).told
    return at_visit(told, "The visit's result")

"""The application: its parts put together."""

from __future__ import annotations

import secrets
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

from fastapi import APIRouter, Depends, FastAPI
from fastapi.responses import JSONResponse

import firstfrost
from firstfrost.store.accounts import any_account, sweep_sessions
from firstfrost.store.store import Store
from firstfrost.web.errors import RESPONSES, add_handlers
from firstfrost.web.guard import Guard
from firstfrost.web.hub import Hub
from firstfrost.web.pages import Pages
from firstfrost.web.query import known_query
from firstfrost.web.routes import device, live, records, season, session, storing, visits
from firstfrost.web.settings import Settings
from firstfrost.web.signin import Asking, Door
from firstfrost.web.state import Service
from firstfrost.web.work import Workshop

ROUTERS = tuple(one.router for one in (session, records, season, visits, live, device, storing))


def make_app(store: Store, settings: Settings) -> FastAPI:
    """The application over an open store, which stays the caller's to close."""
    door = Door(store, settings)
    if settings.mode == "shop" and not store.read(any_account):
        door.setup_code = secrets.token_urlsafe(18)

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        hub, workshop = Hub(store, settings), Workshop(settings.workers)
        app.state.service = Service(store=store, settings=settings, door=door, hub=hub, workshop=workshop)
        now_s, idle_s, longest_s = store.clock(), settings.limit("idle"), settings.limit("session")
        store.submit(lambda c: sweep_sessions(c, now_s=now_s, idle_s=idle_s, longest_s=longest_s))
        feed = None
        if settings.mqtt is not None:
            from firstfrost.web.mqtt import MqttFeed

            feed = MqttFeed(hub, settings.mqtt)
            feed.start()
        yield
        if feed is not None:
            await feed.stop()
        hub.close()
        workshop.close()

    app = FastAPI(
        title="Firstfrost",
        version=firstfrost.__version__,
        description="Visits to heat pumps: readings in, what they show out. See docs/service.md.",
        lifespan=life,
        responses=RESPONSES,
        dependencies=[Depends(known_query)],
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
    )
    app.state.door = door
    add_handlers(app)
    for router in ROUTERS:
        app.include_router(router)
    app.include_router(_openapi(app))
    app.mount("/", Pages(settings.pages))
    app.add_middleware(Guard, settings=settings)
    return app


def _openapi(app: FastAPI) -> APIRouter:
    router = APIRouter(prefix="/api")

    @router.get("/openapi.json", include_in_schema=False)
    def get_openapi(caller: Asking) -> JSONResponse:
        """What the service answers, for machines."""
        return JSONResponse(openapi(app))

    return router


def openapi(app: FastAPI) -> dict[str, Any]:
    """The OpenAPI description, with the parts of a batch."""
    told = app.openapi()
    told["components"]["schemas"].update(live.BATCH_SCHEMAS)
    return told

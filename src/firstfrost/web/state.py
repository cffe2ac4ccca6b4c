"""What a route gets at: the store, the hub, the workshop, the door."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Path, Request
from sqlalchemy import Connection

from firstfrost.store.erase import Erased
from firstfrost.store.store import By, Store
from firstfrost.web.access import Caller
from firstfrost.web.bodies import UUID
from firstfrost.web.hub import Hub
from firstfrost.web.settings import Settings
from firstfrost.web.signin import Door
from firstfrost.web.work import Workshop


@dataclass(frozen=True, kw_only=True)
class Service:
    """The parts of a service that runs."""

    store: Store
    settings: Settings
    door: Door
    hub: Hub
    workshop: Workshop

    def by(self, caller: Caller) -> By:
        """The caller does something now."""
        return self.store.by(caller.who)

    def erase(self, job: Callable[[Connection], Erased]) -> dict[str, int]:
        """Delete on request, let those who watch go, and empty the database's own log of it."""
        done = self.store.write(job)
        for visit_id in done.visits:
            self.hub.gone(visit_id)
        self.store.tidy()
        return done.counts


async def _service(request: Request) -> Service:
    service: Service = request.app.state.service
    return service


Parts = Annotated[Service, Depends(_service)]
PathId = Annotated[str, Path(pattern=UUID)]

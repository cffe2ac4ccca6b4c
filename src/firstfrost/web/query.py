"""Refuses what a route does not know behind the question mark, so that a mistyped name is not lost."""

from __future__ import annotations

from fastapi import Request
from fastapi.dependencies.models import Dependant
from fastapi.routing import APIRoute

from firstfrost.errors import InputError, nearest
from firstfrost.web.signin import Asking


async def known_query(request: Request, caller: Asking) -> None:
    """Refuse a parameter that the route does not take, once the caller has passed the door.

    Raises
    ------
    InputError
        For the first such.
    """
    route = request.scope.get("route")
    if not isinstance(route, APIRoute) or not request.query_params:
        return
    taken = _of(route.dependant)
    for name in request.query_params:
        if name not in taken:
            path = route.path
            which = nearest(name, sorted(taken)) if taken else f"{path} takes none."
            raise InputError(f"query.{name[:60]!r} is not a parameter of {path}. {which} Leave it out.")


def _of(dependant: Dependant) -> set[str]:
    names = {field.alias for field in dependant.query_params}
    for other in dependant.dependencies:
        names |= _of(other)
    return names

"""How often the devices of a visit disagree, counted for lists."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Sequence
from typing import Any, Final

from sqlalchemy import Connection, Row, func, select

from firstfrost.store.batches import kept
from firstfrost.store.contents import contents
from firstfrost.store.judging import visit_unit
from firstfrost.store.schema import batches, clashes

KEPT: Final = 4096
"""So many counts are kept at hand."""
TOGETHER: Final = 500
"""So many ids in one question."""
_COUNTS: OrderedDict[tuple[str, int, float], int] = OrderedDict()
_GATE: Final = threading.Lock()


def conflict_counts(connection: Connection, visits: Sequence[Row[Any]]) -> dict[str, int]:
    """Conflicts of each of these visits, by its id; those of one device with itself are not looked for.

    Parameters
    ----------
    connection : Connection
        One snapshot.
    visits : sequence of rows
        Whole rows of the table `visits`.
    """
    out = {row.id: 0 for row in visits}
    shared: set[str] = set()
    ids = list(out)
    for i in range(0, len(ids), TOGETHER):
        some = ids[i : i + TOGETHER]
        two = (
            select(batches.c.visit_id)
            .where(batches.c.visit_id.in_(some))
            .group_by(batches.c.visit_id)
            .having(func.min(batches.c.client) != func.max(batches.c.client))
        )
        shared.update(connection.execute(two).scalars())
        twice = (
            select(clashes.c.visit_id, func.count())
            .where(clashes.c.visit_id.in_(some))
            .group_by(clashes.c.visit_id)
        )
        out.update({visit_id: count for visit_id, count in connection.execute(twice)})
    for row in visits:
        if row.id in shared:
            out[row.id] += _between_devices(connection, row)
    return out


def _between_devices(connection: Connection, visit: Row[Any]) -> int:
    atmosphere_pa = visit_unit(connection, visit).site.atmosphere_pa
    # What has come is never changed: as many batches are the same batches.
    key = (visit.id, visit.n, atmosphere_pa)
    with _GATE:
        known = _COUNTS.get(key)
    if known is not None:
        return known
    count = len(contents(kept(connection, visit.id), atmosphere_pa).conflicts)
    with _GATE:
        _COUNTS[key] = count
        while len(_COUNTS) > KEPT:
            _COUNTS.popitem(last=False)
    return count

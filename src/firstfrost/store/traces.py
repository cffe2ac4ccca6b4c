"""A trace frozen as Parquet: what a closed visit keeps, under its sum, for good.

Times are kept as timestamps of nanoseconds, so that any reader of Parquet knows them; `freeze` therefore
gives back the trace of just those times, and a result is made from that one. Columns carry their unit in
their name, as in a CSV, so that `firstfrost check` reads the file as it is.
"""

from __future__ import annotations

import io
import json
from datetime import UTC, datetime, timedelta
from typing import Any, Final

import numpy as np

from firstfrost.trace.channels import CHANNELS
from firstfrost.trace.trace import Trace

MEDIA: Final = "application/vnd.apache.parquet"
_META: Final = b"firstfrost"
_FORMAT: Final = 1
_ZERO: Final = datetime(1970, 1, 1, tzinfo=UTC)


def freeze(trace: Trace) -> tuple[bytes, Trace]:
    """The bytes to keep, and the trace that they hold: times to the nanosecond, else the same.

    The same trace gives the same bytes with the same version of PyArrow.
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    epoch = None if trace.epoch is None else trace.epoch.astimezone(UTC)
    time_ns = np.round(trace.time_s * 1e9).astype(np.int64)
    names = [name for name in CHANNELS if name in trace.columns]
    if epoch is None:
        times, header = pa.array(time_ns / 1e9), "time [s]"
    else:
        times, header = pa.array(time_ns + _ns(epoch), pa.timestamp("ns", tz="UTC")), "time"
    columns = [times, *(pa.array(trace.columns[name], from_pandas=True) for name in names)]
    about = {"format": _FORMAT, "epoch_ns": None if epoch is None else _ns(epoch), "zone": trace.zone}
    schema = pa.schema(
        [(header, times.type), *((f"{name} [{_unit(name)}]", pa.float64()) for name in names)],
        metadata={_META: json.dumps(about).encode()},
    )
    sink = io.BytesIO()
    pq.write_table(pa.Table.from_arrays(columns, schema=schema), sink, compression="zstd")
    held = Trace(
        time_s=time_ns / 1e9,
        columns={name: trace.columns[name] for name in names},
        epoch=epoch,
        zone=trace.zone,
    )
    return sink.getvalue(), held


def thaw(content: bytes) -> Trace:
    """The trace that `freeze` kept."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    table = pq.read_table(io.BytesIO(content))
    about: dict[str, Any] = json.loads((table.schema.metadata or {})[_META])
    epoch_ns = about["epoch_ns"]
    times = table.column(0)
    if epoch_ns is None:
        time_s = np.asarray(times.to_numpy(), dtype=np.float64)
    else:
        time_s = (np.asarray(times.cast(pa.int64()).to_numpy()) - epoch_ns) / 1e9
    return Trace(
        time_s=time_s,
        columns={
            header.partition(" [")[0]: np.asarray(table.column(i + 1).to_numpy(), dtype=np.float64)
            for i, header in enumerate(table.schema.names[1:])
        },
        epoch=None if epoch_ns is None else _ZERO + timedelta(microseconds=epoch_ns // 1000),
        zone=about["zone"],
    )


def _ns(when: datetime) -> int:
    delta = when - _ZERO
    return (delta.days * 86_400 + delta.seconds) * 1_000_000_000 + delta.microseconds * 1000


def _unit(name: str) -> str:
    channel = CHANNELS[name]
    return "Pa(a)" if channel.kind == "pressure" else channel.unit

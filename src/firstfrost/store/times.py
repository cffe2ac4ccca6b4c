"""Seconds since 1970 as text for people and files."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

_ZERO = datetime(1970, 1, 1, tzinfo=UTC)


def stamp(at_s: float) -> str:
    """ISO 8601 in UTC, to the millisecond."""
    when = _ZERO + timedelta(milliseconds=round(at_s * 1e3))
    return f"{when:%Y-%m-%dT%H:%M:%S}.{when.microsecond // 1000:03d}Z"


def day(at_s: float) -> date:
    """The day in UTC."""
    return (_ZERO + timedelta(seconds=at_s)).date()

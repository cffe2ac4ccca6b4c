"""The fixtures of all tests on stores; skipped whole where the service's packages are not installed."""

import pytest

pytest.importorskip("sqlalchemy", reason="the extra firstfrost[serve] is not installed")
pytest.importorskip("msgspec", reason="the extra firstfrost[serve] is not installed")

from stores import clock, postgres, store, where

__all__ = ["clock", "postgres", "store", "where"]

"""The fixtures of all tests on the service; skipped whole where its packages are not installed."""

import pytest

pytest.importorskip("fastapi", reason="the extra firstfrost[serve] is not installed")
pytest.importorskip("httpx2", reason="httpx2, which asks the service in tests, is not installed")

from serving import live, shop_app
from stores import clock, postgres, store, where

__all__ = ["clock", "live", "postgres", "shop_app", "store", "where"]

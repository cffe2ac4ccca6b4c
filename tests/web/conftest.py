"""The fixtures of all tests on the service; skipped whole where its packages are not installed."""

import pytest

pytest.importorskip("fastapi", reason="the extra firstfrost[serve] is not installed")
pytest.importorskip("httpx", reason="httpx, which asks the service in tests, is not installed")

from serving import live, shop_app  # noqa: E402
from stores import clock, postgres, store, where  # noqa: E402

__all__ = ["clock", "live", "postgres", "shop_app", "store", "where"]

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest
from bad_input import PAGE, cases, page, run


@pytest.mark.parametrize("case", cases(), ids=lambda case: case["kind"])
def test_the_whole_text(case: dict[str, Any], tmp_path: Path) -> None:
    if case.get("special") == "forbidden" and os.geteuid() == 0:
        pytest.skip("root may read any file")
    assert run(case, tmp_path) == case["says"]


def test_every_kind_is_named_once() -> None:
    kinds = [case["kind"] for case in cases()]
    assert len(kinds) == len(set(kinds)) > 50


def test_the_page_is_the_one_made_from_the_cases() -> None:
    assert PAGE.read_text(encoding="utf-8") == page()

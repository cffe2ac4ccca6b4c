"""The OpenAPI description against the service: made requests, good and bad, on every route (Schemathesis)."""

import json
import re

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from serving import ALONE, running
from shop import demo_visit

from firstfrost.errors import InputError
from firstfrost.store.store import Store
from firstfrost.web.access import ACCESS

schemathesis = pytest.importorskip("schemathesis", reason="schemathesis is not installed")

EXAMPLES = 12
DRAWN = settings(
    max_examples=EXAMPLES,
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)
STREAMS = ("/api/visits/{visit}/events",)
"""Not asked here: the answer has no end."""
OPERATIONS = sorted(key for key in ACCESS if key[1] != "/api/openapi.json" and key[1] not in STREAMS)
ASKED = [(method, path, False) for method, path in OPERATIONS] + [
    (method, path, True)
    for method, path in OPERATIONS
    if re.search(r"\{(visit|unit)\}", path) and (method, path) != ("DELETE", "/api/visits/{visit}")
]
"""Each route with made ids; where it names a visit or a unit, also with those of one that is there."""


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    with Store(str(tmp_path_factory.mktemp("schema") / "s.db")) as store:
        visit = demo_visit(store)
        with running(store, ALONE) as base:
            import httpx2

            with httpx2.Client(base_url=base, timeout=30) as client:
                token = client.get("/api/session").json()["csrf"]
                described = client.get("/api/openapi.json").json()
                unit = client.get(f"/api/visits/{visit}").json()["unit_id"]
            yield base, token, schemathesis.openapi.from_dict(described), {"visit": visit, "unit": unit}


@pytest.mark.parametrize(("method", "path", "known"), ASKED)
def test_the_service_does_as_it_says(method, path, known, served):
    base, token, schema, ids = served
    operation = schema[path][method]

    @given(case=operation.as_strategy())
    @DRAWN
    def ask(case):
        if known:
            # What is there, so that more than "not found" is asked.
            for name, value in ids.items():
                if name in (case.path_parameters or {}):
                    case.path_parameters[name] = value
            if method == "DELETE":
                case.query = {"confirm": "no such name"}
        answer = case.call(base_url=base, headers={"X-CSRF-Token": token}, timeout=60)
        checks = [
            schemathesis.checks.not_a_server_error,
            schemathesis.specs.openapi.checks.status_code_conformance,
            schemathesis.specs.openapi.checks.content_type_conformance,
            schemathesis.specs.openapi.checks.response_schema_conformance,
        ]
        case.validate_response(answer, checks=checks)
        if answer.status_code >= 400:
            body = json.loads(answer.content)
            assert set(body) == {"error"}
            assert set(body["error"]) == {"code", "message", "details", "current", "retry_after_s"}
            assert body["error"]["message"]

    ask()


NOTHING_WRONG = {
    ("DELETE", "/api/session"): "takes nothing",
    ("GET", "/api/accounts"): "takes nothing",
    ("GET", "/api/attention"): "takes nothing",
    ("GET", "/api/backup"): "takes nothing",
    ("GET", "/api/export"): "takes nothing",
    ("GET", "/api/health"): "takes nothing",
    ("GET", "/api/instruments"): "takes nothing",
    ("GET", "/api/keys"): "takes nothing",
    ("GET", "/api/session"): "takes nothing",
    ("GET", "/api/words"): "takes nothing",
    ("GET", "/api/tables/{refrigerant}"): "takes any text: which refrigerants there are is no schema",
    ("POST", "/api/import"): "takes any bytes: what is no export is told when it is read",
}
"""Routes for which no request can break the schema, and why; what they still refuse is tested below."""


@pytest.mark.parametrize(("method", "path"), [key for key in OPERATIONS if key not in NOTHING_WRONG])
def test_what_breaks_the_schema_is_refused(method, path, served):
    base, token, schema, _ = served
    operation = schema[path][method]

    @given(case=operation.as_strategy(generation_mode=schemathesis.GenerationMode.NEGATIVE))
    @DRAWN
    def ask(case):
        answer = case.call(base_url=base, headers={"X-CSRF-Token": token}, timeout=60)
        checks = [schemathesis.checks.not_a_server_error]
        checks.append(schemathesis.specs.openapi.checks.negative_data_rejection)
        case.validate_response(answer, checks=checks)

    ask()


@pytest.mark.parametrize(("method", "path"), OPERATIONS)
def test_a_name_that_a_route_does_not_know_behind_the_question_mark_is_refused(method, path, served):
    import httpx2

    base, token, _, ids = served
    there = re.sub(r"\{(\w+)\}", lambda found: ids.get(found[1], ids["visit"]), path)
    answer = httpx2.request(
        method, f"{base}{there}", params={"confrim": "x"}, headers={"X-CSRF-Token": token}, timeout=30
    )
    assert answer.status_code == 422
    assert "query.'confrim' is not a parameter" in answer.json()["error"]["message"]


def test_every_error_is_one_of_ours_with_a_way_out():
    from firstfrost.web.errors import STATUS, of

    assert of(InputError("x has 2 mistakes:\n  - a is b\n  - c")).content.details[0].where == "a"
    assert [row[1] for row in STATUS] == [410, 404, 409, 409, 503, 422, 422, 422]

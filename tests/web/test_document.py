"""The interface as its OpenAPI document says it: random requests find no answer it lacks.

403 and others by RFC 9110.
"""

import copy

import httpx
import page_server
import pytest
import schemathesis
import shapes
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis.checks import (
    content_type_conformance,
    not_a_server_error,
    response_schema_conformance,
    status_code_conformance,
    unsupported_method,
)

from castplan.errors import InputError
from castplan.page import desk as desks
from castplan.page.api import FILES
from castplan.page.document import openapi

# The judge is schemathesis, which makes requests of an OpenAPI document and holds the
# answers against it; OpenAPI Specification 3.1.0, https://spec.openapis.org/oas/v3.1.0.

DOCUMENT = openapi({name: kind for name, (_, kind) in FILES.items()})
OPERATIONS = [
    (method.upper(), path)
    for path, told in DOCUMENT["paths"].items()
    for method in told
    if method != "parameters"
]
CHECKS = [
    content_type_conformance,
    not_a_server_error,
    response_schema_conformance,
    status_code_conformance,
    unsupported_method,
]
LOOK = settings(
    max_examples=12,
    derandomize=True,
    database=None,
    deadline=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)


@pytest.fixture(scope="module")
def client(served):
    return served.client


@pytest.fixture(scope="module")
def keys(client):
    """A job that is planned, one that cannot be, and a key of none; nothing else is planned."""

    def add(data):
        made = client.post("/api/jobs", params={"name": "a.stl", "units": "mm"}, content=data)
        key = made.json()["key"]
        client.get(f"/api/jobs/{key}", params={"wait": 20})
        return key

    planned = add(page_server.stl_of(shapes.box()))
    assert client.get(f"/api/jobs/{planned}/cards").status_code == 200

    def none(*told, **named):
        raise InputError("stand-in", found="a random request", need="none", do="Go on.")

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(desks, "build_plan", none)
        patch.setattr(desks, "N_READY", 10_000)
        yield [planned, add(b"no mesh at all"), "nope"]


def schema_for(keys, method):
    """The document with the keys that there are; changes leave the planned job alone."""
    told = copy.deepcopy(DOCUMENT)
    allowed = keys if method == "GET" else keys[1:]
    for path in told["paths"].values():
        for parameter in path.get("parameters", []):
            if parameter["name"] == "key":
                parameter["schema"] = {"enum": allowed}
    return schemathesis.openapi.from_dict(told)


@pytest.mark.parametrize(("method", "path"), OPERATIONS)
def test_every_answer_is_one_the_document_knows(client, keys, method, path):
    schema = schema_for(keys, method)
    statuses = []

    @LOOK
    @given(case=schema[path][method].as_strategy())
    def look(case):
        response = case.call(base_url=str(client.base_url), headers=dict(client.headers))
        statuses.append(response.status_code)
        case.validate_response(response, checks=CHECKS)

    look()
    assert len(statuses) >= 1


def test_every_route_stands_in_the_document(served):
    routes = {
        (method, route.path)
        for route in served.app._app.routes
        for method in route.methods - {"HEAD"}
        if route.path.startswith("/api/")
    }
    assert routes == set(OPERATIONS)


def test_what_the_guard_refuses_stands_in_it_too(served):
    schema = schemathesis.openapi.from_dict(DOCUMENT)
    case = schema["/api/jobs"]["GET"].Case()
    for headers, status in (({"host": "evil.example"}, 421),):
        response = httpx.get(f"{served.url}/api/jobs", headers=headers)
        assert response.status_code == status
        case.validate_response(response, checks=CHECKS)
    case = schema["/api/jobs/{key}/stop"]["POST"].Case(path_parameters={"key": "x"})
    response = httpx.post(f"{served.url}/api/jobs/x/stop")
    assert response.status_code == 403
    case.validate_response(response, checks=CHECKS)

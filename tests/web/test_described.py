"""The server against its own OpenAPI description, with requests that schemathesis makes up.

https://schemathesis.readthedocs.io lists its checks: no server error, and status, kind and shape
of each answer as described; data that the description forbids is refused, what it allows is taken.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from typing import Any

import httpx2
import hypothesis
import pytest
import schemathesis
from schemathesis.specs.openapi import checks

from artcheck.web import create_app
from artcheck.web.desk import Desk
from artcheck.web.processes import Processes
from tests.web.conftest import drop, served

TRIALS = int(os.environ.get("ARTCHECK_TRIALS", "12"))
"""Made-up requests for each address and kind of trial; more by the variable."""

SETTINGS = hypothesis.settings(
    max_examples=TRIALS,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(hypothesis.HealthCheck),
)

DESCRIPTION = create_app().openapi()
OPERATIONS = [
    (path, method) for path, found in DESCRIPTION["paths"].items() for method in sorted(found)
]


POSITIVE, NEGATIVE = schemathesis.GenerationMode.POSITIVE, schemathesis.GenerationMode.NEGATIVE


def has_rules(path: str, method: str) -> bool:
    """Whether there is anything that an address forbids: a word may be any word."""
    found = DESCRIPTION["paths"][path][method]
    schemas = [one["schema"] for one in found.get("parameters", [])]
    bodies = found.get("requestBody", {}).get("content", {})
    return "application/json" in bodies or any(
        set(one) - {"type", "title", "default"} or one.get("type") != "string" for one in schemas
    )


ASKING = ("/api/evaluate", "/api/report", "/api/jobs")

UNJUDGED = [checks.positive_data_acceptance, checks.negative_data_rejection]
"""An order that its schema allows may be refused for its sense: a quantity that is not the sum of
its sizes, for one."""


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory, processes: Processes) -> Iterator[str]:
    app = create_app(workspace=tmp_path_factory.mktemp("jobs"), desk=Desk(processes=processes))
    with served(app) as (host, port):
        yield f"http://{host}:{port}"


@pytest.mark.parametrize(("path", "method"), OPERATIONS)
def test_the_server_is_as_it_says(address: str, path: str, method: str) -> None:
    """Every check; but no schema says which bytes are a picture, or that an order has as many
    files as prints, so bodies that it allows may still be refused.
    """
    body = "requestBody" in DESCRIPTION["paths"][path][method]
    left_out = [checks.positive_data_acceptance] if body else []
    tried(path, method, POSITIVE, lambda case: judged(case, address, left_out))


@pytest.mark.parametrize(("path", "method"), [one for one in OPERATIONS if has_rules(*one)])
def test_what_the_description_forbids_is_refused(address: str, path: str, method: str) -> None:
    tried(path, method, NEGATIVE, lambda case: judged(case, address, []))


@pytest.mark.parametrize("path", ASKING)
def test_made_up_orders_of_held_art_are_answered(address: str, art: bytes, path: str) -> None:
    """Orders made up for art that is there, so that they are reckoned and not turned away."""
    with httpx2.Client(base_url=address) as client:
        digest = drop(client, art)
    answered: list[int] = []

    def ask(case: Any) -> None:
        prints = case.body["order"]["prints"] = case.body["order"].get("prints", [])[:2]
        case.body |= {"arts": [digest] * len(prints), "shown": 0}
        case.body.pop("separations", None)
        for print_ in prints:
            print_ |= {"background": "auto", "page": 1}
        answer = case.call(address)
        case.validate_response(answer, excluded_checks=UNJUDGED)
        answered.append(answer.status_code)

    tried(path, "post", POSITIVE, ask)
    assert set(answered) <= {200, 400, 422}
    assert 200 in answered


def tried(path: str, method: str, mode: Any, ask: Callable[[Any], None]) -> None:
    """``ask`` with as many made-up requests."""
    schema = schemathesis.openapi.from_dict(DESCRIPTION)
    made = 0

    @SETTINGS
    @hypothesis.given(case=schema[path][method].as_strategy(generation_mode=mode))
    def trial(case: Any) -> None:
        nonlocal made
        made += 1
        ask(case)

    trial()
    assert made >= 1


def judged(case: Any, address: str, left_out: list[Any]) -> None:
    case.call_and_validate(address, excluded_checks=left_out)

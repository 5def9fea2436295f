"""Every route of the API asked by its own document, and against it: it answers as that says, and never breaks."""

import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.errors import Unsatisfiable
from schemathesis import Case, GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.core.failures import FailureGroup
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from watched import WatchedYard

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]
EXAMPLES = 18
BOAT = "amber-lark"


def test_every_route_answers_as_its_document_says_whatever_it_is_asked(served: str, yard: WatchedYard) -> None:
    schema = schemathesis.openapi.from_url(f"{served}/api/openapi.json")
    (alert, *_), (call, *_) = yard.view.alerts(open_only=True, vessel=BOAT), yard.view.calls(open_only=True)
    known = {"vessel_id": BOAT, "alert_id": alert.id, "call_id": call.id}
    asked = 0
    faults: list[str] = []
    for found in schema.get_all_operations():
        operation = found.ok()
        for mode in GenerationMode:

            @settings(
                max_examples=EXAMPLES,
                deadline=None,
                derandomize=True,
                database=None,
                suppress_health_check=list(HealthCheck),
            )
            @given(case=operation.as_strategy(generation_mode=mode), of_ours=st.booleans())
            def ask(case: Case, of_ours: bool) -> None:
                nonlocal asked
                asked += 1
                if of_ours:
                    case.path_parameters = {**(case.path_parameters or {}), **_named(case, known)}
                case.call_and_validate(checks=CHECKS, timeout=20)

            try:
                ask()
            except Unsatisfiable:
                continue  # it takes nothing that could be wrong
            except (Exception, FailureGroup) as error:  # noqa: BLE001 - each route's fault is told with the others'
                faults.append(f"{operation.label} ({mode.value}): {error}")
    print(f"\n{asked} questions to the API")
    assert not faults, "\n\n".join(faults)


def _named(case: Case, known: dict[str, str]) -> dict[str, str]:
    return {name: known[name] for name in case.path_parameters or {} if name in known}

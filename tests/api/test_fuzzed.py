"""Requests made from the document: whatever it allows is answered, whatever it forbids is refused.

CI makes 50 requests for an operation. The long run is a command, an hour long:
``SCHEMATHESIS_EXAMPLES=1000 python -m pytest tests/api/test_fuzzed.py --hypothesis-seed=random``. The seed
is printed. Making up bodies costs most of the time; ``-k POST`` and ``-k GET`` may run side by side.
"""

from __future__ import annotations

import os
import re
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, core, settings
from schemathesis.config import SchemathesisConfig

from lampwright.app import create_app
from lampwright.config import Config

# Hypothesis warns of the long descriptions that schemathesis gives its strategies.
pytestmark = pytest.mark.filterwarnings("ignore::hypothesis.errors.HypothesisWarning")

EXAMPLES = int(os.environ.get("SCHEMATHESIS_EXAMPLES", "50"))
# Where CI=true is set, Hypothesis makes up the same cases each time, unless a seed was asked for.
ALIKE = settings.default.derandomize and core.global_force_seed is None
QUIET = settings(
    max_examples=EXAMPLES,
    derandomize=ALIKE,
    deadline=None,
    suppress_health_check=list(HealthCheck),
)
# What breaks the schema is 400 and its kin; 422 fits the schema and cannot be taken all the same.
CONFIG = SchemathesisConfig.from_dict(
    {
        "checks": {
            "positive_data_acceptance": {"expected-statuses": [200, 422]},
            "negative_data_rejection": {"expected-statuses": [400, 405, 406, 413, 414, 415]},
        }
    }
)
NUMBER = re.compile(r"\s*[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?\s*")
schema = schemathesis.openapi.from_wsgi("/v1/openapi.json", create_app(Config()), config=CONFIG)


@schema.hook
def filter_query(context: Any, query: Any) -> bool:
    """Leave out what cannot be written into a query string.

    An empty list there is no parameter at all. A text that reads as a number is that number, so it breaks
    no pattern, as the generator believes; numbers themselves are made up beside it, out of bounds too.
    """
    members = (query or {}).get("members", query or {})
    return not isinstance(members, dict) or not any(
        value in ([], {}, None) or (isinstance(value, str) and NUMBER.fullmatch(value))
        for value in members.values()
    )


@schema.parametrize()
@QUIET
def test_the_document_is_kept(case: Any) -> None:
    case.call_and_validate()


machine = schema.as_state_machine()
machine.TestCase.settings = settings(
    max_examples=max(EXAMPLES // 5, 10),
    derandomize=ALIKE,
    stateful_step_count=5,
    deadline=None,
    suppress_health_check=list(HealthCheck),
)
TestLinks = pytest.mark.filterwarnings("ignore::pytest.PytestCollectionWarning")(machine.TestCase)

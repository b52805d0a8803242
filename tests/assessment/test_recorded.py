"""Recorded results say again what they said."""

import json

import pytest

from certgen.results.survey_results import recorded_rolls, survey_results
from tests.certificate.samples import sample


@pytest.mark.parametrize("name", ["tutorial", "winder_inch", "coater_mm", "dryer_mixed", "unwind_wide"])
def test_results_become_the_records_they_came_from(name: str) -> None:
    """Through JSON and back, to the last bit; rolls that were not measured too."""
    assessment = sample(name)
    found = recorded_rolls(json.loads(json.dumps(survey_results(assessment))))
    assert found == assessment.rolls


def test_what_is_no_contract_is_refused() -> None:
    """A key that is not there."""
    with pytest.raises(KeyError):
        recorded_rolls({"rolls": [{"id": "R1"}]})

"""A reference study as plain data, for `--json`; the names are a contract. Slopes in mm/m, moves in mm."""

from certgen.assessment.study import Candidate, Study

FORMAT = "certgen-study/1"

Json = dict[str, object]


def study_results(study: Study) -> Json:
    """Return the study as dicts, lists, text and floats; candidates the cheapest first."""
    survey = study.survey
    return {
        "format": FORMAT,
        "survey_sha256": survey.sha256,
        "certificate": {"number": survey.certificate.number, "revision": survey.certificate.revision},
        "round": study.round,
        "reference": survey.reference.roll or list(survey.reference.monuments),
        "decision": survey.decision,
        "coverage_factor": study.coverage_factor,
        "candidates": [_candidate(candidate) for candidate in study.candidates],
        "not_measured": list(study.not_measured),
    }


def _candidate(candidate: Candidate) -> Json:
    cost = candidate.cost
    return {
        "kind": candidate.kind,
        "id": candidate.id,
        "present": candidate.present,
        "direction_mm_per_m": candidate.direction_mm_per_m,
        "judged": candidate.judged,
        "outside": len(cost.outside),
        "outside_rolls": list(cost.outside),
        "stay_outside": len(cost.stuck),
        "stay_outside_rolls": list(cost.stuck),
        "to_move": len(cost.moved),
        "to_move_rolls": list(cost.moved),
        "total_move_mm": cost.total_move_mm,
        "largest_move_mm": cost.largest_move_mm,
    }

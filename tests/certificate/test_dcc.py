"""The results in the form of a digital calibration certificate: structure, the published rules, verify."""

import json
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import pytest

from certgen.assessment.assess import assess
from certgen.assessment.assessment import Assessment
from certgen.cli import main
from certgen.errors import CannotCompute, WrongUsage
from certgen.exports.dcc import dcc_xml
from certgen.network.solution import solve_survey
from certgen.results.survey_results import survey_results
from certgen.survey.survey import Coverage
from tests.certificate.dcc_schema import NAMES, rule_faults, schema_faults
from tests.certificate.forge import forged, measured, objects, stream
from tests.certificate.samples import sample

SAMPLES = ("coater_mm", "dryer_mixed", "tutorial", "unwind_wide", "winder_inch", "winder_inch_next_year")


def standing(name: str, country: str | None = "NO") -> Assessment:
    """Return a sample whose line stands in a country."""
    taken = sample(name).survey
    return assess(solve_survey(replace(taken, line=replace(taken.line, country=country))))


def parsed(data: bytes) -> ET.Element:
    """Return the root of the form, which the tests wrote themselves."""
    return ET.fromstring(data)  # noqa: S314


def results(data: bytes) -> dict[str, ET.Element]:
    """Return the measurement results by their names."""
    found = parsed(data).iterfind(".//dcc:measurementResult", NAMES)
    return {str(one.findtext("dcc:name/dcc:content", namespaces=NAMES)): one for one in found}


@pytest.mark.parametrize("name", SAMPLES)
def test_every_figure_is_that_of_the_results(name: str) -> None:
    """Slope, error, U, factor, limit and conformity of every roll, as the JSON results have them."""
    found = standing(name)
    plain = json.loads(json.dumps(survey_results(found)))
    named = results(dcc_xml(found))
    counted = 0
    for which in found.surveyed:
        for aspect in ("level", "parallel"):
            title = f"{aspect.capitalize()} of rolls, {which.replace('_', ' ')}"
            lists = named[title].findall(".//dcc:data/dcc:list", NAMES)
            assert len(lists) == len(plain["rolls"])
            for one, roll in zip(lists, plain["rolls"], strict=True):
                counted += held(one, roll[aspect][which], found.survey.decision)
    assert counted > 4


def held(one: ET.Element, state: dict[str, object] | None, decision: str) -> bool:
    """Hold the figures of a roll; return whether it was judged."""
    quantities = one.findall("dcc:quantity", NAMES)
    if state is None:
        assert str(quantities[0].findtext("dcc:noQuantity/dcc:content", namespaces=NAMES)).startswith(
            "not measured"
        )
        return False
    values = [float(str(q.findtext("si:real/si:value", namespaces=NAMES))) for q in quantities]
    assert values[0] == state["slope_mm_per_m"]
    if state["verdict"] == "reference":
        assert len(quantities) == 1
        return False
    assert values[1] == state["error_mm_per_m"]
    expanded = quantities[1].find("si:real/si:measurementUncertaintyUnivariate/si:expandedMU", NAMES)
    assert expanded is not None
    assert float(str(expanded.findtext("si:valueExpandedMU", namespaces=NAMES))) == state["U_mm_per_m"]
    assert 0.5 < float(str(expanded.findtext("si:coverageProbability", namespaces=NAMES))) < 1.0
    limit = quantities[1].findtext(".//dcc:metaData/dcc:data//si:value", namespaces=NAMES)
    assert float(str(limit)) == state["limit_mm_per_m"]
    conformity = quantities[1].findtext(".//dcc:conformity", namespaces=NAMES)
    error, most, expanded_u = (
        abs(float(str(state[key]))) for key in ("error_mm_per_m", "limit_mm_per_m", "U_mm_per_m")
    )
    expected = {
        "pass": "pass",
        "conditional pass": "conditionalPass",
        "conditional fail": "conditionalFail",
        "fail": "fail" if decision != "guarded" or error > most + expanded_u else "noPass",
    }
    assert conformity == expected[str(state["verdict"])]
    return True


@pytest.mark.parametrize("name", SAMPLES)
def test_form_is_that_of_the_published_rules(name: str) -> None:
    """Valid by DCC 3.3.0 with D-SI 2.2.1, and none of the rules of good practice is broken."""
    data = dcc_xml(standing(name))
    assert schema_faults(data) == []
    assert rule_faults(data) == []


def test_published_rules_find_what_is_wrong() -> None:
    """The check itself works: a reference to nothing, another schema, days turned round, a bad release."""
    data = dcc_xml(standing("tutorial"))
    assert schema_faults(data.replace(b'schemaVersion="3.3.0"', b'schemaVersion="3.2.0"')) != []
    for old, new in (
        (b'refId="roll_2"', b'refId="roll_77"'),
        (b"<dcc:release>v0", b"<dcc:release>version 0"),
        (b"<dcc:countryCodeISO3166_1>NO", b"<dcc:countryCodeISO3166_1>XX"),
        (b"<dcc:endPerformanceDate>2026", b"<dcc:endPerformanceDate>2025"),
    ):
        assert old in data
        assert rule_faults(data.replace(old, new)) != []


def test_same_survey_gives_the_same_bytes() -> None:
    """Twice, and no date but those of the survey."""
    assert dcc_xml(standing("coater_mm")) == dcc_xml(standing("coater_mm"))


def test_texts_of_the_survey_are_no_markup() -> None:
    """Signs that mean something in XML, and line breaks, which no text of the form may hold."""
    taken = standing("tutorial").survey
    line = replace(taken.line, name="<b>Line & 'more'</b>")
    odd = replace(taken, line=line, customer=replace(taken.customer, address="1 Road\n\n  Town ]]>"))
    root = parsed(dcc_xml(assess(solve_survey(odd))))
    assert root.findtext(".//dcc:items/dcc:name/dcc:content", namespaces=NAMES) == "<b>Line & 'more'</b>"
    place = root.findtext(".//dcc:customer/dcc:location/dcc:further/dcc:content", namespaces=NAMES)
    assert str(place).startswith("1 Road Town ]]>")


def test_form_asks_for_the_country() -> None:
    """With the line of the file, and what to write there."""
    with pytest.raises(WrongUsage, match=r"country .*line \d+: write under line: country"):
        dcc_xml(sample("tutorial"))


def test_factor_below_one_has_no_place_in_the_form() -> None:
    """The schema has none; it is refused and not rounded."""
    taken = standing("tutorial").survey
    low = replace(taken, uncertainty=replace(taken.uncertainty, coverage=Coverage(0.9, None)))
    with pytest.raises(CannotCompute, match="below 1"):
        dcc_xml(assess(solve_survey(low)))


def issued(tmp_path: Path, *more: str) -> tuple[Path, Path]:
    """Return PDF and form of a sample as the command writes them."""
    text = (Path("sample_surveys") / "dryer_mixed.yaml").read_text("utf-8")
    survey = tmp_path / "line.yaml"
    survey.write_text(
        text.replace("location: Machine room}", "location: Machine room, country: NO}"), "utf-8"
    )
    pdf, form = tmp_path / "line.pdf", tmp_path / "line.xml"
    with pytest.raises(SystemExit) as done:
        main(["issue", str(survey), "-o", str(pdf), "--dcc", str(form), *more])
    assert done.value.code == 0
    return pdf, form


def outcome(path: Path, capsys: pytest.CaptureFixture[str]) -> tuple[object, str]:
    """Return exit status and text of verifying a file."""
    capsys.readouterr()
    with pytest.raises(SystemExit) as done:
        main(["verify", str(path)])
    return done.value.code, capsys.readouterr().out


def test_form_travels_inside_and_is_verified(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Attached byte for byte, taken out again, told by verify; one that says otherwise does not hold."""
    pdf, form = issued(tmp_path)
    code, told = outcome(pdf, capsys)
    assert code == 0
    assert "in the form of a DCC are those that the survey gives" in told
    with pytest.raises(SystemExit):
        main(["extract", str(pdf), "-o", str(tmp_path / "out")])
    assert (tmp_path / "out" / "dcc.xml").read_bytes() == form.read_bytes()
    data = pdf.read_bytes()
    number, content = next(
        (n, s) for n, part in objects(data).items() if (s := stream(part)) and b"digitalCalibration" in s
    )
    changed = content.replace(b">fail<", b">pass<", 1)
    assert changed != content
    (tmp_path / "forged.pdf").write_bytes(forged(data, {number: measured(objects(data)[number], changed)}))
    code, told = outcome(tmp_path / "forged.pdf", capsys)
    assert code == 5
    assert "are not those that the survey gives" in told

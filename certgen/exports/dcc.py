"""The results in the form of a digital calibration certificate: DCC schema 3.3.0 with D-SI 2.2.1.

It holds what the certificate holds, in SI units, for programs that read this form, and claims no
accreditation. The same survey gives the same bytes; every date is one of the survey.
"""

import re
import xml.etree.ElementTree as ET

from certgen.assessment.assessment import ASPECTS, Assessment
from certgen.errors import CannotCompute, WrongUsage
from certgen.exports.dcc_results import measurement_results
from certgen.exports.xml_parts import DCC, SI, add, contents, name, named, software
from certgen.pdf.archive.metadata import DCC as DCC_FILE
from certgen.pdf.archive.metadata import Attachment
from certgen.survey.survey import ROUNDS, Instrument, Survey

_VERSION = "3.3.0"
_LANGUAGE = "en"
_RULES = {
    "simple": "Simple acceptance (ILAC-G8:09/2019, 4.2): pass where the error is not larger than the limit.",
    "guarded": "Guarded acceptance, guard band U (ILAC-G8:09/2019, 4.2): pass where error and U together are "
    "not larger than the limit; fail where the error is larger than limit and U together; else no pass.",
    "four_way": "Four statements, guard band U (ILAC-G8:09/2019, 5): pass where error and U together are not "
    "larger than the limit; conditional pass within the limit; conditional fail beyond it, by not more than "
    "U; else fail.",
}
_ACCREDITATION = (
    "Results in the form of a digital calibration certificate, worked out by a program from the survey "
    "of the contractor. Nothing in it claims accreditation."
)
_ITEMS = "The results relate only to the items surveyed, in the state and under the conditions described."


def dcc_xml(assessment: Assessment) -> bytes:
    """Return the results in that form, UTF-8.

    Raises WrongUsage where the survey lacks the country that the form asks for, CannotCompute where U is
    stated with a coverage factor below 1, which the form has no room for.
    """
    survey = assessment.survey
    if survey.line.country is None:
        place = survey.places.get("line")
        line = f", line {place.line}" if place is not None else ""
        raise WrongUsage(
            f"--dcc needs the country in which the line stands (ISO 3166-1){line}: write under line: "
            'country: "DE", for example.'
        )
    states = (
        roll.aspect(aspect).in_round(which)
        for roll in assessment.rolls
        for aspect in ASPECTS
        for which in ROUNDS
    )
    factors = [state.k for state in states if state is not None]
    if min([assessment.coverage_factor, *factors]) < 1.0:
        raise CannotCompute(
            "The form of a DCC has no coverage factor below 1: leave --dcc out, or state a larger one."
        )
    for prefix, space in (("dcc", DCC), ("si", SI)):
        ET.register_namespace(prefix, space)
    root = ET.Element(f"{{{DCC}}}digitalCalibrationCertificate", schemaVersion=_VERSION)
    _administrative(root, survey, survey.line.country)
    whole = add(root, "measurementResults")
    _equipment(whole, survey)
    for one in measurement_results(assessment):
        whole.append(one)
    ET.indent(root)
    data: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return data + b"\n"


def attachment(data: bytes) -> Attachment:
    """Return it as the file that a certificate carries."""
    text = "The results in the form of a digital calibration certificate, for programs"
    return Attachment(DCC_FILE, "text/xml", text, "Alternative", data)


def _administrative(root: ET.Element, survey: Survey, country: str) -> None:
    part = add(root, "administrativeData")
    software(part, "dccSoftware")
    _core(part, survey, country)
    _items(part, survey)
    laboratory = add(part, "calibrationLaboratory")
    contractor = survey.contractor
    _contact(add(laboratory, "contact"), (contractor.name, contractor.address, contractor.contact))
    people = add(part, "respPersons")
    for who, role, signs in (
        (contractor.surveyed_by, "surveyed by", False),
        (contractor.approved_by, "approved by", True),
    ):
        person = add(people, "respPerson")
        name(add(person, "person"), who)
        add(person, "role", role)
        add(person, "mainSigner", str(signs).lower())
    customer = survey.customer
    _contact(add(part, "customer"), (customer.name, customer.address, customer.contact))
    statements = add(part, "statements")
    for title, text in (
        ("Decision rule", _RULES[survey.decision]),
        ("Scope", _ITEMS),
        ("Form", _ACCREDITATION),
    ):
        one = add(statements, "statement")
        named(one, title)
        contents(add(one, "declaration"), text)


def _core(part: ET.Element, survey: Survey, country: str) -> None:
    core, head = add(part, "coreData"), survey.certificate
    add(core, "countryCodeISO3166_1", country)
    add(core, "usedLangCodeISO639_1", _LANGUAGE)
    add(core, "mandatoryLangCodeISO639_1", _LANGUAGE)
    add(core, "uniqueIdentifier", f"{head.number}, revision {head.revision}")
    identifications = add(core, "identifications")
    _identification(identifications, "calibrationLaboratory", head.number, "Certificate number")
    _identification(identifications, "calibrationLaboratory", survey.sha256, "SHA-256 of the survey")
    if survey.customer.order:
        _identification(identifications, "customer", survey.customer.order, "Order")
    add(core, "beginPerformanceDate", survey.visit.started.isoformat())
    add(core, "endPerformanceDate", survey.visit.finished.isoformat())
    add(core, "performanceLocation", "customer")
    add(core, "issueDate", head.issued.isoformat())
    if head.supersedes is not None:
        changed = add(core, "reportAmendedSubstituted")
        add(changed, "typeOfChange", "substituted")
        add(changed, "replacedUniqueIdentifier", head.supersedes)


def _items(part: ET.Element, survey: Survey) -> None:
    items = add(part, "items")
    name(items, survey.line.name)
    description = add(items, "description")
    contents(description, f"Roll line; it stands: {survey.line.location or survey.customer.name}")
    _identification(add(items, "identifications"), "owner", survey.line.asset or survey.line.name, "Asset")
    for number, roll in enumerate(survey.rolls, 1):
        item = add(items, "item", id=f"roll_{number}")
        name(item, f"{roll.id} {roll.name}")
        _identification(add(item, "identifications"), "owner", roll.id, "Roll")


def _identification(parent: ET.Element, issuer: str, value: str, title: str) -> None:
    one = add(parent, "identification")
    add(one, "issuer", issuer)
    add(one, "value", value)
    named(one, title)


def _contact(parent: ET.Element, who: tuple[str, str, str]) -> None:
    """Name, address as it was written, and how to reach it."""
    title, address, reach = who
    name(parent, title)
    if re.fullmatch(r"[^\s@]+@[^\s@]+", reach):
        add(parent, "eMail", reach)
        reach = ""
    further = add(add(parent, "location"), "further")
    contents(further, ", ".join(part for part in (address, reach) if part) or title, lang=None)


def _equipment(whole: ET.Element, survey: Survey) -> None:
    used = add(whole, "measuringEquipments")
    for instrument in survey.instruments:
        one = add(used, "measuringEquipment")
        name(one, instrument.kind)
        contents(add(one, "description"), _calibrated(instrument))
        _identification(add(one, "identifications"), "manufacturer", instrument.serial, "Serial number")


def _calibrated(one: Instrument) -> str:
    days = f"calibrated {one.calibrated.isoformat()}, due {one.due.isoformat()}"
    return f"{one.id}: {days}, traceable to {one.traceable_to}"

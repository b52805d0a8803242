"""The whole survey from the checked tree: who, where, when, with what, and all its other parts."""

from hashlib import sha256
from typing import cast

from certgen.survey.build.readings import Readings, scatter
from certgen.survey.build.rolls import adjustment, roll, shims, standard, uncertainties, web
from certgen.survey.checked import Checked, only_laser
from certgen.survey.edition import EDITION
from certgen.survey.quantities import Every
from certgen.survey.survey import (
    CertificateHead,
    Conditions,
    Contractor,
    Customer,
    Decision,
    Instrument,
    Line,
    Monument,
    Paper,
    Positive,
    PrintedUnits,
    Reference,
    Survey,
    Visit,
)


def certificate(node: Checked) -> CertificateHead:
    """Return what identifies the certificate."""
    paper, supersedes, reason = (node.get(key) for key in ("paper", "supersedes", "reason"))
    return CertificateHead(
        number=node["number"].text,
        revision=int(node["revision"].number),
        issued=node["issued"].day,
        units=cast(PrintedUnits, node["units"].text),
        paper=cast(Paper, paper.text) if paper else "A4",
        supersedes=supersedes.text if supersedes else None,
        reason=reason.text if reason else None,
    )


def contractor(node: Checked) -> Contractor:
    """Return who surveyed the line."""
    return Contractor(
        name=node["name"].text,
        address=node["address"].text,
        contact=node["contact"].text,
        surveyed_by=node["surveyed_by"].text,
        approved_by=node["approved_by"].text,
    )


def customer(node: Checked) -> Customer:
    """Return whom the line belongs to."""
    return Customer(node["name"].text, node["address"].text, node["contact"].text, node["order"].text)


def line(node: Checked) -> Line:
    """Return the line that was surveyed."""
    country = node.get("country")
    where = country.text if country else None
    return Line(node["name"].text, node["asset"].text, node["location"].text, where)


def visit(node: Checked) -> Visit:
    """Return the days of the work."""
    often = node.get("interval")
    every = often.value if often and isinstance(often.value, Every) else None
    by, why = node.get("next", "by"), node.get("next", "why")
    return Visit(
        node["started"].day,
        node["finished"].day,
        every,
        by.day if by else None,
        why.text if why else None,
    )


def conditions(root: Checked) -> Conditions:
    """Return the surroundings, as far as they were noted."""
    temperature, notes = root.get("conditions", "temperature"), root.get("conditions", "notes")
    return Conditions(temperature.base if temperature else None, notes.text if notes else None)


def instrument(node: Checked) -> Instrument:
    """Return one instrument."""
    sensitivity = node.get("sensitivity")
    return Instrument(
        id=node["id"].text,
        kind=node["kind"].text,
        serial=node["serial"].text,
        calibrated=node["calibrated"].day,
        due=node["due"].day,
        traceable_to=node["traceable_to"].text,
        sensitivity_mm_per_m=sensitivity.base if sensitivity else None,
        scale=standard(node.get("scale")),
    )


def decision(node: Checked) -> Decision:
    """Return the decision rule."""
    return cast(Decision, node.text)


def reference(node: Checked) -> Reference:
    """Return what parallel is measured against."""
    roll = node.get("roll")
    return Reference(roll.text if roll else None, tuple(item.text for item in node.list("monuments")))


def positive(root: Checked) -> Positive:
    """Return which way positive readings mean in the file."""
    upstream = root.get("positive", "roll")
    operator = root.get("positive", "monument")
    return Positive(
        roll="upstream" if upstream and upstream.text == "upstream" else "downstream",
        monument="operator" if operator and operator.text == "operator" else "drive",
    )


def monument(node: Checked) -> Monument:
    """Return one floor monument."""
    return Monument(node["id"].text, node["station"].base)


def survey(root: Checked, source: bytes, edition: int = EDITION) -> Survey:
    """Return the survey; every name in it must be declared and every group of keys be in its place."""
    rolls = tuple(roll(node, root) for node in root.list("rolls"))
    level = root.get("level")
    readings = Readings({one.id: one for one in rolls}, positive(root), only_laser(root) or "")
    return Survey(
        sha256=sha256(source).hexdigest(),
        certificate=certificate(root["certificate"]),
        contractor=contractor(root["contractor"]),
        customer=customer(root["customer"]),
        line=line(root["line"]),
        visit=visit(root["visit"]),
        conditions=conditions(root),
        instruments=tuple(instrument(node) for node in root.list("instruments")),
        uncertainty=uncertainties(root["uncertainty"], scatter(root)),
        decision=decision(root["decision"]),
        reference=reference(root["reference"]),
        positive=readings.positive,
        rolls=rolls,
        monuments=tuple(monument(node) for node in root.list("monuments")),
        level=readings.level(level) if level else None,
        setups=tuple(readings.setup(node) for node in root.list("setups")),
        adjustments=tuple(adjustment(node) for node in root.list("adjustments")),
        shims=shims(root.get("shims")),
        web=web(root.get("web")),
        notes=tuple(note.text for note in root.list("notes")),
        edition=edition,
        places={node.where: node.pointed_at for node in root.everything()},
        source=source,
    )

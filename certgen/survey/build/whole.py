"""The whole survey from the checked tree."""

from hashlib import sha256

from certgen.survey.build import parties, work
from certgen.survey.build.readings import Readings
from certgen.survey.build.rolls import roll
from certgen.survey.build.scatter import scatter
from certgen.survey.build.uncertainty import uncertainties
from certgen.survey.checked import Checked
from certgen.survey.edition import EDITION
from certgen.survey.lasers import only_laser
from certgen.survey.survey import Survey


def survey(root: Checked, source: bytes, edition: int = EDITION) -> Survey:
    """Return the survey; every name in it must be declared and every group of keys be in its place."""
    rolls = tuple(roll(node, root) for node in root.list("rolls"))
    level = root.get("level")
    readings = Readings({one.id: one for one in rolls}, parties.positive(root), only_laser(root) or "")
    return Survey(
        sha256=sha256(source).hexdigest(),
        certificate=parties.certificate(root["certificate"]),
        contractor=parties.contractor(root["contractor"]),
        customer=parties.customer(root["customer"]),
        line=parties.line(root["line"]),
        visit=parties.visit(root["visit"]),
        conditions=parties.conditions(root),
        instruments=tuple(parties.instrument(node) for node in root.list("instruments")),
        uncertainty=uncertainties(root["uncertainty"], scatter(root)),
        decision=parties.decision(root["decision"]),
        reference=parties.reference(root["reference"]),
        positive=readings.positive,
        rolls=rolls,
        monuments=tuple(parties.monument(node) for node in root.list("monuments")),
        level=readings.level(level) if level else None,
        setups=tuple(readings.setup(node) for node in root.list("setups")),
        adjustments=tuple(work.adjustment(node) for node in root.list("adjustments")),
        shims=work.shims(root.get("shims")),
        web=work.web(root.get("web")),
        notes=tuple(note.text for note in root.list("notes")),
        edition=edition,
        places={node.where: node.pointed_at for node in root.everything()},
        source=source,
    )

"""A register of sample lines, its certificates without pages: what a site is made from, quickly."""

import json
from collections.abc import Iterable
from datetime import date
from hashlib import sha256
from pathlib import Path

from certgen import resources
from certgen.assessment.assessment import Assessment
from certgen.register.entries import Held
from certgen.register.find import Wanted
from certgen.register.intake import identified
from certgen.register.register import Register
from certgen.register.site.site import Wish, site
from certgen.results.survey_results import survey_results
from certgen.survey.quantities import Every
from certgen.wording.wording import Wording
from tests.certificate.samples import assessed
from tests.register.fakes import WHEN, held_of

WINDER = ("winder_inch", "winder_inch_next_year", "winder_inch_third_year")
SAMPLES = (*WINDER, "tutorial", "dryer_mixed")
ON = date(2028, 11, 1)
WISH = Wish(Wanted(), ON, Every(months=12))
Files = dict[str, bytes]


def sample_path(name: str) -> Path:
    """Return the file of a sample."""
    return resources.sample_surveys() / f"{name}.yaml"


def held(path: Path) -> Held:
    """Return the certificate of a survey as a register holds it, its PDF a few bytes."""
    return held_as(assessed(path), path.read_bytes())


def held_as(found: Assessment, survey: bytes) -> Held:
    """Return a certificate with these results and these bytes as its survey."""
    said = survey_results(found)
    made = json.dumps({**said, "survey_sha256": sha256(survey).hexdigest()}).encode()
    return held_of(identified(found.survey, said["overall"]), survey, made)


def register_of(folder: Path, found: Iterable[Held]) -> Register:
    """Return a new register of these certificates."""
    register = Register.open(str(folder), create=True)
    for one in found:
        register.add(one, WHEN)
    return register


def site_of(register: Register, wish: Wish = WISH, language: str = "en") -> Files:
    """Return every file of the site."""
    made = site(register, wish, Wording(resources.templates(), language))
    return {name: data for files in made.files() for name, data in files}

"""Sample surveys whose rolls and monuments have ids as long as a survey may give them."""

import re
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from certgen import resources
from certgen.assessment.assessment import Assessment
from tests.certificate.samples import assessed

LONGEST = 40
_ROLL, _MONUMENT = re.compile(r"\b[RCDEU]\d+\b(?=[:,} \]])"), re.compile(r"\bM\d+\b(?=[:,} \]])")


@cache
def long_named(name: str) -> Assessment:
    """Return a sample survey, its rolls and monuments renamed, solved and assessed."""
    text = (resources.sample_surveys() / f"{name}.yaml").read_text("utf-8")
    text = _ROLL.sub(lambda found: long_id("Winding section idler with a load cell", found[0]), text)
    text = _MONUMENT.sub(lambda found: long_id("Monument in the floor of the east hall", found[0]), text)
    with TemporaryDirectory() as folder:
        path = Path(folder) / f"{name}.yaml"
        path.write_text(text, "utf-8")
        return assessed(path)


def long_id(words: str, short: str) -> str:
    """Return an id of the greatest length that ends with the short one."""
    return words[: LONGEST - 1 - len(short)] + f" {short}"

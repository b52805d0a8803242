"""The published rules of the digital calibration certificate, held against a file without a network.

The folder that CERTGEN_DCC_SCHEMA names holds the schema (dcc/v3.3.0/dcc.xsd) and the rules of good practice
(schematron/dcc.sch); both belong to the Physikalisch-Technische Bundesanstalt and are no part of the project.
The rules are Schematron (ISO/IEC 19757-3) in XPath 2.0; of a pattern the first rule that fits a node counts.
"""

import os
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from elementpath import XPath2Parser, XPathContext, build_lxml_node_tree
from lxml import etree

SCHEMATRON = "{http://purl.oclc.org/dsdl/schematron}"
NAMES = {"dcc": "https://ptb.de/dcc", "si": "https://ptb.de/si"}


def folder() -> Path:
    """Return the folder of the rules; skips where there is none."""
    named = os.environ.get("CERTGEN_DCC_SCHEMA")
    if not named:
        pytest.skip("CERTGEN_DCC_SCHEMA names no folder with the published schemas of the DCC")
    return Path(named)


def schema_faults(data: bytes) -> list[str]:
    """Return what breaks the schema, a line each."""
    parser = etree.XMLParser(no_network=True)
    schema = etree.XMLSchema(etree.parse(folder() / "dcc/v3.3.0/dcc.xsd", parser))
    schema.validate(etree.fromstring(data))
    return [f"{one.line}: {one.message}" for one in schema.error_log]


def rule_faults(data: bytes) -> list[str]:
    """Return the rules of good practice that a file breaks: all errors and warnings."""
    rules = etree.parse(folder() / "schematron/dcc.sch", etree.XMLParser(no_network=True))
    tree = build_lxml_node_tree(etree.fromstring(data).getroottree())
    found: list[str] = []
    looked = 0
    for pattern in rules.iter(f"{SCHEMATRON}pattern"):
        known = _with(pattern, {}, tree, tree)
        seen: set[int] = set()
        for rule in pattern.iter(f"{SCHEMATRON}rule"):
            context = rule.get("context")
            for node in _select(context if context.startswith("/") else f"//{context}", tree, tree, known):
                if id(node) in seen:
                    continue
                seen.add(id(node))
                variables = _with(rule, known, tree, node)
                for test in rule:
                    if test.get("role") not in {"error", "warning"}:
                        continue
                    looked += 1
                    (holds,) = _select(f"boolean({test.get('test')})", tree, node, variables)
                    if holds != (test.tag == f"{SCHEMATRON}assert"):
                        said = " ".join("".join(test.itertext()).split())
                        found.append(f"{test.get('role')}: {context}: {said}")
    assert looked > 500  # it did look
    return found


def _with(part: Any, known: dict[str, Any], tree: Any, node: Any) -> dict[str, Any]:
    """The variables that a pattern or rule sets, each by those before it."""
    found = dict(known)
    for one in part.findall(f"{SCHEMATRON}let"):
        found[one.get("name")] = _select(one.get("value"), tree, node, found)
    return found


@cache
def _parsed(path: str) -> Any:
    return XPath2Parser(namespaces=NAMES).parse(path)


def _select(path: str, tree: Any, node: Any, variables: dict[str, Any]) -> list[Any]:
    return list(_parsed(path).select(XPathContext(tree, item=node, variables=variables)))

"""`certgen register show`: one certificate of a register."""

from pathlib import Path
from typing import Any

import click

from certgen.cli.io.messages import as_json_text, made, tell
from certgen.cli.io.write import write_new
from certgen.cli.register.where import register, register_option
from certgen.findings import escaped

_FACTS = (
    "number", "revision", "supersedes", "reason", "issued", "started", "finished", "line", "asset",
    "location", "customer", "order", "contractor", "surveyed_by", "approved_by", "decision",
    "as_found", "as_left",
)  # fmt: skip


@click.command(
    epilog="""\b
Examples:
  certgen register show FC-2026-031
  certgen register show FC-2026-031 --revision 0 -o FC-2026-031.pdf"""
)
@click.argument("number")
@click.option("--revision", type=click.IntRange(0, 10**12), help="By default the latest one.")
@click.option(
    "-o",
    "--output",
    type=click.Path(readable=False, path_type=Path),
    help="Write the PDF as it was recorded, or signed since.",
)
@click.option("--replace", is_flag=True, help="Replace a PDF that exists.")
@click.option("--json", "as_json", is_flag=True, help="Print the entry as JSON.")
@register_option()
def command(number: str, revision: int | None, where: str | None, **wanted: Any) -> None:
    """Show what the register says of the certificate NUMBER, or write its PDF, byte for byte."""
    from certgen.register.find import is_latest, replaced_by

    opened = register(where)
    body: Any = opened.body(number, revision)
    signatures: Any = opened.signatures(body["sequence"])
    marks: Any = opened.marks(body["sequence"])
    if wanted["output"] is not None:
        pdf = opened.file((signatures or [body])[-1]["sha256"]["certificate.pdf"])
        write_new(wanted["output"], pdf, wanted["replace"])
        made(f"Wrote {wanted['output']}.")
    beside = {
        "replaced_by": replaced_by(opened, body["sequence"]),
        "latest": is_latest(opened, body["sequence"]),
        "signatures": signatures,
        "marks": marks,
    }
    # the entry as the chain covers it, and what the register knows beside
    click.echo(as_json_text({**body, **beside}) if wanted["as_json"] else _in_words(body, beside))
    if wanted["output"] is not None:
        tell(f"Wrote {wanted['output']}.", wanted["as_json"])


def _in_words(body: Any, beside: dict[str, Any]) -> str:
    said, newer = body["certificate"], beside["replaced_by"]
    facts = {"entry": f"{body['sequence']}, recorded {body['recorded']}"}
    if "by" in body:
        facts["recorded by"] = "{user} at {host}, certgen {certgen}".format(**body["by"])
    facts["standing"] = (
        f"replaced by {newer}" if newer else "latest of its line" if beside["latest"] else "not replaced"
    )
    for mark in beside["marks"]:
        facts[f"{mark['kind']}, entry {mark['sequence']}"] = f"{mark['recorded']}: {mark['reason']}"
    if body.get("accepted"):
        facts["accepted"] = body["accepted"]
    if body.get("signed_by"):
        facts["signed by"] = ", ".join(body["signed_by"])
    for signed in beside["signatures"]:
        name = f"signed, entry {signed['sequence']}"
        by = f" by {', '.join(signed['signed_by'])}" if signed.get("signed_by") else ""
        facts[name] = f"recorded {signed['recorded']}{by}, SHA-256 {signed['sha256']['certificate.pdf']}"
    facts |= {name.replace("_", " "): said[name] for name in _FACTS if said.get(name) is not None}
    used = [
        f"{one['kind']} {one['serial']}, calibrated {one['calibrated']}, "
        f"due {one['due']}, {one['traceable_to']}"
        for one in said["instruments"]
    ]
    facts |= {f"instrument {place}": text for place, text in enumerate(used, 1)}
    facts |= {f"SHA-256 of {name}": digest for name, digest in body["sha256"].items()}
    return "\n".join(escaped(f"{name + ':':<28}{value}") for name, value in facts.items())

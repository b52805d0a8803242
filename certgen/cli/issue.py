"""`certgen issue`: the certificate of a survey as PDF, and where wanted as a page, tables and a letter."""

from pathlib import Path
from typing import Any

import click

from certgen.cli.house_options import page_options
from certgen.cli.io.messages import tell
from certgen.cli.register.add import keep_options
from certgen.cli.survey_input import load_assessed
from certgen.errors import WrongUsage
from certgen.findings import escaped

_FILE = click.Path(readable=False, path_type=Path)


@click.command(
    epilog="""\b
Examples:
  certgen issue line3.yaml
  certgen issue line3.yaml -o certificates/FC-2026-031.pdf
  certgen issue line3.yaml --lang de --html line3.html --xlsx line3.xlsx
  certgen issue line3.yaml --templates our_house --letter letter.txt
  certgen issue line3.yaml --sign approver.p12 --timestamp https://time.example/
  certgen issue line3.yaml --register certificates
  certgen issue line3.yaml --dcc line3.xml
  certgen issue line3.yaml --paper letter --replace"""
)
@click.argument("file", type=_FILE)
@click.option("-o", "--output", type=_FILE, help="The PDF to write; by default beside FILE.")
@click.option("--replace", is_flag=True, help="Replace outputs that exist.")
@page_options
@click.option("--annexes", default="all", show_default=True, help="Which to print: none, all, or A,C,E.")
@click.option("--with-checklist", is_flag=True, hidden=True)
@click.option("--draft", is_flag=True, help="Mark every page as a draft; it is not signed or registered.")
@click.option("--html", type=_FILE, help="Also write one page for a browser.")
@click.option("--csv", type=_FILE, help="Also write every table as CSV into this folder.")
@click.option("--xlsx", type=_FILE, help="Also write all tables as a workbook.")
@click.option("--letter", type=_FILE, help="Also write a hand-over letter as text.")
@click.option("--dcc", type=_FILE, help="Also write the results in the form of a DCC (XML) and attach them.")
@click.option("--sign", type=_FILE, help="Sign with this PKCS #12 key (.p12); asks for its passphrase.")
@click.option("--timestamp", help="With --sign: the address of a time-stamp service (RFC 3161).")
@keep_options
def command(file: Path, **asked: Any) -> None:
    """Issue the certificate of the survey FILE as PDF.

    Outputs that exist are left alone unless --replace is given; a failed run leaves nothing behind. With
    --register or --record the certificate is in the register before its file is written; where its number and
    revision stand there for another one, it is not issued. Where nobody can be asked, the passphrase of a key
    is read from the environment variable CERTGEN_PASSPHRASE.
    """
    if asked.pop("with_checklist") and asked["annexes"] != "all":
        asked["annexes"] = "H" if asked["annexes"] == "none" else f"{asked['annexes']},H"
    if asked["draft"] and (asked["sign"] or asked["where"] or asked["record"]):
        raise WrongUsage("A draft is neither signed nor registered: leave --draft out to issue it.")
    if asked["timestamp"] and not asked["sign"]:
        raise WrongUsage("--timestamp goes with --sign: only a signature is stamped.")
    assessment, findings = load_assessed(str(file))

    from certgen.cli.publish import Asked, issue

    wanted = Asked(file, **asked)
    wanted.require_free()
    issue(assessment, wanted, findings, lambda line: click.echo(escaped(line), err=True))
    overall = assessment.overall
    tell(f"{wanted.pdf}: as found {overall['as_found']}, as left {overall['as_left']}")

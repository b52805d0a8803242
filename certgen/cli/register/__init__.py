"""`certgen register`: the commands around a register, one file each."""

from types import MappingProxyType

import click

from certgen.cli.group import LazyGroup

_EPILOG = """\b
The register is named by --register, by the environment variable CERTGEN_REGISTER, or by a file
certgen.toml in this folder or one above it:
\b
  [register]
  at = "certificates"          # a folder, or postgresql://USER@HOST/DATABASE
  number_prefix = "FC-2026-"
\b
Examples:
  certgen register reserve --prefix FC-2026- --register certificates
  certgen register add FC-2026-031.pdf --register certificates
  certgen register list --line "Spunbond line 3 winder section" --since 2026-01-01
  certgen register audit"""


class RegisterGroup(LazyGroup):
    """The commands of a register."""

    package = "certgen.cli.register"
    table = MappingProxyType(
        {
            "add": "Verify certificates and add them.",
            "reserve": "Hand out the next certificate number, exactly once.",
            "list": "List what is there, filtered.",
            "show": "Show one certificate, or write its PDF.",
            "withdraw": "Say that a certificate was recorded in error.",
            "note": "Note that an instrument was found deviating, with the certificates that rely on it.",
            "dispose": "Remove the bytes of certificates that were kept long enough.",
            "due": "Say which lines are to be surveyed again, and which calibrations ran out.",
            "export": "Write it as a table, or as a folder that an auditor can read.",
            "site": "Write it as a web site to look and search in, without a network.",
            "head": "Print where it ends, or have that time-stamped.",
            "audit": "Prove that nothing was changed, removed or reordered.",
            "backup": "Copy it as it is now into a new folder, with its head.",
            "copy": "Copy it to another place: a folder, or PostgreSQL.",
            "upgrade": "Bring a register of an earlier certgen to today's form.",
        }
    )


@click.group(
    cls=RegisterGroup,
    epilog=_EPILOG,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
def command() -> None:
    """Keep certificates in a register that is only ever added to and shows any change."""

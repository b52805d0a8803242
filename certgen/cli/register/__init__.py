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
            "due": "Say which lines are to be surveyed again, and which calibrations ran out.",
            "export": "Write it as a table, or as a folder that an auditor can read.",
            "site": "Write it as a web site to look and search in, without a network.",
            "audit": "Prove that nothing was changed, removed or reordered.",
        }
    )


@click.group(
    cls=RegisterGroup,
    epilog=_EPILOG,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
def command() -> None:
    """Keep certificates in a register that is only ever added to and shows any change."""

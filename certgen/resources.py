"""Where the files that travel with certgen are found: in an installed wheel as well as in a checkout."""

from pathlib import Path

_PACKAGE = Path(__file__).parent


def _travelling(name: str) -> Path:
    installed = _PACKAGE / f"_{name}"
    return installed if installed.is_dir() else _PACKAGE.parent / name


def templates() -> Path:
    """Return the folder of the wording, the fonts and the survey scaffold."""
    return _travelling("templates")


def sample_surveys() -> Path:
    """Return the folder of the sample surveys."""
    return _travelling("sample_surveys")

"""How large a certificate may be that a register takes."""

from certgen.errors import RegisterRefused

LARGEST_PDF = 20_000_000  # bytes, unless more are asked for


def require_size(size: int, largest: int) -> None:
    """Raise RegisterRefused for a PDF that is larger than a register takes; both in bytes."""
    if size > largest:
        raise RegisterRefused(
            f"the PDF has {size / 1e6:.1f} MB, and the register takes up to {largest / 1e6:g} MB; "
            "nothing was added. Pass --max-size with a larger number of MB if it is to have it."
        )

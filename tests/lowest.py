"""The lowest versions that pyproject.toml allows, as constraints for pip: `python -m tests.lowest`.

Only what certgen runs with, its extras included; the tools of development are as new as they come.
"""

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

PYPROJECT = Path(__file__).parent.parent / "pyproject.toml"
# name, extras, lowest version; an upper bound may follow
REQUIREMENT = re.compile(r"([\w.-]+)(?:\[[\w,]+\])?>=([\d.]+)(?:,<[\d.]+)?")


def lowest(path: Path = PYPROJECT) -> Iterator[str]:
    """Yield a constraint for each requirement; ValueError for one without a lower bound."""
    project = tomllib.loads(path.read_text(encoding="utf-8"))["project"]
    extras = (wanted for name, wanted in project["optional-dependencies"].items() if name != "dev")
    for one in (*project["dependencies"], *(each for wanted in extras for each in wanted)):
        found = REQUIREMENT.fullmatch(one)
        if found is None:
            raise ValueError(f"{one}: a requirement is written NAME>=VERSION")
        yield f"{found[1]}=={found[2]}"


if __name__ == "__main__":
    print("\n".join(lowest()))  # noqa: T201  # it is a command

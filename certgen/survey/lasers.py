"""Which of the declared instruments are lasers."""

from certgen.survey.checked import Checked


def lasers(root: Checked) -> tuple[Checked, ...]:
    """Return the instruments that may be the laser of a setup.

    Those whose kind says so; where none does, all that are not a level.
    """
    declared = root.list("instruments")
    said = tuple(one for one in declared if "laser" in one["kind"].text.casefold())
    level = root.get("level", "instrument")
    others = (
        one for one in declared if not one.get("sensitivity") and not (level and one["id"].text == level.text)
    )
    return said or tuple(others)


def only_laser(root: Checked) -> str | None:
    """Return the id of the laser where there is exactly one."""
    found = lasers(root)
    return found[0]["id"].text if len(found) == 1 else None

"""Several sites at once: nothing is lost, and no number is handed out twice."""

from sqlalchemy import select

from certgen.register.audit import audit
from certgen.register.database import reading
from certgen.register.register import Register
from certgen.register.tables import CERTIFICATES
from tests.register.crowd import crowd


def test_eight_processes_lose_no_certificate(where: str) -> None:
    """500 certificates into a register that none of them found there."""
    numbers = crowd(where, 8, 500)
    assert sorted(numbers) == [f"N-{count:03d}" for count in range(1, 501)]
    register = Register.open(where)
    with reading(register.engine) as connection:
        there = [number for (number,) in connection.execute(select(CERTIFICATES.c.number))]
    assert sorted(there) == sorted(numbers)
    found = audit(register)
    assert (found.faults, found.head.count) == ([], 1000)

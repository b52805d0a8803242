"""The work on one file, in another process: what the command for a single file does, its words caught."""

import json
from contextlib import redirect_stderr, redirect_stdout, suppress
from hashlib import sha256
from io import StringIO
from typing import TYPE_CHECKING

from certgen import resources
from certgen.cli.batch.jobs import Job, Outcome
from certgen.cli.house import house_of
from certgen.cli.survey_input import fetch
from certgen.cli.verify import quiet
from certgen.errors import CannotCompute, CannotWrite, CertgenError, NotCompared, NotVerified

if TYPE_CHECKING:
    from certgen.verify.issued_file import Carried


def do(job: Job) -> Outcome:
    """Do one job; whatever goes wrong is its outcome."""
    try:
        return _verified(job) if job.verify else _issued(job)
    except CertgenError as error:
        return Outcome(str(job.file), "failed", error.exit_code, str(error))
    except OSError as error:
        text = f"{error.filename or job.file}: {error.strerror or error}."
        return Outcome(str(job.file), "failed", CannotWrite.exit_code, text)
    except Exception as error:  # one bad file never stops the rest
        text = f"{type(error).__name__}: {error}"
        return Outcome(str(job.file), "failed", CannotCompute.exit_code, text)


def _issued(job: Job) -> Outcome:
    before = _carrying_this_survey(job)
    if before is None or (job.replace and _was_changed(before)):
        status, out, err = _called(job.arguments)
        return Outcome(str(job.file), "failed" if status else "issued", status, f"{err}{out}")
    changed = _was_changed(before)
    if changed:
        raise NotVerified(f"{job.target}: {'. '.join(changed)}. Pass --replace to issue it anew.")
    _record(job, before.data)
    return Outcome(str(job.file), "unchanged")


def _carrying_this_survey(job: Job) -> "Carried | None":
    """The certificate that is there, None where it is of another survey or no document of certgen.

    Raises NotVerified for one that was changed so that it cannot be read, unless it is to be replaced.
    """
    if job.target is None or not job.target.is_file():
        return None
    from certgen.verify.issued_file import OURS, carried

    data = job.target.read_bytes()
    try:
        found = carried(data)
    except NotVerified as error:
        if OURS in data and not job.replace:
            raise NotVerified(f"{job.target}: {error} Pass --replace to issue it anew.") from None
        return None
    return found if found.survey == job.file.read_bytes() else None


def _was_changed(certificate: "Carried") -> list[str]:
    """What is wrong with it, as far as that can be told without computing it again."""
    from certgen.verify.checks import inside

    return [
        check.text for check in inside(certificate, certificate.found() or {}) if check.outcome == "differs"
    ]


def _record(job: Job, pdf: bytes) -> None:
    """A certificate that was issued before is verified and recorded as well where a register is named."""
    if job.where is None or job.target is None:
        return
    from certgen.cli.register.add import require_verified
    from certgen.cli.register.where import now, register
    from certgen.register.intake import take

    opened, held = register(job.where, create=True), take(str(job.target), pdf)
    if not opened.check(held):
        quiet()
        require_verified(job.target, pdf, house_of(job.file, None))
        opened.add(held, now())


def _verified(job: Job) -> Outcome:
    how = {"sha256": sha256(fetch(job.file)).hexdigest(), "program_sha256": resources.program_digest()}
    if _was_verified(job, how):
        return Outcome(str(job.file), "unchanged")
    status, out, err = _called(job.arguments)
    text = out or err
    accepted = job.accept_unprinted and status == NotCompared.exit_code
    if job.target is not None:
        report = {**how, "verified": status == 0, "accepted_unprinted": accepted, "said": _told(text)}
        from certgen.cli.io.write import write_new

        write_new(job.target, f"{json.dumps(report, indent=2, ensure_ascii=False)}\n".encode(), replace=True)
    if accepted:
        return Outcome(str(job.file), "accepted", 0, _wrong(text))
    return Outcome(str(job.file), "failed" if status else "verified", status, _wrong(text))


def _was_verified(job: Job, how: dict[str, str]) -> bool:
    with suppress(OSError, ValueError):
        if job.target is not None:
            before = json.loads(job.target.read_bytes())
            return bool(before["verified"]) and all(before[name] == value for name, value in how.items())
    return False


def _told(text: str) -> object:
    """What the verification said as data, or as text where it could not begin."""
    try:
        return json.loads(text)
    except ValueError:
        return text.strip()


def _wrong(text: str) -> str:
    told = _told(text)
    if not isinstance(told, dict):
        return str(told)
    if "checks" not in told:
        return str(told["error"])
    wrong = [check for check in told["checks"] if check["outcome"] == "differs"]
    open_ = [check for check in told["checks"] if check["outcome"] == "not compared"]
    return "\n".join(". ".join((check["text"], *check["details"])) for check in wrong or open_)


def _called(arguments: tuple[str, ...]) -> tuple[int, str, str]:
    """Call certgen in this process; return its exit status and what it said, on either output."""
    from certgen.cli import main

    out, err, status = StringIO(), StringIO(), 0
    with redirect_stdout(out), redirect_stderr(err):
        try:
            main(arguments)
        except SystemExit as ended:
            status = int(ended.code or 0)
    return status, out.getvalue(), err.getvalue()

"""A report beside the certificate as pages of the same look, archived with what it is worked out from."""

from dataclasses import replace

from certgen.certificate.archive_print import printed_report
from certgen.certificate.assemble import bound, type_area
from certgen.certificate.content import Content, Facts, Paragraphs, Section
from certgen.certificate.letterhead import letterhead
from certgen.certificate.letters import require_letters
from certgen.certificate.pages import Figures, flowables
from certgen.certificate.report_record import Basis, attached_lines, report_record
from certgen.certificate.wording import Wording
from certgen.survey.survey import Paper


def report_pdf(basis: Basis, content: Content, figures: Figures, wording: Wording, paper: Paper) -> bytes:
    """Return the report as the bytes of a PDF/A-3b file; `figures` holds its drawings by name.

    A last section lists the surveys and results inside it with their digests.
    """
    record = report_record(basis, content, printed_report(wording, paper, basis.kind))
    lines = attached_lines(basis, record.attachments, wording)
    section = Section(
        wording.word("attached_title"), (Paragraphs((wording.word("attached_intro"),)), Facts(lines))
    )
    whole = replace(content, sections=(*content.sections, section))
    require_letters(whole, wording.look.letterhead)
    width, _ = type_area(paper)
    story = [*letterhead(wording.look, width), *flowables(whole, figures, width)]
    return bound(whole, story, record, wording, paper)

"""A report beside the certificate, on pages of the same look: letterhead, sections, running head and foot."""

from certgen.certificate.assemble import bound, type_area
from certgen.certificate.content import Content
from certgen.certificate.letterhead import letterhead
from certgen.certificate.letters import require_letters
from certgen.certificate.pages import Figures, flowables
from certgen.certificate.wording import Wording
from certgen.survey.survey import Paper


def report_pdf(content: Content, figures: Figures, wording: Wording, paper: Paper) -> bytes:
    """Return the report as the bytes of a PDF; `figures` holds its drawings by name."""
    require_letters(content, wording.look.letterhead)
    width, _ = type_area(paper)
    story = [*letterhead(wording.look, width), *flowables(content, figures, width)]
    return bound(content, story, wording, paper)

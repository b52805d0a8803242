"""Drawings and letterhead as HTML: vectors in the page itself, nothing from elsewhere."""

from base64 import b64encode
from collections.abc import Sequence

from markupsafe import Markup

from certgen.certificate.diagram import Picture
from certgen.certificate.house_look import Logo
from certgen.certificate.html_blocks import wide
from certgen.certificate.inks import Ink
from certgen.certificate.svg import svg

_MEDIA = {"png": "image/png", "svg": "image/svg+xml"}


def figure_html(picture: Picture, label: str, ink: Ink) -> Markup:
    """Return a drawing with its caption; `label` says what it shows where it has none."""
    label = picture.caption or label
    drawn = wide(label, svg(picture.drawing, label, ink))
    caption = Markup("<figcaption>{}</figcaption>").format(picture.caption) if picture.caption else Markup("")
    return Markup("<figure>{}{}</figure>").format(caption, drawn)


def letterhead_html(lines: Sequence[str], logo: Logo | None, of: str) -> Markup:
    """Return the contractor's own lines and logo, which stands for the name `of`; nothing without both."""
    if not lines and logo is None:
        return Markup("")
    texts = Markup("").join(Markup("<p>{}</p>").format(line) for line in lines)
    picture = Markup("")
    if logo is not None:
        data = b64encode(logo.data).decode()
        picture = Markup('<img alt="{}" src="data:{};base64,{}">').format(of, _MEDIA[logo.kind], data)
    return Markup('<div class="letterhead"><div>{}</div>{}</div>\n').format(texts, picture)

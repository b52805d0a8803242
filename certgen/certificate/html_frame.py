"""The frame of every page for a browser: one head, main part and foot; nothing from elsewhere."""

from base64 import b64encode
from dataclasses import dataclass
from hashlib import sha256

from markupsafe import Markup

_FRAME = Markup("""\
<!DOCTYPE html>
<html lang="{language}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy"
 content="default-src 'none'; style-src 'unsafe-inline'; img-src data:{allowed}">
<meta name="generator" content="certgen">
<title>{title}</title>
<style>
{style}</style>
</head>
<body>
<a class="skip" href="#{main}">{skip}</a>
<header>
{header}
</header>
<main id="{main}" tabindex="-1">
{body}
</main>
<footer>{foot}</footer>
{script}</body>
</html>
""")


@dataclass(frozen=True, slots=True)
class Frame:
    """What fills the frame: texts, which are escaped, and parts that are mark-up already.

    `main` is the id of the main part, `skip` the text of the link to it. `style` and `script` are the
    program's own.
    """

    language: str
    title: str
    style: str
    skip: str
    main: str
    header: Markup
    body: Markup
    foot: Markup
    script: str = ""


def framed(frame: Frame) -> str:
    """Return the whole page; it may run its own script and load nothing."""
    return _FRAME.format(
        language=frame.language,
        allowed=_allowed(frame.script),
        title=frame.title,
        style=Markup(frame.style),  # noqa: S704  # the program's own, its colours checked
        skip=frame.skip,
        main=frame.main,
        header=frame.header,
        body=frame.body,
        foot=frame.foot,
        script=_script(frame.script),
    )


def _allowed(script: str) -> str:
    """The one script of a page, by its digest (W3C Content Security Policy Level 3, 2.3.1)."""
    if not script:
        return ""
    return f"; script-src 'sha256-{b64encode(sha256(script.encode()).digest()).decode()}'"


def _script(script: str) -> Markup:
    if not script:
        return Markup("")
    return Markup("<script>{}</script>\n").format(Markup(script))  # noqa: S704  # the program's own

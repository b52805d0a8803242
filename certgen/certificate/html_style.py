"""The style of the page for a browser: readable on a telephone, printable, nothing from elsewhere."""

from certgen.certificate.house_look import HouseLook

_STYLE = """\
:root{--found:%(found)s;--left:%(left)s;--ink:#1a1a1a;--grey:#595959;--rule:#b8b8b8;--band:#eef1f5}
*{box-sizing:border-box}
html{-webkit-text-size-adjust:100%%}
body{margin:0;color:var(--ink);background:#fff;hyphens:manual}
body{font:1rem/1.5 "Open Sans","Segoe UI",Roboto,Arial,sans-serif}
.skip{position:absolute;left:-999em;background:#fff;padding:.6em 1em}
.skip:focus{left:.5em;top:.5em;outline:3px solid var(--left)}
header,main,footer{max-width:66rem;margin:0 auto;padding:0 1rem}
.letterhead{display:flex;flex-wrap:wrap;gap:1rem;justify-content:space-between;align-items:center;padding-top:1rem}
.letterhead p{margin:0;color:var(--grey)}
.letterhead p:first-child{color:var(--ink);font-weight:600}
.letterhead img{max-height:4.5rem;max-width:min(16rem,100%%)}
h1{font-size:1.7rem;line-height:1.2;margin:1.2rem 0 .2rem}
h1,.of,.trail{overflow-wrap:anywhere}
h2{font-size:1.2rem;color:var(--left);margin:2rem 0 .5rem}
.of{color:var(--grey);margin:0 0 1rem}
nav{border-top:1px solid var(--rule);border-bottom:1px solid var(--rule);padding:.4rem 0}
nav ul{margin:.3rem 0;padding:0;list-style:none;columns:16rem}
nav a{display:block;padding:.25rem 0;color:var(--left)}
a:focus-visible,.wide:focus-visible{outline:3px solid var(--left);outline-offset:2px}
.verdicts{display:flex;flex-wrap:wrap;gap:1rem}
.verdict{flex:1 1 16rem;border:4px solid var(--found);padding:.7rem 1rem}
.verdict.passed{border:1px solid var(--left)}
.verdict p{margin:0;color:var(--grey)}
.verdict.notice{margin:1rem 0}
.verdict.notice p{color:var(--ink);margin:.3rem 0}
.verdict .says{color:var(--ink);font-size:1.5rem;font-weight:600}
.facts{display:flex;flex-wrap:wrap;gap:0 2rem}
.facts dl{flex:1 1 20rem;align-content:start}
dl{display:grid;grid-template-columns:minmax(8rem,max-content) 1fr;margin:.6rem 0}
dt,dd{margin:0;padding:.3rem .8rem .3rem 0;border-bottom:1px solid var(--rule);overflow-wrap:anywhere}
dt{color:var(--grey)}
.wide{overflow-x:auto;margin:.8rem 0}
table{border-collapse:collapse;font-size:.9rem;width:100%%}
caption,figcaption{text-align:left;font-weight:600;padding:.3rem 0}
th,td{padding:.3rem .6rem;text-align:left;vertical-align:top}
thead th,thead td{vertical-align:bottom}
thead tr:last-child>*{border-bottom:1px solid var(--ink)}
thead th[colspan]{text-align:center;border-bottom:1px solid var(--grey)}
tbody tr{border-bottom:1px solid var(--rule)}
tbody tr:last-child{border-bottom:2px solid var(--ink)}
.n{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}
tr.bold{font-weight:600}
.note{font-size:.85rem;color:var(--grey);font-style:italic;margin:0 0 1rem}
figure{margin:1rem 0}
svg{display:block;width:100%%;min-width:40rem;height:auto;font-family:"Open Sans",Arial,sans-serif}
.sign{display:flex;flex-wrap:wrap;gap:2rem;margin-top:3rem}
.sign p{flex:1 1 14rem;border-top:1px solid var(--ink);margin:0;padding-top:.3rem}
footer{color:var(--grey);text-align:center;padding-top:1rem;padding-bottom:2rem}
@media (max-width:40rem){
dl{grid-template-columns:1fr}
dt{border-bottom:0;padding-bottom:0}
tbody th{position:sticky;left:0;background:#fff}
}
@media print{
.skip,nav{display:none}
html{font-size:7.6pt}
th,td{padding:.2rem .3rem}
header,main,footer{max-width:none;padding:0}
.wide{overflow:visible}
svg{width:%(width)gpt;min-width:0}
h2,caption,figcaption,thead{break-after:avoid}
tbody tr:first-child{break-before:avoid}
tr,figure,.verdict,.sign{break-inside:avoid}
thead{display:table-header-group}
}
"""


def style(look: HouseLook, width: float) -> str:
    """Return the style sheet in the colours of the look; drawings are printed that wide, in points."""
    return _STYLE % {"found": look.found, "left": look.left, "width": width}

"""A report as one page of HTML: no script, no network, nothing beside it."""

from __future__ import annotations

from base64 import b64encode
from html import escape

from bridge.jobfile.report.document import (
    Block,
    Document,
    Items,
    Para,
    Picture,
    ReportTable,
    Section,
    Tone,
)
from bridge.jobfile.report.report_plot import WIDTH, Box, Plot, PlotLine, Word

# Contrast of every colour of writing on its ground is above 7:1 (WCAG 2.2, 1.4.6).
STYLE = """\
:root { color-scheme: light; }
body { font: 11pt/1.45 system-ui, sans-serif; color: #1b1b1b; background: #fff;
  max-width: 46rem; margin: 0 auto; padding: 1rem; }
h1 { font-size: 1.6rem; margin: 0; }
h2 { font-size: 1.15rem; margin: 1.6rem 0 .4rem; border-bottom: 1px solid #767676;
  break-after: avoid; }
p { margin: .4rem 0; overflow-wrap: anywhere; }
.signed { margin-top: 2rem; }
.good, .doubt, .bad { font-weight: 600; padding: .4rem .7rem;
  border-left: .5rem solid; }
.good { background: #e9f5ec; color: #0c3d1c; }
.doubt { background: #fdf4dc; color: #4a3500; }
.bad { background: #fdeaea; color: #6b0f0f; }
table { border-collapse: collapse; margin: .6rem 0; width: 100%; }
caption { text-align: left; font-weight: 600; padding: .2rem 0; break-after: avoid; }
th, td { text-align: left; vertical-align: top; padding: .2rem .6rem .2rem 0;
  border-bottom: 1px solid #c4c4c4; overflow-wrap: anywhere; }
tbody th { font-weight: 400; }
tr, figure { break-inside: avoid; }
thead { display: table-header-group; }
figure { margin: .6rem 0; }
figcaption, footer { font-size: .9rem; color: #3d3d3d; }
img { max-width: 20rem; max-height: 20rem; width: auto; height: auto; }
svg { width: 100%; height: auto; display: block; font: 8px sans-serif; }
.window { fill: #cfe9d6; } .gap { fill: #c4c4c4; fill-opacity: .6; }
.hatch { stroke: #5a5a5a; stroke-width: .5; }
.trace { fill: none; stroke: #0b3d91; stroke-width: 1.2; stroke-linejoin: round; }
.grid { stroke: #dddddd; stroke-width: .5; }
.edge { stroke: #1e6b3a; stroke-width: .8; stroke-dasharray: 5 3; }
.mark { stroke: #6b0f0f; stroke-width: .9; stroke-dasharray: 1.5 1.5; }
text { fill: #1b1b1b; }
@page { margin: 15mm; }
@media print { .ends-page { break-after: page; }
  body { max-width: none; padding: 0; font-size: 10pt; }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; } }
"""
_TONE_WORDS = {Tone.GOOD: "✓ ", Tone.DOUBT: "? ", Tone.BAD: "✗ ", Tone.PLAIN: ""}


def as_html(document: Document) -> str:
    """Return the whole page; it says the same as every other form of the report."""
    title = escape(document.title)
    body = "\n".join(_section(s, i) for i, s in enumerate(document.sections, 1))
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}: {escape(document.subtitle)}</title>\n"
        f"<style>\n{STYLE}{_foot(document)}</style>\n</head>\n<body>\n<header>\n<h1>{title}</h1>\n"
        f"<p>{escape(document.subtitle)}</p>\n</header>\n<main>\n{body}\n</main>\n"
        f"<footer>\n<p>{escape(document.footer)}</p>\n</footer>\n</body>\n</html>\n"
    )


def _foot(document: Document) -> str:
    """Return what stands on every printed page: its number and the job's digest."""
    digest = "".join(c for c in document.digest if c in "0123456789abcdef")
    return (
        '@page { @bottom-left { font: 7pt sans-serif; content: "job '
        f'{digest}, page " counter(page) " of " counter(pages); }} }}\n'
        if digest
        else ""
    )


def _section(section: Section, index: int) -> str:
    blocks = "\n".join(_block(b) for b in section.blocks)
    ends = ' class="ends-page"' if section.ends_page else ""
    return (
        f'<section aria-labelledby="s{index}"{ends}>\n'
        f'<h2 id="s{index}">{escape(section.heading)}</h2>\n{blocks}\n</section>'
    )


def _block(block: Block) -> str:
    if isinstance(block, Para):
        return _para(block)
    if isinstance(block, Items):
        lines = "".join(f"<li>{escape(line)}</li>\n" for line in block.shown())
        return f"<ul>\n{lines}</ul>"
    if isinstance(block, ReportTable):
        return _table(block)
    if isinstance(block, Picture):
        jpeg = b64encode(block.jpeg).decode("ascii")
        return (
            f'<figure>\n<img src="data:image/jpeg;base64,{jpeg}"'
            f' alt="photo" width="{block.width}" height="{block.height}">\n'
            f"<figcaption>{escape(block.caption)}</figcaption>\n</figure>"
        )
    return (
        f"<figure>\n{svg(block.plot, block.alt)}\n"
        f"<figcaption>{escape(block.caption)}</figcaption>\n</figure>"
    )


def _para(para: Para) -> str:
    if para.tone is Tone.PLAIN:
        kind = ' class="signed"' if para.signed else ""
        return f"<p{kind}>{escape(para.text)}</p>"
    sign = f'<span aria-hidden="true">{_TONE_WORDS[para.tone]}</span>'
    return f'<p class="{para.tone.value}">{sign}{escape(para.text)}</p>'


def _table(table: ReportTable) -> str:
    head = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in table.head)
    rows = "".join(
        f'<tr><th scope="row">{escape(row[0])}</th>'
        + "".join(f"<td>{escape(cell)}</td>" for cell in row[1:])
        + "</tr>\n"
        for row in table.rows
    )
    return (
        f"<table>\n<caption>{escape(table.caption)}</caption>\n"
        f"<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table>"
    )


def svg(plot: Plot, alt: str) -> str:
    """Return a plot as an SVG element with its text for those who cannot see it."""
    shapes = "\n".join(_shape(shape) for shape in plot.shapes)
    return (
        f'<svg viewBox="0 0 {WIDTH:g} {plot.height:g}" role="img" aria-label="'
        f'{escape(alt)}">\n{shapes}\n</svg>'
    )


def _shape(shape: PlotLine | Box | Word) -> str:
    if isinstance(shape, Box):
        return (
            f'<rect x="{shape.x:g}" y="{shape.y:g}" width="{shape.width:g}" '
            f'height="{shape.height:g}" class="{shape.style}"/>'
        )
    if isinstance(shape, Word):
        return (
            f'<text x="{shape.x:g}" y="{shape.y:g}" text-anchor="{shape.anchor}">'
            f"{escape(shape.text)}</text>"
        )
    points = " ".join(f"{x:g},{y:g}" for x, y in shape.points)
    return f'<polyline points="{points}" class="{shape.style}"/>'

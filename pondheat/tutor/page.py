"""A page for paper: one self-contained HTML file without scripts, in plain type that any printer can print."""

from __future__ import annotations

import html

from pondheat.core.display_units import METRIC, Usual, beside

_STYLE = """
  @page { size: auto; margin: 11mm 13mm; }
  * { box-sizing: border-box; }
  body { font: 18px/1.4 "DejaVu Sans", Verdana, Arial, sans-serif; color: #000; background: #fff; margin: 0 auto;
         padding: 16px 24px; max-width: 48em; overflow-wrap: anywhere; }
  h1 { font-size: 1.5em; line-height: 1.2; margin: 0 0 .3em; }
  h2 { font-size: 1.15em; margin: .9em 0 .2em; break-after: avoid; }
  h3 { font-size: 1em; margin: .7em 0 .1em; break-after: avoid; }
  p, ol, ul { margin: .3em 0; }
  ol, ul { padding-left: 1.4em; }
  table { border-collapse: collapse; width: 100%; margin: .4em 0; break-inside: avoid; }
  th, td { border: 1px solid #000; padding: .2em .4em; text-align: right; font-weight: normal;
           overflow-wrap: break-word; }
  th:first-child, td:first-child { text-align: left; }
  .words td, .words th { text-align: left; }
  .roads td:nth-child(2) { white-space: nowrap; }
  .fill td { height: 1.75em; }
  .box { display: inline-block; border: 1px solid #000; min-width: 4.4em; height: 1.35em; vertical-align: middle; }
  .line { border-bottom: 1px solid #000; height: 2.3em; }
  .small { font-size: .85em; }
  .care { border: 2px solid #000; padding: .2em .6em; margin-top: .7em; }
  .question { break-inside: avoid; }
  .sheet + .sheet { break-before: page; }
  @media print { body { font-size: POINTSpt; line-height: 1.27; padding: 0; max-width: none; } h2 { margin-top: .55em; } }
"""


def page(title: str, body: str, points: float = 9.5, usual: Usual = METRIC) -> str:
    """A whole HTML page; `body` is HTML, `points` [pt] the size of its type on paper, `usual` what stands beside °C and m³."""
    style = _STYLE.replace("POINTS", f"{points:g}")
    return (
        '<!DOCTYPE html>\n<html lang="en-GB">\n<head>\n<meta charset="utf-8">\n<meta name="viewport" '
        f'content="width=device-width">\n<title>{html.escape(title)}</title>\n<style>{style}</style>\n'
        f"</head>\n<body>\n{beside(body, usual)}\n</body>\n</html>\n"
    )


def said(text: str) -> str:
    """Words as HTML."""
    return html.escape(text)


def shortened(text: str, most: int = 60) -> str:
    """Words that may be of any length, cut where a line of paper would not hold them."""
    words = " ".join(text.split())
    return words if len(words) <= most else words[: most - 1] + "…"


def table(heads: list[str], rows: list[list[str]], kind: str = "") -> str:
    """A table; cells are plain text, the first of each row is its heading."""
    top = "".join(f'<th scope="col">{said(head)}</th>' for head in heads)
    lines = "".join(
        "<tr>"
        + f'<th scope="row">{said(row[0])}</th>'
        + "".join(f"<td>{said(cell)}</td>" for cell in row[1:])
        + "</tr>\n"
        for row in rows
    )
    return f'<table class="{kind}">\n<tr>{top}</tr>\n{lines}</table>'


def blank(heads: list[str], rows: int) -> str:
    """A table to be filled in by hand."""
    top = "".join(f'<th scope="col">{said(head)}</th>' for head in heads)
    empty = "<tr>" + "<td></td>" * len(heads) + "</tr>\n"
    return f'<table class="fill words">\n<tr>{top}</tr>\n{empty * rows}</table>'

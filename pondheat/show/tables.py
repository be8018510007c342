"""Tables of pages: a caption, heads with their units, aligned numbers; text in columns where there is no browser."""

from __future__ import annotations

import html
import textwrap
from collections.abc import Sequence
from pathlib import Path

from IPython.display import display

from pondheat.core import display_units
from pondheat.core.display_units import LINE_WIDTH
from pondheat.core.number_format import unbroken
from pondheat.text.result_table import ResultTable

STYLES = (Path(__file__).parent / "tables.css").read_text(encoding="utf-8")


def table_html(table: ResultTable) -> str:
    """A table as HTML: numbers right-aligned, words left-aligned, groups as headings in it, faint rows greyed."""
    kinds = [' class="ph-text"' if at in table.texts else "" for at in range(len(table.heads))]
    heads = "".join(
        f'<th scope="col"{kind}>{page_text(head)}</th>' if head else "<td></td>"
        for head, kind in zip(table.heads, kinds)
    )
    body = []
    for at, (name, *cells) in enumerate(table.rows):
        if at in table.groups:
            wide = len(table.heads)
            body.append(
                f'<tr class="ph-band"><th scope="rowgroup" colspan="{wide}">{page_text(table.groups[at])}</th></tr>'
            )
        shown = "".join(f"<td{kind}>{page_text(cell)}</td>" for cell, kind in zip(cells, kinds[1:]))
        faint = ' class="ph-faint"' if at in table.faint else ""
        body.append(f'<tr{faint}><th scope="row">{page_text(name)}</th>{shown}</tr>')
    caption = f"<caption>{page_text(table.caption)}</caption>" if table.caption else ""
    return (
        f'<div class="ph-wide"><table class="ph-table">{caption}<thead><tr>{heads}</tr></thead>'
        f"<tbody>{''.join(body)}</tbody></table></div>"
    )


def page_text(text: str) -> str:
    """A text with marked quantities as HTML: in the reader's units, each number kept with its unit."""
    return html.escape(unbroken(display_units.localise(text)))


class PageTable:
    """A table of a page: HTML in a browser, columns of text elsewhere and for nbval."""

    def __init__(self, table: ResultTable):
        self.table = table

    def _repr_html_(self) -> str:
        return f"<style>{STYLES}</style>{table_html(self.table)}"

    def __repr__(self) -> str:
        rows = (self.table.heads, *self.table.rows)
        widths = [max(map(len, column)) for column in zip(*rows)]
        lines = [self.table.caption] * bool(self.table.caption)
        for row in rows:
            cells = [
                f"{cell:<{width}}" if at == 0 or at in self.table.texts else f"{cell:>{width}}"
                for at, (cell, width) in enumerate(zip(row, widths))
            ]
            lines.append("  ".join(cells).rstrip())
        return "\n".join(lines)


def show_table(caption: str, heads: Sequence[str], rows: Sequence[Sequence[str]], texts: Sequence[int] = ()) -> None:
    """Show a table below the cell; the first column names its rows, and `texts` are the columns of words, not numbers.

    The caption, heads and cells may mark quantities with square brackets (see `core.display_units`).
    """
    localised = [tuple(map(display_units.localise, row)) for row in (heads, *rows)]
    caption = display_units.localise(caption)
    display(PageTable(ResultTable(caption, localised[0], tuple(localised[1:]), texts=frozenset(texts))))


class PageText:
    """Paragraphs of a page in its own type, each a bold beginning (or none) and its text; wrapped lines elsewhere."""

    def __init__(self, paragraphs: Sequence[tuple[str, str]]):
        self.paragraphs = [tuple(map(display_units.localise, one)) for one in paragraphs]

    def _repr_html_(self) -> str:
        shown = (
            f"<p><b>{html.escape(unbroken(lead))}</b> {html.escape(unbroken(text))}</p>"
            for lead, text in self.paragraphs
        )
        return f'<style>{STYLES}</style><div class="ph-paragraphs">{"".join(shown)}</div>'

    def __repr__(self) -> str:
        return "\n".join(textwrap.fill(f"{lead} {text}".strip(), LINE_WIDTH) for lead, text in self.paragraphs)


def show_text(*paragraphs: tuple[str, str]) -> None:
    """Show paragraphs below the cell, each a bold beginning (or "") and its text."""
    display(PageText(paragraphs))

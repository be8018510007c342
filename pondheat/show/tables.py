"""Tables of pages: a caption, heads with their units, aligned numbers; text in columns where there is no browser."""

from __future__ import annotations

import html
from collections.abc import Sequence
from pathlib import Path

from IPython.display import display

from pondheat.core import display_units
from pondheat.text.result_table import ResultTable

STYLES = (Path(__file__).parent / "tables.css").read_text(encoding="utf-8")


def table_html(table: ResultTable) -> str:
    """A table as HTML: numbers right-aligned, groups as headings in it, faint rows greyed."""
    heads = "".join(f'<th scope="col">{_text(head)}</th>' for head in table.heads)
    body = []
    for at, (name, *cells) in enumerate(table.rows):
        if at in table.groups:
            wide = len(table.heads)
            body.append(
                f'<tr class="ph-band"><th scope="rowgroup" colspan="{wide}">{_text(table.groups[at])}</th></tr>'
            )
        shown = "".join(f"<td>{_text(cell)}</td>" for cell in cells)
        faint = ' class="ph-faint"' if at in table.faint else ""
        body.append(f'<tr{faint}><th scope="row">{_text(name)}</th>{shown}</tr>')
    caption = f"<caption>{_text(table.caption)}</caption>" if table.caption else ""
    return (
        f'<div class="ph-wide"><table class="ph-table">{caption}<thead><tr>{heads}</tr></thead>'
        f"<tbody>{''.join(body)}</tbody></table></div>"
    )


def _text(text: str) -> str:
    return html.escape(display_units.localise_finished(text))


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
        for name, *cells in rows:
            numbers = "".join(f"  {cell:>{width}}" for cell, width in zip(cells, widths[1:]))
            lines.append(f"{name:<{widths[0]}}{numbers}".rstrip())
        return "\n".join(lines)


def show_table(caption: str, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Show a table below the cell; the first column names its rows."""
    display(PageTable(ResultTable(caption, tuple(heads), tuple(map(tuple, rows)))))

"""Pieces of a page for paper and screen: words from outside made harmless, tables, bars."""

from __future__ import annotations

import html
import re
from collections.abc import Sequence

from pondheat.show.figures import HUES

# Marks that turn the direction of what follows, and signs that no page may hold.
_TURNING = re.compile("[\u200e\u200f\u061c\u202a-\u202e\u2066-\u2069]")
_NO_SIGN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")


def said(text: str) -> str:
    """Words as HTML."""
    return html.escape(_NO_SIGN.sub("\ufffd", str(text)))


def clipped(text: str, most: int = 60) -> str:
    """Words of any length on one line, cut with an ellipsis after `most` characters; marks of direction fall away."""
    words = " ".join(_TURNING.sub("", str(text)).split())
    return words if len(words) <= most else words[: most - 1].rstrip() + "…"


def name(text: str, most: int = 60) -> str:
    """A name that the sheet gives, as HTML: shortened, and kept from turning the words round it."""
    return f'<bdi class="name">{said(clipped(text, most))}</bdi>'


def verbatim(text: str) -> str:
    """A file's text as HTML, as it stands; marks of direction are spelled out, so that it reads as it is stored."""
    return said(_TURNING.sub(lambda mark: f"⟨U+{ord(mark[0]):04X}⟩", text))


def time(date, pattern: str = "%B %Y", day: bool = True) -> str:
    """A date as HTML."""
    words = f"{date.day} {date:{pattern}}" if day else f"{date:{pattern}}"
    return f'<time datetime="{date.isoformat()}">{said(words)}</time>'


def table(heads: list[str], rows: list[list[str]], kind: str, caption: str, over: Sequence[str] = ()) -> str:
    """A table of HTML cells, the first of each row its heading; `over`: words that each stand over a pair of heads."""
    top = "".join(f'<th scope="col">{head}</th>' for head in heads)
    above = ""
    if over:
        above = (
            "<tr><td></td>" + "".join(f'<th scope="colgroup" colspan="2">{said(word)}</th>' for word in over) + "</tr>"
        )
    lines = "".join(
        f'<tr><th scope="row">{row[0]}</th>' + "".join(f"<td>{cell}</td>" for cell in row[1:]) + "</tr>\n"
        for row in rows
    )
    return (
        f'<table class="{kind}"><caption>{said(caption)}</caption><thead>{above}<tr>{top}</tr></thead>\n'
        f"<tbody>{lines}</tbody></table>"
    )


def hatches() -> str:
    """The second mark of each hue, so that a print in grey keeps them apart: drawn once, used by every bar."""
    lines = ("M0 3h6", "M3 0v6", "M0 6L6 0", "M0 0L6 6", "M0 0h6M0 3h6")
    made = "".join(
        f'<pattern id="hatch-{count}" width="6" height="6" patternUnits="userSpaceOnUse"><rect width="6" height="6" '
        f'fill="{hue}"/><path d="{line}" stroke="#fff" stroke-width="1" fill="none"/></pattern>'
        for count, (hue, line) in enumerate(zip(HUES.values(), lines))
    )
    return f'<svg class="hatches" aria-hidden="true" focusable="false" width="0" height="0"><defs>{made}</defs></svg>'


def bar(group: str, value: float, most: float) -> str:
    """A bar from zero in the hue and hatch of a way of heat; the number stands beside it in words."""
    wide = 0.0 if most <= 0 else max(min(100 * value / most, 100.0), 0.0)
    place = list(HUES).index(group)
    return (
        f'<svg class="bar" aria-hidden="true" focusable="false" viewBox="0 0 100 9" preserveAspectRatio="none">'
        f'<rect width="{wide:.2f}" height="9" fill="url(#hatch-{place})"/></svg>'
    )

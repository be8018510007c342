"""HTML pages from templates: one Jinja environment for the decision sheet and for the tutor's papers."""

from __future__ import annotations

import functools
import re
from typing import TYPE_CHECKING

from markupsafe import Markup

from pondheat.core.display_units import DisplayUnits
from pondheat.core.number_format import unbroken

if TYPE_CHECKING:
    from jinja2 import Environment, PrefixLoader

SHARED = "pondheat.show.report"  # the package whose templates hold the tables that all papers use
_DIRECTION_MARKS = re.compile("[\u200e\u200f\u061c\u202a-\u202e\u2066-\u2069]")
_TEXT = re.compile("(?<=>)[^<>{}]+(?=<)")  # no style sheet, in which “h2 p” is not two pence
_NUMBER_ENDS, _LONGEST_END = re.compile(r"\d(?:</\w+>)+$"), 12  # characters of ends of elements
_NOT_IN_HTML = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")


def render(package: str, template: str, **values: object) -> Markup:
    """A template filled with values, as HTML.

    package: dotted name of the package in whose folder `templates` the template is; values: what the template names.
    Every value is escaped unless it is Markup. Raises jinja2.UndefinedError where a template asks for a value that is
    not given.
    """
    environment, loader = _environment()
    if package not in loader.mapping:
        loader.mapping = {**loader.mapping, package: _package_loader(package)}
    return Markup(environment.get_template(f"{package}/{template}").render(values))


@functools.cache
def _environment() -> tuple[Environment, PrefixLoader]:
    import jinja2  # only once a paper is written: the workbook's pages open sooner without it

    loader = jinja2.PrefixLoader({SHARED: _package_loader(SHARED)})
    environment = jinja2.Environment(
        loader=loader,
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=printable,
    )
    environment.filters["with_alt_units"] = with_alt_units
    environment.filters["shortened"] = shortened
    return environment, loader


def _package_loader(package: str):
    import jinja2

    return jinja2.PackageLoader(package)


def with_alt_units(html: str, display: DisplayUnits) -> Markup:
    """HTML whose marked quantities are in the units of `display`."""
    return Markup(display.with_alt_units(str(html)))


def kept_together(html: str) -> Markup:
    """HTML in whose text no line end parts a number from its unit, also where the number alone is a link."""

    def kept(text: re.Match[str]) -> str:
        number = "0" if _NUMBER_ENDS.search(html, text.start() - _LONGEST_END, text.start()) else ""
        return unbroken(number + text[0])[len(number) :]

    return Markup(_TEXT.sub(kept, html))


def printable(value: object) -> str:
    """A value as text without control characters, which HTML may not hold; Markup stays Markup."""
    return value if isinstance(value, Markup) else _NOT_IN_HTML.sub("\ufffd", str(value))


def shortened(value: object, longest: int = 60) -> str:
    """A value as one line of text, cut with an ellipsis at `longest` characters, without marks of text direction."""
    line = " ".join(_DIRECTION_MARKS.sub("", str(value)).split())
    return line if len(line) <= longest else line[: longest - 1].rstrip() + "…"


def with_visible_direction_marks(text: str) -> str:
    """A file's text with its marks of text direction spelled out, so that it reads in the order it is stored in."""
    return _DIRECTION_MARKS.sub(lambda mark: f"⟨U+{ord(mark[0]):04X}⟩", text)

"""The decision sheet: one HTML file whose first page is for paper, with the arithmetic of every number behind it.

The file loads nothing from elsewhere, runs no script, and is the same, byte for byte, for the same assessment.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
from markupsafe import Markup

from pondheat.analysis.power_cut import PowerCut
from pondheat.analysis.results import Assessment
from pondheat.analysis.scenarios import what_if as what_ifs
from pondheat.core.display_units import METRIC, DisplayUnits
from pondheat.core.ranges import require
from pondheat.sheet.pond_sheet import Sheet
from pondheat.show.report.appendix import appendix
from pondheat.show.report.first_page import FirstPage
from pondheat.show.report.rendering import SHARED, kept_together, render
from pondheat.show.report.trace import Trace

# Characters of text from which the lines of the first page are set closer, and closer still, to stay on one page.
SPACING = {"full": 4300, "fuller": 4850, "fullest": 5300}
# Width of the pond's picture on a sheet whose lines are closest [% of the paper], by its characters of text.
PICTURE_WIDTHS = {5400: 44.0, 5700: 40.0, 6500: 24.0}


def report(
    sheet: Sheet,
    result: Assessment,
    *,
    what_if: what_ifs.ScenarioTable | None = None,
    power_cut: PowerCut | Sequence[PowerCut] = (),
    fish_kg: float | None = None,
    usual: DisplayUnits = METRIC,
) -> str:
    """The decision sheet of an assessment as one self-contained HTML file.

    sheet: the pond sheet; result: its assessment; what_if: choices, of which the cheapest is named; power_cut: one cut
    or several, the first described in full, the others by how fast the water cools; fish_kg: mass of fish [kg]; usual:
    units shown after °C and m³ on the first page. Raises OutOfRange for a mass of fish that can't be.
    """
    require(fish_kg=fish_kg)
    trace = Trace()
    cuts = (power_cut,) if isinstance(power_cut, PowerCut) else tuple(power_cut or ())
    first_page = kept_together(FirstPage(result, trace, usual).html(what_if, cuts, fish_kg))
    length = len(Markup(re.sub(r"<svg.*?</svg>", "", first_page, flags=re.DOTALL)).striptags())
    html = render(
        SHARED,
        "decision_sheet.html",
        name=sheet.name,
        first_page=first_page,
        picture_width=f"{np.interp(length, [*PICTURE_WIDTHS], [*PICTURE_WIDTHS.values()]):.0f}%",
        spacing=" ".join(notch for notch, least in SPACING.items() if length > least),
        appendix=appendix(result, trace),
    )
    return str(html)

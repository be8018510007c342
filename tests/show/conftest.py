"""What tests of panels need not do each time: charts are drawn once, and no widget tells its state to a browser.

Each module puts back what it replaced, as tests of other rooms need widgets that do tell their state.
"""

import json

import ipywidgets
import pytest
from lets_plot.plot.core import PlotSpec
from packaged_years import packaged_years_read_once  # noqa: F401 -- a fixture for every test here

DRAW, DRAWN = PlotSpec.to_svg, {}


@pytest.fixture(scope="module", autouse=True)
def charts_drawn_once():
    """A chart with the same specification, to the last number, gets the drawing that lets-plot made for it before."""

    def once(plot):
        specified = json.dumps(plot.as_dict(), default=lambda numbers: numbers.tolist())
        if specified not in DRAWN:
            DRAWN[specified] = DRAW(plot)
        return DRAWN[specified]

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(PlotSpec, "to_svg", once)
        yield


@pytest.fixture(scope="module", autouse=True)
def no_browser_listens():
    """Widgets don't pack their state for a browser: those on the pages do so in the kernels of the notebooks' tests."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(ipywidgets.Widget, "open", lambda self: None)
        patched.setattr(ipywidgets.Widget, "model_id", "no browser")
        yield

"""Charts are drawn once: lets-plot takes long over each, and most tests of a panel see the same ones again."""

import json

import pytest
from lets_plot.plot.core import PlotSpec


@pytest.fixture(scope="session", autouse=True)
def charts_drawn_once():
    """A chart with the same specification, to the last number, gets the drawing that lets-plot made for it before."""
    draw, drawn = PlotSpec.to_svg, {}

    def once(plot):
        specified = json.dumps(plot.as_dict(), default=lambda numbers: numbers.tolist())
        if specified not in drawn:
            drawn[specified] = draw(plot)
        return drawn[specified]

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(PlotSpec, "to_svg", once)
        yield

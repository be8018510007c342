"""Pictures on a page: a pond's parts move when the HTML changes, and each chart is read by pointer and arrow keys."""

from __future__ import annotations

from pathlib import Path

import traitlets

from pondheat.show.elements import Element

HERE = Path(__file__).parent


class LivePicture(Element):
    """HTML with pictures in it; `value` may be set at any time.

    A picture of a pond keeps its elements from one value to the next, so its arrows grow and its cover slides (not
    where the reader asks for less motion). Anything else is replaced. Of every chart with readings
    (`figures.lines`), pointer and arrow keys tell what its lines are at a place.
    """

    _esm = HERE / "live_picture.js"
    _css = HERE / "live_picture.css"
    value = traitlets.Unicode().tag(sync=True)

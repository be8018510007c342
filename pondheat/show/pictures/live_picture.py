"""A picture on a page whose parts move when its HTML changes, instead of being drawn anew."""

from __future__ import annotations

from pathlib import Path

import anywidget
import traitlets

HERE = Path(__file__).parent


class LivePicture(anywidget.AnyWidget):
    """HTML with a picture in it; `value` may be set at any time.

    A picture of a pond keeps its elements from one value to the next, so its arrows grow and its cover slides (not
    where the reader asks for less motion). Anything else is replaced.
    """

    _esm = HERE / "live_picture.js"
    _css = HERE / "live_picture.css"
    value = traitlets.Unicode().tag(sync=True)

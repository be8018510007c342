"""Arrays as small images: a scale of even colours, and PNG files written with the standard library alone."""

from __future__ import annotations

import base64
import struct
import zlib

import numpy as np

# The colour map “inferno” (Smith and van der Walt, 2015; CC0) from pale to dark, so that more heat is more ink: even
# steps of lightness, safe for the colour-blind. Tenths of the scale; values from memory.
ANCHORS = ("#f8f5b0", "#f8d24a", "#fbab1f", "#f4803a", "#e1593f", "#c03a50", "#982766", "#6f1d6e", "#46106a", "#1f0c48")
PRICES = ("#e9f2ec", "#2f5d50")  # from cheap to dear: a hue of their own, as money is another quantity
_STEPS = 64


def colours(anchors: tuple[str, ...] = ANCHORS, steps: int = _STEPS) -> np.ndarray:
    """A colour map as rows of red, green and blue, 0–255, at even steps between its anchors."""
    given = np.array([[int(hue[at : at + 2], 16) for at in (1, 3, 5)] for hue in anchors], float)
    at = np.linspace(0, len(anchors) - 1, steps)
    mixed = np.array([np.interp(at, range(len(anchors)), channel) for channel in given.T]).T
    return np.round(mixed).astype(np.uint8)


def image(values: np.ndarray, most: float, anchors: tuple[str, ...] = ANCHORS) -> str:
    """A data URL of a PNG with one pixel for each value, rows first, coloured from 0 to `most`."""
    share = np.clip(np.nan_to_num(values) / most, 0, 1)
    return png(np.round(share * (_STEPS - 1)).astype(np.uint8), colours(anchors))


def png(indices: np.ndarray, palette: np.ndarray) -> str:
    """A data URL of a PNG (ISO/IEC 15948) whose pixels are rows of a palette; indices: 0–255, rows first."""
    high, wide = indices.shape
    lines = np.hstack([np.zeros((high, 1), np.uint8), indices])  # each line begins with its filter: none
    chunks = (
        (b"IHDR", struct.pack(">IIBBBBB", wide, high, 8, 3, 0, 0, 0)),
        (b"PLTE", palette.tobytes()),
        (b"IDAT", zlib.compress(lines.tobytes(), 6)),
        (b"IEND", b""),
    )
    written = b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data)) for name, data in chunks
    )
    return "data:image/png;base64," + base64.b64encode(written).decode()

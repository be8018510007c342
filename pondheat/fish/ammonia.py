"""How much of the ammonia in the water is the toxic kind: a share that rises with pH and with warmth."""

from __future__ import annotations

import numpy as np

from pondheat.ranges import plain, require
from pondheat.sources import ZERO_CELSIUS


def unionised_fraction(water_temp, ph):
    """Share of total ammonia that is un-ionised NH₃ [–]: 1/(1 + 10^(pKa − pH)), pKa = 0.09018 + 2729.92/T.

    water_temp: [degC], T in kelvin; ph: [–]; floats or arrays. Fresh water, 0 to 50 °C. Times total ammonia as
    nitrogen it gives un-ionised nitrogen; the same in NH₃ is that divided by 0.8224.
    Raises OutOfRange. Source: Emerson et al. 1975; Florida IFAS FA16 table 1 prints .0133 for 6 °C, pH 8:

    >>> round(unionised_fraction(water_temp=6.0, ph=8.0), 4)
    0.0133
    """
    require(water_temp=water_temp, ph=ph)
    pka = 0.09018 + 2729.92 / (np.asarray(water_temp, float) + ZERO_CELSIUS.value)
    return plain(1 / (1 + 10 ** (pka - np.asarray(ph, float))))

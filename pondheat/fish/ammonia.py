"""Un-ionised ammonia, the toxic part of the ammonia in water, which grows with pH and temperature."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from pondheat.core.ranges import OutOfRange, plain, require
from pondheat.core.sources import ZERO_CELSIUS, Constant

# Test kits state ammonia as its nitrogen, as NH₃ or as NH₄. Mass of nitrogen in 1 mg of each:
NITROGEN_IN_NH3 = Constant(0.8224, "dimensionless", "iupac_weights", "14.007 over 17.031")
NITROGEN_IN_NH4 = Constant(0.7765, "dimensionless", "iupac_weights", "14.007 over 18.039")
NITROGEN_IN = {"N": 1.0, "NH3": NITROGEN_IN_NH3.value, "NH4": NITROGEN_IN_NH4.value}
_SPELLINGS = str.maketrans({"₃": "3", "₄": "4", "⁺": "", "+": "", "-": "", "–": "", "−": "", " ": "", "(": "", ")": ""})
_SPECIES = {"n": "N", "nh3n": "N", "nh4n": "N", "nitrogen": "N", "tan": "N", "nh3": "NH3", "nh4": "NH4"}


class Unionised(NamedTuple):
    """Un-ionised ammonia as nitrogen and as NH₃ [mg/L]."""

    as_n: float
    as_nh3: float


def unionised_fraction(water_temp, ph):
    """Fraction of total ammonia that is un-ionised NH₃ [–]: 1/(1 + 10^(pKa − pH)), pKa = 0.09018 + 2729.92/T.

    water_temp: [degC], T in kelvin; ph: [–]; floats or arrays. Fresh water, 0 to 50 °C. The fraction is of
    molecules: times total ammonia as nitrogen it gives un-ionised ammonia as nitrogen; divide by 0.8224 for NH₃.
    Raises OutOfRange. Source: Emerson et al. 1975; Florida IFAS FA16 table 1 prints .0133 for 6 °C, pH 8:

    >>> round(unionised_fraction(water_temp=6.0, ph=8.0), 4)
    0.0133
    """
    require(water_temp=water_temp, ph=ph)
    pka = 0.09018 + 2729.92 / (np.asarray(water_temp, float) + ZERO_CELSIUS.value)
    return plain(1 / (1 + 10 ** (pka - np.asarray(ph, float))))


def unionised_ammonia(total_ammonia, measured_as, water_temp, ph, told_as="NH3"):
    """Un-ionised ammonia from the total ammonia that a test kit reads [mg/L].

    total_ammonia: [mg/L], as read; measured_as, told_as: what the reading and the result count, “N”, “NH3” or “NH4”
    ("as N", "NH3-N" and "NH₃" are accepted too); water_temp: [degC]; ph: [–]; numbers may be arrays.
    Total × nitrogen in 1 mg of measured_as × `unionised_fraction` ÷ nitrogen in 1 mg of told_as.
    A kit reads to some 0.1 mg/L at best, and pH to 0.1, which alone moves the result by a quarter (judgement).
    Raises OutOfRange for a number out of range or an unknown species. Source: Emerson et al. 1975; weights by
    IUPAC. By hand: 1 mg/L as N at 6 °C, pH 8 (.0133) holds 0.0133 mg/L as N, ÷ 0.8224:

    >>> round(unionised_ammonia(1.0, "N", water_temp=6.0, ph=8.0), 4)
    0.0162
    """
    require(total_ammonia=total_ammonia)
    nitrogen = np.asarray(total_ammonia, float) * NITROGEN_IN[_species(measured_as)]
    return plain(nitrogen * unionised_fraction(water_temp, ph) / NITROGEN_IN[_species(told_as)])


def from_test_kit(total_ammonia, measured_as, water_temp, ph) -> Unionised:
    """Un-ionised ammonia both as nitrogen and as NH₃ [mg/L]. Arguments, errors and source: see `unionised_ammonia`.

    >>> from_test_kit(0.5, "as NH3", water_temp=18.0, ph=8.0).as_nh3 / 0.5 == unionised_fraction(18.0, 8.0)
    True
    """
    return Unionised(*(unionised_ammonia(total_ammonia, measured_as, water_temp, ph, told) for told in ("N", "NH3")))


def _species(text: str) -> str:
    """The key of NITROGEN_IN for a species as people write it. Raises OutOfRange."""
    word = str(text).translate(_SPELLINGS).casefold().removeprefix("mg/las").removeprefix("as")
    if word in _SPECIES:
        return _SPECIES[word]
    shown = str(text)[:40]
    if word.startswith(("no2", "no3", "nitri", "nitra")):
        raise OutOfRange(
            f"“{shown}” given for what the kit measures: that is nitrite or nitrate, not ammonia. Use the "
            "kit for ammonia."
        )
    raise OutOfRange(
        f"“{shown}” given for what the kit measures: write “N”, “NH3” or “NH4”, as its leaflet says "
        "(“NH3-N” and “NH4-N” are N)."
    )

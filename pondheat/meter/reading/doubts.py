"""Wrong units that the numbers give away: more power than any pond's supply can give, or less than any heater uses."""

from __future__ import annotations

import numpy as np

from pondheat.core.tables.read_log import ReadingsFault
from pondheat.core.units import significant
from pondheat.meter.reading.columns import Roles
from pondheat.meter.reading.headers import UNIT_FACTOR, UNITS_OF_QUANTITY
from pondheat.meter.reading.repairs import ninetieth_percentile

# A heater, a pump or a house that draws anything mostly draws between these [W]: the least is an air pump, the most
# three phases of 63 A at 230 V (judgement).
_LEAST, _MOST = 4.0, 43_000.0
_FEWEST = 8  # values above zero, below which nothing is suspected


def check_power(kwh: np.ndarray, hours: np.ndarray, roles: Roles, given: str | None, rating: float | None) -> None:
    """Raise ReadingsFault where the unit in a header makes the power implausible, and another would not.

    kwh, hours: of the intervals as read [kWh], [h]; given: the unit that the caller gave, which is never questioned;
    rating: of the heater [W].
    """
    unit = roles.value.unit
    known = UNITS_OF_QUANTITY.get(roles.quantity or "", ())
    if given is not None or unit not in known or roles.quantity not in ("energy", "power"):
        return
    with np.errstate(divide="ignore", invalid="ignore"):
        power = 1000 * kwh / hours
    usual, count = ninetieth_percentile(power[np.isfinite(power)])
    if count < _FEWEST:
        return
    least, most = (_LEAST, _MOST) if rating is None else (rating / 100, rating * 3)
    good = (20.0, 20_000.0) if rating is None else (rating / 10, rating * 1.5)
    if least <= usual <= most:
        return
    as_other = {other: usual / UNIT_FACTOR[unit] * UNIT_FACTOR[other] for other in known if other != unit}
    fit = [other for other, watts in as_other.items() if good[0] <= watts <= good[1]]
    if not fit:
        return  # the repairs report it, with the rows
    likely = min(fit, key=lambda other: abs(np.log(as_other[other] / 1000)))
    shown = f"{significant(usual / 1000, 2)} kW" if usual >= 1000 else f"{significant(usual, 2)} W"
    raise ReadingsFault(
        f"{roles.value.subject} in {unit} would often mean {shown}, "
        f"{'more than a supply can give' if usual > most else 'less than any heater uses'}. Is it really in {likely}? "
        "Give "
        f'unit="{likely}", or unit="{unit}" if it is right.'
    )

"""A mesh net over open water, as one number: the heat that the water loses under it."""

from __future__ import annotations

import numpy as np

from pondheat.core.ranges import plain, require
from pondheat.heat.balance import Air, Pond, moment
from pondheat.heat.evaporation import FORMULA_WIND_HEIGHT
from pondheat.heat.sky import black_body


def loss_under_net(water_temp, air_temp, rel_humidity, wind_speed, sky_temp, open_area=1.0):
    """Heat that water loses by evaporation, convection and long wave under a mesh net [W/m²].

    water_temp, air_temp, sky_temp: [degC]; rel_humidity: [–]; wind_speed: [m/s] at 2 m above the net; open_area: [–] of
    the net, 1 for open water; floats or arrays. The default evaporation formula, an open sky all round, no sun. Raises
    OutOfRange. Source: as `moment`; the net's wind after Tanny and Cohen 2003, its threads as warm as the air.

    >>> round(loss_under_net(18.0, 8.0, 0.8, 1.0, -10.0) - loss_under_net(18.0, 8.0, 0.8, 1.0, -10.0, 0.9), 1)
    15.1
    """
    require(
        water_temp=water_temp,
        air_temp=air_temp,
        rel_humidity=rel_humidity,
        wind_speed=wind_speed,
        sky_temp=sky_temp,
        open_area=open_area,
    )
    water, air, humidity, wind, sky, open_share = np.broadcast_arrays(
        *(np.asarray(value, float) for value in (water_temp, air_temp, rel_humidity, wind_speed, sky_temp, open_area))
    )
    found = np.empty(water.shape)
    for share in np.unique(open_share):
        pond = Pond(1.0, 1.0, wind_shelter=1.0, net_open_area=float(share))
        here = Air(air, humidity, wind, sky_long_wave=black_body(sky), wind_height=FORMULA_WIND_HEIGHT)
        found = np.where(open_share == share, moment(pond, here, water)["net"], found)
    return plain(found)

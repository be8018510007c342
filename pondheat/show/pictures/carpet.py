"""A season at a glance: days across, hours of the night down, each hour coloured by the heat it loses."""

from __future__ import annotations

import datetime as dt
import functools
import html
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pondheat.analysis.results import BoundaryConditions
from pondheat.core import units
from pondheat.heat.balance import Pond, moment
from pondheat.money.tariffs import Tariff
from pondheat.show.pictures import raster
from pondheat.show.pictures.lettering import watts

NOON, MIDNIGHT = 12, 24  # hour at which a column begins, so that a night is in one piece, and the night's middle
MOST = 6000.0  # W, top of the colour scale
WIDTH, LEFT, TOP, PLOT_WIDTH, PLOT_HEIGHT = 900, 62, 54, 820, 216  # px
PRICE_HEIGHT, GAP = 72, 34  # px: of the second carpet, and above it


@dataclass(frozen=True)
class Frame:
    """The hours of a season in which the cover is on: days first … last (columns) and hours on … off after a noon.

    on, off: hours after midnight of the day on which the night begins, 12 … 36.
    """

    first: int
    last: int
    on: int
    off: int

    def mask(self, days: int) -> np.ndarray:
        """True in the covered hours of an array of hours of the night (24) by days."""
        covered = np.zeros((24, days), bool)
        covered[self.on - NOON : self.off - NOON, self.first : self.last + 1] = True
        return covered


@dataclass(frozen=True, eq=False)
class Carpet:
    """A season's hours as arrays of 24 hours from noon on (rows) by days (columns).

    days: the days on which the nights begin; open, covered: heat lost without and with the cover [W]; saved: net heat
    that the cover saves in that hour, the sun it keeps off counted [W]; price: [money/kWh], None without a tariff;
    hundredth: sign of the currency's hundredth.
    """

    days: tuple[dt.date, ...]
    open: np.ndarray
    covered: np.ndarray
    saved: np.ndarray
    price: np.ndarray | None = None
    hundredth: str = ""

    def saved_kwh(self, frame: Frame) -> float:
        """Heat that the cover saves in the frame's hours [kWh]."""
        return float(self.saved[frame.mask(len(self.days))].sum()) / 1000

    def saved_money(self, frame: Frame) -> float:
        """What that heat costs [money], one kWh bought for each; 0 without a tariff."""
        if self.price is None:
            return 0.0
        mask = frame.mask(len(self.days))
        return float((self.saved * self.price)[mask].sum()) / 1000

    def whole(self, on: int, off: int) -> Frame:
        """The frame of these hours from the first day to the last."""
        return Frame(0, len(self.days) - 1, on, off)


class Nights:
    """The whole nights of hourly values, each from noon to noon; index: starts of the hours, with a time zone.

    The hour that a change of clocks leaves out takes the mean of its neighbours; of one that comes twice, the later
    counts.
    """

    def __init__(self, index: pd.DatetimeIndex):
        wall = index.tz_localize(None)
        begins = (wall - pd.Timedelta(hours=NOON)).normalize()
        self._column = ((begins - begins[0]) / pd.Timedelta(days=1)).to_numpy().astype(int)
        self._row = (wall.hour.to_numpy() - NOON) % 24
        self._whole = np.ones(self._column[-1] + 1, bool)
        self._whole = np.isnan(self._placed(np.zeros(len(index)))).sum(axis=1) <= 1
        self.days = tuple((begins[0] + pd.Timedelta(days=int(day))).date() for day in np.flatnonzero(self._whole))

    def _placed(self, values: np.ndarray) -> np.ndarray:
        table = np.full((len(self._whole), 24), np.nan)
        table[self._column, self._row] = values
        return table[self._whole]

    def table(self, values: np.ndarray) -> np.ndarray:
        """Hourly values as 24 hours from noon on (rows) by nights (columns)."""
        flat = self._placed(values).ravel()
        missing = np.isnan(flat)
        flat[missing] = np.interp(np.flatnonzero(missing), np.flatnonzero(~missing), flat[~missing])
        return flat.reshape(-1, 24).T


class SeasonCarpets:
    """Carpets of a season's hours with the water held at one temperature.

    Held so, an hour's loss doesn't depend on the hours before it, so covered and open hours can be combined freely.
    water_temp: [degC].
    """

    def __init__(self, conditions: BoundaryConditions, water_temp: float):
        self._counted, self._water = conditions.counted, float(water_temp)
        self._index = conditions.index[self._counted]
        self._air = conditions.air
        self._nights = Nights(self._index)
        self._open_losses = functools.lru_cache(1)(functools.partial(self._losses, share=0.0))

    def of(self, pond: Pond) -> Carpet:
        """The carpet of a pond."""
        open_, open_net = self._open_losses(replace(pond, cover=None))
        covered, covered_net = self._losses(pond, 1.0)
        return Carpet(self._nights.days, open_, covered, open_net - covered_net)

    def priced(self, carpet: Carpet, tariff: Tariff, hundredth: str) -> Carpet:
        """A carpet with the price of each hour; hundredth: sign of the currency's hundredth."""
        return replace(carpet, price=self._nights.table(tariff.rates(self._index)[0]), hundredth=hundredth)

    def _losses(self, pond: Pond, share: float) -> tuple[np.ndarray, np.ndarray]:
        """Heat lost and net heat lost in each hour with this share covered [W]."""
        found = moment(pond, self._air, np.full(len(self._counted), self._water), share)
        net = found["net"][self._counted]
        return self._nights.table(net + found["solar"][self._counted]), self._nights.table(net)


def clock(hour: int) -> str:
    """An hour after a noon as a time of day: 31 is 07:00."""
    return f"{hour % 24:02d}:00"


def day_name(day: dt.date) -> str:
    """A day as people write it: “3 September”."""
    return f"{day.day} {day:%B}"


def carpet_svg(carpet: Carpet, key: str, title: str, most: float = MOST) -> str:
    """The carpet as SVG text, covered hours clipped to the frame; key: prefix of ids; most: top of the scale [W].

    The image with the cover lies over the open one and shows only within the clip path `…-cover`, which the browser
    sets; so a moved frame needs no new picture.
    """
    count = len(carpet.days)
    high = TOP + PLOT_HEIGHT + 46 + (PRICE_HEIGHT + GAP if carpet.price is not None else 0)
    place = f'x="{LEFT}" y="{TOP}" width="{PLOT_WIDTH}" height="{PLOT_HEIGHT}"'
    look = 'preserveAspectRatio="none" style="image-rendering:pixelated"'
    hours = "".join(
        f'<text x="{LEFT - 8}" y="{TOP + PLOT_HEIGHT * at / 24 + 5:.0f}" text-anchor="end">{clock(NOON + at)}</text>'
        f'<path d="M{LEFT - 5},{TOP + PLOT_HEIGHT * at / 24:.1f} h5" stroke="currentColor"/>'
        for at in (0, 6, 12, 18, 24)
    )
    firsts = [at for at, day in enumerate(carpet.days) if day.day == 1]
    months = "".join(
        f'<text x="{LEFT + PLOT_WIDTH * (at + 15) / count:.0f}" y="{TOP + PLOT_HEIGHT + 20}" text-anchor="middle">'
        f'{carpet.days[at]:%b}</text><path d="M{LEFT + PLOT_WIDTH * at / count:.1f},{TOP + PLOT_HEIGHT} v6" '
        'stroke="currentColor"/>'
        for at in firsts
        if at + 15 < count
    )
    scale = "".join(
        f'<rect x="{LEFT + PLOT_WIDTH - 256 + 4 * at}" y="8" width="4.5" height="14" fill="rgb({red},{green},{blue})"/>'
        for at, (red, green, blue) in enumerate(raster.colours())
    )
    ends = "".join(
        f'<text x="{LEFT + PLOT_WIDTH - 256 + 128 * at}" y="38" text-anchor="{("start", "middle", "end")[at]}">'
        f"{watts(most * at / 2)}</text>"
        for at in (0, 1, 2)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {high}" role="group" '
        f'aria-label="{html.escape(title)}" '
        'style="width:100%;height:auto;display:block" fill="currentColor" font-size="14.5" font-family="inherit">'
        f'<defs><clipPath id="{key}-cover"><rect class="ph-clip" {place}/></clipPath></defs>'
        f'<image {place} {look} href="{raster.image(carpet.open, most)}"/>'
        f'<g clip-path="url(#{key}-cover)"><image {place} {look} href="{raster.image(carpet.covered, most)}"/></g>'
        f"{hours}{months}{scale}{ends}"
        f'<text x="{LEFT}" y="20">hour of the day (down), day (across)</text>'
        f'<text x="{LEFT + PLOT_WIDTH - 266}" y="20" text-anchor="end">heat lost</text>{_prices(carpet)}'
        '<g class="ph-handles"></g></svg>'
    )


def _prices(carpet: Carpet) -> str:
    """The second carpet: the price of each hour."""
    if carpet.price is None:
        return ""
    low, high = float(carpet.price.min()), float(carpet.price.max())
    top = TOP + PLOT_HEIGHT + 46 + GAP - 14
    drawn = raster.image(carpet.price - low, max(high - low, 1e-9), raster.PRICES)
    rates = ", ".join(
        f'<tspan fill="{hue}" stroke="#888" stroke-width=".6">■</tspan> {units.significant(100 * rate, 3)} '
        f"{carpet.hundredth}"
        for hue, rate in dict.fromkeys([(raster.PRICES[1], high), (raster.PRICES[0], low)])
    )
    hours = "".join(
        f'<text x="{LEFT - 8}" y="{top + PRICE_HEIGHT * at / 24 + 5:.0f}" text-anchor="end">{clock(NOON + at)}</text>'
        for at in (0, 12, 24)
    )
    return (
        f'<text x="{LEFT}" y="{top - 10}">price of a kWh in the same hours: {rates}</text>'
        f'<image x="{LEFT}" y="{top}" width="{PLOT_WIDTH}" height="{PRICE_HEIGHT}" preserveAspectRatio="none" '
        f'style="image-rendering:pixelated" href="{drawn}"/>{hours}'
    )

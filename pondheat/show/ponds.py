"""The invented ponds used on the pages, priced in the reader's preferred currency."""

from __future__ import annotations

from dataclasses import replace

from pondheat.core import display_units, units
from pondheat.core.places import PONDS
from pondheat.season.heaters import Heater
from pondheat.sheet import pond_sheet as sheets
from pondheat.sheet.pond_sheet import Sheet


def currency() -> units.Currency:
    """The preferred currency, in which the pages show invented prices."""
    return display_units.load().currency


def invented_text(name: str = "garden_pond", money: units.Currency | None = None) -> str:
    """The sheet of a shipped pond as text, its prices in `money` (default: the preferred currency).

    The prices are invented, so they keep their numbers in any currency.
    """
    text, money = (PONDS / f"{name}.toml").read_text(encoding="utf-8"), money or currency()
    if money == units.GBP:
        return text
    return (
        text.replace('currency = "GBP"', f'currency = "{money.code}"')
        .replace("£", money.sign)
        .replace(" p/", f" {money.hundredth}/")
    )


def invented(name: str = "garden_pond", money: units.Currency | None = None) -> Sheet:
    """The sheet of a shipped pond, read; arguments as for `invented_text`."""
    return sheets.from_text(invented_text(name, money), PONDS)


def held_all_season(water_temp: float, power: float) -> Sheet:
    """The invented garden pond kept at one temperature [°C] by an electric heater of this power [W].

    It starts the season that warm, so the weeks before it need not be run.
    """
    heater = Heater("resistance", power)
    return replace(invented(), start_temp=water_temp, set_point=(((1, 1), water_temp),), heater=heater)

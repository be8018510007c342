"""The invented ponds of the pages, priced in the money usual where the reader lives."""

from __future__ import annotations

from pondheat.core import display_units, units
from pondheat.core.places import PONDS
from pondheat.sheet import pond_sheet as sheets
from pondheat.sheet.pond_sheet import Sheet


def currency() -> units.Currency:
    """The currency in which the pages show invented prices."""
    return display_units.load().currency


def invented_text(name: str = "garden_pond", money: units.Currency | None = None) -> str:
    """The sheet of a shipped pond as text. Its prices are invented, so in another money (left out: the usual one) they keep
    their numbers."""
    text, money = (PONDS / f"{name}.toml").read_text(encoding="utf-8"), money or currency()
    if money == units.GBP:
        return text
    return (
        text.replace('currency = "GBP"', f'currency = "{money.code}"')
        .replace("£", money.sign)
        .replace(" p/", f" {money.hundredth}/")
    )


def invented(name: str = "garden_pond", money: units.Currency | None = None) -> Sheet:
    """A shipped pond."""
    return sheets.from_text(invented_text(name, money), PONDS)

"""Currencies of the reader: code, sign and the name of the hundredth part."""

from __future__ import annotations

import re
from dataclasses import dataclass

from pondheat.core.errors import Unreadable


@dataclass(frozen=True)
class Currency:
    """A currency: code, sign and the name of its hundredth part (``p``, ``c``, ``¢``)."""

    code: str
    sign: str
    hundredth: str


CURRENCIES = {
    "GBP": Currency("GBP", "£", "p"),
    "EUR": Currency("EUR", "€", "c"),
    "USD": Currency("USD", "$", "¢"),
}
GBP = CURRENCIES["GBP"]
# Names that people give their money: of the whole and of its hundredth part.
SPOKEN_NAMES = {
    "GBP": (("gbp", "pound", "pounds", "quid"), ("p", "penny", "pence")),
    "EUR": (("eur", "euro", "euros"), ("c", "ct", "cent", "cents")),
    "USD": (("usd", "dollar", "dollars"), ("¢", "c", "cent", "cents")),
}


def currency_of(value) -> Currency:
    """Currency of a code ("GBP", "EUR", "USD"), or of a table with code, sign and hundredth.

    >>> currency_of({"code": "SEK", "sign": "kr", "hundredth": "öre"}).sign
    'kr'

    Raises `Unreadable`.
    """
    if isinstance(value, dict):
        parts = {name: str(value.get(name, "")).strip() for name in ("code", "sign", "hundredth")}
        short = all(re.fullmatch(r"[^\W\d]{1,6}|[^\w\s.,+*/()^-]", part) for part in parts.values())
        if set(value) - set(parts) or not short:
            raise Unreadable(
                'A currency of your own needs three short words: { code = "SEK", sign = "kr", hundredth = "öre" }.'
            )
        return Currency(**parts)
    code = str(value).strip().upper()
    if code not in CURRENCIES:
        raise Unreadable(
            f"“{str(value)[:20]}” is not a currency known here. Known: {', '.join(CURRENCIES)}; any other "
            'as { code = "SEK", sign = "kr", hundredth = "öre" }.'
        )
    return CURRENCIES[code]

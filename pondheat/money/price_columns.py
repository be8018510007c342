"""Columns of a price file: which one holds the price, and in which unit it is given."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from pondheat.core import units
from pondheat.core.currencies import SPOKEN_NAMES
from pondheat.core.tables import unit_columns
from pondheat.core.tables.decoding import plain_letters
from pondheat.core.tables.header_lines import names_price
from pondheat.core.tables.rows import Lines
from pondheat.core.units import Unreadable

# Names of columns, in lower case, without accents and underscores: English, then German, French, Dutch.
TIMES = {"time", "valid from", "from", "start", "start time", "timestamp", "datetime", "date time", "delivery start"}
TIMES |= {"von", "ab", "beginn", "gultig ab", "zeit", "debut", "du", "valable du", "van", "vanaf", "tijd", "geldig van"}
ENDS = {"valid to", "to", "end", "end time", "delivery end", "bis", "ende", "gultig bis", "fin", "au", "valable au"}
ENDS |= {"tot", "einde", "geldig tot"}
PRICES = {"price", "value inc vat", "value", "rate", "unit rate", "unit price", "spot price", "day ahead price"}
PRICES |= {"preis", "strompreis", "arbeitspreis", "prix", "tarif", "prijs", "stroomprijs", "tarief", "wert", "valeur"}
PRICES |= {"waarde"}
_ANY_VALUE = {"value", "rate", "wert", "valeur", "waarde"}  # may as well be a meter's
_PRICE_WORDS = {"price", "prices", "rate", "preis", "strompreis", "arbeitspreis", "borsenpreis", "prix", "tarif"}
_PRICE_WORDS |= {"prijs", "stroomprijs", "tarief", "tariff"}
# Words of columns of other amounts: what is paid for electricity sent back, what is owed for a day.
_OTHER_WORDS = {"export", "outgoing", "sell", "einspeisung", "injection", "teruglevering", "standing", "grundpreis"}
_OTHER_WORDS |= {"abonnement", "vastrecht", "gas"}
_WITHOUT_TAX = re.compile(r"\b(?:exc|excl|ex|excluding|exclusive|netto|net|ht|hors|ohne|zonder|exkl)\b")
_PER = r"\s*(?:/|\bper\b|\bpro\b|\bpar\b|\bje\b|\bthe\b|\s)\s*"
_ENERGY = r"(kwh|mwh)\b"
_NUMERAL = r"(?:\d[\d.,'’\s]*|[.,]\d+)(?:[eE][-+]?\d+)?"


_METER = re.compile(
    r"\b(?:[kmg]?wh|k?w|readings?|counter|register|use|usage|consumption|verbrauch|zahlerstand|consommation|compteur"
    r"|verbruik|meterstand|temp\w*)\b"
)


@dataclass(frozen=True)
class Unit:
    """What a header, a column of units or a cell says of a price's unit; None for what it leaves open.

    money: as written, such as “p”; energy: “kWh” or “MWh”; said: who says it, for messages.
    """

    money: str | None
    energy: str | None
    said: str


def column_name(header: str) -> str:
    """The words of a header: in lower case, without underscores, accents and what is in brackets."""
    return " ".join(re.sub(r"[\[(].*", "", plain_letters(header).replace("_", " ")).split())


def is_price_table(text: str) -> bool:
    """Whether a table's header names a price of energy and nothing that a meter shows.

    >>> is_price_table("time,price [p/kWh]\\n"), is_price_table("time,use [kWh],price [p/kWh]\\n")
    (True, False)
    >>> is_price_table("Zeit;Wert [ct/kWh]\\n"), is_price_table("Zeit;Wert (kWh)\\n")
    (True, False)
    """
    if re.search(r"(?m)^\s*(?:\[+[a-z]+[.a-z]*\]+|[a-z_]+ *= *\S)", text[:20_000]):
        return False  # TOML
    for line in text[:20_000].splitlines()[:40]:
        cells = line.split(max("\t;|,", key=line.count))
        prices = [cell for cell in cells if names_price(cell) or column_name(cell) in PRICES - _ANY_VALUE]
        rest = (plain_letters(cell).replace("_", " ") for cell in cells if cell not in prices)
        if prices and len(cells) > 1 and not any(map(_METER.search, rest)):
            return True
    return False


def label(lines: Lines, at: int) -> str:
    """What messages call a column: by its name, as its number may no longer be that in the file."""
    return f"the column “{lines.headers[at]}”" if lines.headers[at] else f"column {at + 1}"


def price_column(lines: Lines, numeric: Iterable[int], currency: units.Currency) -> tuple[int, str]:
    """Position of the price, and a note where there was a choice; raises `Unreadable` where it isn't clear.

    numeric: positions of the columns of numbers.
    """
    numeric = list(numeric)
    heads = {at: lines.headers[at] for at in numeric}
    words = {at: set(column_name(head).split()) for at, head in heads.items()}
    found = [
        at
        for at, head in heads.items()
        if column_name(head) in PRICES
        or words[at] & _PRICE_WORDS
        or ((unit := unit_in_text(head, currency, "")) is not None and unit.money is not None)
    ]
    metered = [at for at in found if _is_metered(heads[at], currency)]
    if metered and metered == found:
        raise Unreadable(
            f"{lines.name}: {label(lines, metered[0])} gives energy, as a meter does, not a price. If it holds "
            f"prices, name their unit, as in “price [{currency.hundredth}/kWh]”."
        )
    found = [at for at in found if at not in metered]
    found = [at for at in found if not words[at] & _OTHER_WORDS] or found
    taxed = [at for at in found if not _WITHOUT_TAX.search(plain_letters(heads[at]).replace("_", " "))]
    if not found:
        raise Unreadable(
            f"{lines.name}: no column is called a price. Name one in the line above the first row, as in "
            f"“time,price [{currency.hundredth}/kWh]”. Known for the price: {', '.join(sorted(PRICES))}."
        )
    if not taxed:
        return found[0], (
            f"The prices are without tax, as the header says (“{heads[found[0]]}”): give tax and tax_included = false."
        )
    named = [at for at in taxed if column_name(heads[at]) in PRICES]
    if len(taxed) > 1 and not named:
        raise Unreadable(
            f"{lines.name}: which column is the price: {', '.join(label(lines, at) for at in taxed)}? Call it “price”."
        )
    chosen = (named or taxed)[0]
    if len(found) == 1:
        return chosen, ""
    kind = "Prices with tax are" if len(taxed) < len(found) else "Of several columns of prices, one is"
    return chosen, f"{kind} read, {label(lines, chosen)}."


def _is_metered(header: str, currency: units.Currency) -> bool:
    """Whether a header of any value, such as “Wert (kWh)”, names a unit of energy and no money."""
    unit = unit_in_text(header, currency, "")
    return column_name(header) in _ANY_VALUE - _PRICE_WORDS and unit is not None and unit.money is None


def stated_units(lines: Lines, price_at: int, taken: set[int], currency: units.Currency) -> list[Unit]:
    """What the header of the prices, and columns of units beside them, say of the unit; taken: positions of others."""
    header = lines.headers[price_at]
    found = [unit_in_text(header, currency, f"the header of {label(lines, price_at)}")]
    inside = re.search(r"[\[(](.+)[\])]", header)
    unknown = found[0] is None or found[0].money is None and inside and "/" in inside[1]
    if unknown and inside and not re.search(r"vat|tax|mwst|ust|tva|btw|ttc|inc", plain_letters(inside[1])):
        units.parse(f"1 {inside[1]}", "money/kWh", currency)  # raises, with how to write it
    sample = lines.sample()
    for at, head in enumerate(lines.headers):
        if at in taken or at == price_at:
            continue
        cells = [fields[at] for fields in sample]
        if not unit_columns.holds_units(head, cells, lambda cell: unit_in_text(cell, currency, "") is not None):
            continue
        written = sorted(set(lines.column_text(at).tolist()) - {""})
        if len(written) > 1:
            raise Unreadable(
                f"{lines.name}: {label(lines, at)} gives several units: "
                f"{', '.join(f'“{one[:20]}”' for one in written)}. Convert the prices to one of them, or leave the "
                "rows of the others out."
            )
        found.append(unit_in_text(written[0], currency, label(lines, at)))
    return [one for one in found if one is not None]


def unit_in_text(text: str, currency: units.Currency, said: str) -> Unit | None:
    """The unit that a header, or a cell of units, names: “Price (p/kWh)”, “EUR/MWh”, “preis_ct_kwh”, “£”."""
    low = re.sub(r"€ ?ct|c€", "ct", text.replace("_", " ").casefold())
    own = {currency.sign, currency.hundredth, currency.code}
    spoken = own | {name for pair in SPOKEN_NAMES.values() for names in pair for name in names} | {"cts", *"£€$"}
    money = "|".join(sorted((re.escape(one.casefold()) for one in spoken), key=len, reverse=True))
    money = rf"(?<![^\W\d_])({money})(?![^\W\d_])"
    if whole := re.search(rf"{money}{_PER}{_ENERGY}", low):
        return Unit(whole[1], _energy(whole[2]), said)
    energy = re.search(rf"(?:^|[\s/\[(]){_ENERGY}", low)
    long = [one for one in re.findall(money, low) if len(one) > 2 or one in {"£", "€", "$", "ct", currency.sign}]
    bare = re.fullmatch(money, low.strip())
    inside = re.search(rf"[\[(]\s*{money}\s*[\])]", low)
    amount = bare[1] if bare else inside[1] if inside else long[0] if long else None
    return Unit(amount, _energy(energy[1]) if energy else None, said) if amount or energy else None


def _energy(text: str) -> str:
    return "MWh" if text == "mwh" else "kWh"


def apart(cell: str) -> tuple[str, str]:
    """The number of a cell and the unit beside it, as in “-£0.04” or “24,5 ct/kWh”; "" where it holds no number.

    >>> apart("-£0.04"), apart("24,5 ct"), apart("dear")
    (('-0.04', '£'), ('24,5', 'ct'), ('', 'dear'))
    """
    found = re.fullmatch(
        rf"([-+−]?)\s*([^\d\s.,+−-]*)\s*([-+−]?)\s*({_NUMERAL})\s*([^\d\s].*)?", cell.strip().strip('"')
    )
    if not found or found[1] and found[3]:
        return "", cell
    sign = "-" if (found[1] or found[3]) in ("-", "−") else ""
    return sign + found[4].strip(), f"{found[2]}{found[5] or ''}".strip()


def factor_of(said: list[Unit], name: str, currency: units.Currency) -> tuple[float, bool]:
    """What a price is to be multiplied by for money/kWh, and whether its unit is stated in full.

    Raises `Unreadable` for units that contradict each other, `OtherCurrency` for another currency.
    """
    parts: dict[str, dict[float, Unit]] = {"money": {}, "energy": {}}
    for one in said:
        if one.money is not None:
            money = {"cts": "cents"}.get(one.money, one.money)
            parts["money"].setdefault(units.parse(f"1 {money}/kWh", "money/kWh", currency), one)
        if one.energy is not None:
            parts["energy"].setdefault({"kWh": 1.0, "MWh": 1e-3}[one.energy], one)
    for which, found in parts.items():
        if len(found) > 1:
            first, second = list(found.values())[:2]
            raise Unreadable(
                f"{name}: {first.said} says {getattr(first, which)}, but {second.said} says {getattr(second, which)}. "
                f"Which is it? Correct one, or take it out."
            )
    stated = bool(parts["money"] and parts["energy"])
    return next(iter(parts["money"]), 1.0) * next(iter(parts["energy"]), 1.0), stated

"""Price files and tariffs that are refused, one row or more for each refusal of their readers."""

from pathlib import Path

import pandas as pd
from refused import Refused


def prices(
    head="time,price [p/kWh]", count=48, start="2025-01-03", freq="30min", form="%Y-%m-%dT%H:%MZ", factor=1.0
) -> str:
    """A price file with invented prices."""
    stamps = pd.date_range(start, periods=count, freq=freq).strftime(form)
    return "\n".join([head, *(f"{one},{factor * (20 + at % 7):g}" for at, one in enumerate(stamps))]) + "\n"


def ending(shift: int) -> str:
    """A price file with the end of each step, of which that of row 11 is `shift` minutes late."""
    stamps = pd.date_range("2025-01-03", periods=48, freq="30min")
    ends = [one + pd.Timedelta(minutes=30 + (shift if at == 9 else 0)) for at, one in enumerate(stamps)]
    form = "%Y-%m-%dT%H:%MZ"
    rows = [f"{one:{form}},{two:{form}},{20 + at % 7}" for at, (one, two) in enumerate(zip(stamps, ends))]
    return "\n".join(["valid_from,valid_to,price [p/kWh]", *rows]) + "\n"


def changed(old: str, new: str) -> str:
    assert old in GOOD
    return GOOD.replace(old, new)


def tariff(*lines: str, window="") -> str:
    """A tariff of two rates; lines: of its own; window: further lines of its window."""
    own = "\n".join(("otherwise = '30 p/kWh'", *lines))
    return f"{own}\n[[window]]\nname = 'night'\nrate = '12 p/kWh'\nstart = '00:30'\nend = '07:30'\n{window}"


GOOD = prices()
CLOCK = prices(form="%Y-%m-%d %H:%M")
SKIPPED = prices(start="2025-03-30", form="%Y-%m-%d %H:%M")
SKIPPED_CET = prices("start (CET/CEST),price [p/kWh]", start="2025-03-30 01:00", form="%Y-%m-%d %H:%M")
METERED = prices("time,Wert (kWh)", factor=0.01)
SLASHED = prices(start="2026-11-04", form="%d/%m/%Y %H:%M")
ODD_DATE = prices(start="2026-11-13", form="%d/%m/%Y %H:%M", count=96).replace("13/11/2026 19:00", "11/13/2026 19:00")
REGIONS = "region," + "".join(
    f"{place},{line}\n" if at else f"{line}\n" if place == "North" else ""
    for place in ("North", "South")
    for at, line in enumerate(GOOD.splitlines())
)
PERIODS = "date,period,price [p/kWh]\n" + "".join(f"2025-01-03,{at + 1},{20 + at % 7}\n" for at in range(48))
CENTRAL = prices(head="time (CET),price [p/kWh]", form="%Y-%m-%d %H:%M")
SUMMER = "time (CET/CEST),price [p/kWh]\n" + "".join(  # the day of 23 hours
    f"{one:%Y-%m-%d %H:%M},{20 + at % 7}\n"
    for at, one in enumerate(pd.date_range("2025-03-30", periods=46, freq="30min", tz="Europe/Berlin"))
)
WIDE = "\n".join(["time,price a [p/kWh],price b [p/kWh]", *(f"{line},21" for line in GOOD.splitlines()[1:])]) + "\n"
UNITS = "\n".join(["time,price,unit", *(f"{line},p/kWh" for line in GOOD.splitlines()[1:])]) + "\n"
TWO_UNITS = UNITS.replace(",22,p/kWh", ",220,£/MWh")
TWO_ROWS = "time,price [p/kWh]\n2025-01-03T00:00Z,20\nyesterday,21\n"
DAYS, BERLIN = {"dates": "day first"}, "Europe/Berlin"
NIGHT = "2025-01-03T04:30Z"
LONDON, UTC, IN_BERLIN = {"timezone": "Europe/London"}, {"timezone": "UTC"}, {"timezone": BERLIN}
FULL = tariff()
SECOND = "[[window]]\nname = 'peak'\nrate = '41 p/kWh'\nstart = '16:00'\nend = '19:00'\n"
BOTH = "otherwise = '30 p/kWh'\nprices = 'prices.csv'\n"
OWN_TABLE = "rate = '28 p/kWh'\n"

ROWS = [
    Refused("no file", Path("no such.csv"), ("no such.csv", "could not be read"), {}, GOOD),
    Refused("no text", bytes(range(32)) * 9, ("prices.csv", "control characters", "as CSV"), {}, GOOD),
    Refused(
        "no heads",
        GOOD.partition("\n")[2],
        ("prices.csv", "line above the first row", "“time,price [p/kWh]”"),
        {},
        GOOD,
    ),
    Refused("a line cut short", changed(f"{NIGHT},22", NIGHT), ("row 11", "a price"), {}, GOOD),
    Refused("a word", changed(f"{NIGHT},22", f"{NIGHT},dear"), ("row 11", "“dear”"), {}, GOOD),
    Refused("no number", changed(f"{NIGHT},22", f"{NIGHT},nan"), ("row 11", "“nan”", "as in 24.5"), {}, GOOD),
    Refused("no time", changed(NIGHT, "noon"), ("row 11", "“noon”", "2025-01-03T04:30Z"), {}, GOOD),
    Refused("no zone", CLOCK, ("row 2", "“2025-01-03 00:00”", "prices_timezone"), {}, None, LONDON),
    Refused("an hour that isn't", SKIPPED, ("row 4", "2025-03-30 01:00", '"UTC"'), LONDON, None, UTC),
    Refused("no zone but a clock", SUMMER, ("row 2", 'prices_timezone = "Europe/Berlin"'), {}, None, IN_BERLIN),
    Refused("another clock's", SUMMER, ("2025-03-30 01:00", '"Europe/Berlin" meant'), LONDON, None, IN_BERLIN),
    Refused("its own clock's", SKIPPED_CET, ("row 4", "Europe/Berlin, the clocks skip it. Correct"), IN_BERLIN, SUMMER),
    Refused("kWh, no prices", METERED, ("“Wert (kWh)” gives energy", "“price [p/kWh]”"), {}, GOOD),
    Refused("an end too late", ending(30), ("row 11", "2025-01-03 05:30 UTC", "Add what is missing"), {}, ending(0)),
    Refused("one price", prices(count=1), ("prices.csv", "two prices"), {}, GOOD),
    Refused("twice", GOOD + GOOD.splitlines()[5] + "\n", ("prices.csv", "2025-01-03 02:00", "Take"), {}, GOOD),
    Refused("every two hours", prices(freq="2h"), ("prices.csv", "every 120 minutes", "divides the hour"), {}, GOOD),
    Refused("between two steps", changed(NIGHT, "2025-01-03T04:37Z"), ("04:37 UTC", "between two steps"), {}, GOOD),
    Refused("a mistyped year", changed(NIGHT, "7" + NIGHT[1:]), ("prices.csv: Row 11", "Correct its year"), {}, GOOD),
    Refused("a gap", changed(f"{NIGHT},22\n", ""), ("2025-01-03 04:30 UTC", "Fill the gap"), {}, GOOD),
    Refused(
        "pounds for pence", prices(head="time,price"), ("£/kWh", "the column “price”", "“price [p/kWh]”"), {}, GOOD
    ),
    Refused("another money", prices(head="time,price [kr/kWh]"), ("“kr/kWh”", "Write it as 28 p/kWh"), {}, GOOD),
    Refused("a wrong unit", prices(head="time,price [£/kWh]"), ("£/kWh", "“price [p/kWh]”"), {}, GOOD),
    Refused(
        "day or month",
        SLASHED,
        ("Row 2", "“04/11/2026 00:00”", 'prices_dates = "month first" in the tariff'),
        LONDON,
        None,
        LONDON | DAYS,
    ),
    Refused("two regions", REGIONS, ("Column 1 (“region”)", "“South”", "prices_of"), {}, None, {"of": "South"}),
    Refused("numbered periods", PERIODS, ("prices.csv", "in which zone", "prices_timezone"), {}, None, LONDON),
    Refused("another zone", CENTRAL, ("CET", "Europe/London", "prices_timezone"), LONDON, None, {"timezone": BERLIN}),
    Refused(
        "UTC or not",
        prices(head="time [UTC],price [p/kWh]", form="%Y-%m-%d %H:%M"),
        ("header says UTC", "prices_timezone"),
        LONDON,
        None,
        UTC,
    ),
    Refused(
        "two columns",
        WIDE,
        ("“price a [p/kWh]”", "“price b [p/kWh]”", "Call it “price”"),
        {},
        WIDE.replace("price a", "price"),
    ),
    Refused("two units", TWO_UNITS, ("the column “unit”", "“£/MWh”", "Convert"), {}, UNITS),
    Refused(
        "a unit that isn't the header's",
        UNITS.replace("price,", "price [£/MWh],"),
        ("header of the column “price [£/MWh]”", "£", "the column “unit” says p", "take it out"),
        {},
        UNITS,
    ),
    Refused(
        "one date the other way",
        ODD_DATE,
        ("row 40", "“11/13/2026 19:00”", "is not a time"),
        LONDON,
        ODD_DATE.replace("11/13/2026", "13/11/2026"),
    ),
    Refused("one of two", TWO_ROWS, ("row 3", "“yesterday”"), {}, TWO_ROWS.replace("yesterday", "2025-01-03T00:30Z")),
    Refused("one cell in pounds", changed(f"{NIGHT},22", f"{NIGHT},22 quick"), ("row 11", "22 quick"), {}, GOOD),
]
TARIFF_ROWS = [
    Refused("another currency", tariff("currency = 'EUR'"), ("EUR", "GBP", "currency"), {}, tariff("currency = 'GBP'")),
    Refused(
        "a year at one end",
        tariff(window="from = '2025-10-01'\nto = '03-31'"),
        ("window", "both dates with the year"),
        {},
        tariff(window="from = '2025-10-01'\nto = '2026-03-31'"),
    ),
    Refused(
        "one date without a year",
        tariff(window="from = '10-01'"),
        ("window", "to = “03-31”"),
        {},
        tariff(window="from = '10-01'\nto = '03-31'"),
    ),
    Refused(
        "an end before the start",
        tariff(window="from = '2025-10-01'\nto = '2025-03-31'"),
        ("window", "2025-03-31", "2025-10-01", "exchange"),
        {},
        tariff(window="from = '2025-03-31'\nto = '2025-10-01'"),
    ),
    Refused("no such key", tariff("price = '3 p/kWh'"), ("“price” is not a key", "Known: "), {}, FULL),
    Refused("a price a hundredfold", tariff().replace("12 p/kWh", "12"), ("window[1].rate", "“12", "p/kWh"), {}, FULL),
    Refused(
        "pounds for pence",
        tariff().replace("12 p/", "£12/"),
        ("window[1].rate", "£12/kWh", "did you mean 12 p"),
        {},
        FULL,
    ),
    Refused(
        "a price per day", tariff().replace("12 p/kWh", "12 p/day"), ("“12 p/day”", "Write it as 28 p/kWh"), {}, FULL
    ),
    Refused("no price", tariff().replace("rate = '12 p/kWh'", ""), ("window[1].rate", "is missing: write"), {}, FULL),
    Refused("no time", tariff().replace("07:30", "half past"), ("window[1].end", "“half past”", "“00:00”"), {}, FULL),
    Refused("no day", tariff(window="days = 'Caturday'"), ("“Caturday”", "weekdays"), {}, FULL),
    Refused("an empty list of days", tariff(window="days = []"), ("window[1].days", "write “all”"), {}, FULL),
    Refused("no date", tariff(window="from = '1 Oct'"), ("window[1].from", "“1 Oct”", "“10-01”"), {}, FULL),
    Refused("no name", tariff("name = ''"), ("name", "text in quotation marks"), {}, tariff("name = 'night'")),
    Refused(
        "yes",
        tariff("tax = '5 %'", "tax_included = 'yes'"),
        ("tax_included", "true or false", "'yes'"),
        {},
        tariff("tax = '5 %'", "tax_included = true"),
    ),
    Refused(
        "tax of five hundred per cent",
        tariff("tax = '500 %'", "tax_included = true"),
        ("tax: “500 %” can't be right", "between 0 and 100 %", "did you mean 5 % or 50 %?"),
        {},
        tariff("tax = '5 %'", "tax_included = true"),
    ),
    Refused(
        "tax of 2.5",
        tariff("tax = 2.5", "tax_included = true"),
        ("tax: 2.5 can't be right", "between 0 and 1", "did you mean 2.5 % (0.025) or 25 % (0.25)?"),
        {},
        tariff("tax = '2.5 %'", "tax_included = true"),
    ),
    Refused(
        "with or without tax",
        tariff("tax = '5 %'"),
        ("tax_included", "true or false"),
        {},
        tariff("tax = '5 %'", "tax_included = true"),
    ),
    Refused(
        "another rounding",
        tariff("rounding = 'penny'"),
        ("rounding", "“penny”", "none, hundredth"),
        {},
        tariff("rounding = 'hundredth'"),
    ),
    Refused(
        "no zone of the prices",
        tariff("prices_timezone = 'London'"),
        ("prices_timezone", "“London”", "Europe/London"),
        {},
        tariff("prices_timezone = 'Europe/London'"),
    ),
    Refused("a rate twice", tariff("rate = '3 p/kWh'"), ("rate: “rate” and “otherwise”", "give one"), {}, FULL),
    Refused(
        "a name of ours",
        FULL.replace("'night'", "'other hours'"),
        ("window[1].name", "“other hours”", "choose another"),
        {},
        FULL,
    ),
    Refused(
        "a name twice",
        FULL + SECOND.replace("'peak'", "'night'"),
        ("window[2].name", "called “night”", "another name"),
        {},
        FULL + SECOND,
    ),
    Refused(
        "an overlap",
        FULL + SECOND.replace("16:00", "07:00"),
        ("window[2]", "07:00", "begin where the other ends"),
        {},
        FULL + SECOND,
    ),
    Refused(
        "hours without a price",
        FULL.replace("otherwise = '30 p/kWh'", ""),
        ("otherwise", "from 00:00 to 00:30 every day", "“otherwise”"),
        {},
        FULL,
    ),
    Refused("no rate at all", "name = 'nothing'\n", ("otherwise", 'rate = "28 p/kWh"'), {}, "rate = '28 p/kWh'\n"),
    Refused("a window that is none", "otherwise = '30 p/kWh'\nwindow = ['night']\n", ("[[tariff.window]]",), {}, FULL),
]
TARIFF_FILE_ROWS = [
    Refused("no file", None, ("night.toml could not be read: no such file",), {}, FULL),
    Refused("no TOML", FULL.replace("'30 p/kWh'", "30 p/kWh"), ("night.toml", "line 1", 'otherwise = "30'), {}, FULL),
    Refused("no text", FULL.encode("utf-16"), ("night.toml", "could not be read", "UTF-8"), {}, FULL),
    Refused("no table", "tariff = 'night'\n", ("tariff", "begin it with [tariff]"), {}, "[tariff]\n" + OWN_TABLE),
    Refused("a file and a rate", BOTH, ("prices", "not both"), {}, BOTH.replace("otherwise = '30 p/kWh'\n", "")),
    Refused(
        "a price file that isn't there",
        BOTH.replace("prices.csv", "other.csv").replace("otherwise = '30 p/kWh'\n", ""),
        ("prices", "other.csv", "could not be read"),
        {},
        BOTH.replace("otherwise = '30 p/kWh'\n", ""),
    ),
]

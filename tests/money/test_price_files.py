"""Price files in the shapes that suppliers and markets give them: each is read as it was meant, or asked about."""

import numpy as np
import pandas as pd
import pytest

from pondheat.cli import main
from pondheat.core.units import CURRENCIES, Unreadable
from pondheat.meter.reading import meter_file
from pondheat.money import price_columns, price_file

STARTS = pd.date_range("2026-11-13", periods=96, freq="30min", tz="UTC")
ENDS = STARTS + pd.Timedelta("30min")
PENCE = np.round(18 + 9 * np.sin(np.arange(96) / 5) - 22 * (np.arange(96) % 7 == 0), 2)  # some below zero
ISO = "%Y-%m-%d %H:%M"


def written(head, *columns, sep=",", above="", below="") -> str:
    """A file of columns; times are given with their form as (times, form)."""
    cells = [one[0].strftime(one[1]) if isinstance(one, tuple) else one for one in columns]
    return above + "\n".join([head, *(sep.join(map(str, row)) for row in zip(*cells))]) + "\n" + below


def comma(values) -> list[str]:
    return [f"{one:.4f}".replace(".", ",") for one in values]


def read(tmp_path, text, currency="GBP", timezone="Europe/London", **options):
    (tmp_path / "p.csv").write_text(text, encoding="utf-8")
    return price_file.read(tmp_path / "p.csv", CURRENCIES[currency], timezone, **options)


POUNDS = [f"{'-' if one < 0 else ''}£{abs(one) / 100:.4f}" for one in PENCE]
SERIALS = [f"{one / pd.Timedelta('1D'):.6f}" for one in STARTS.tz_localize(None) - pd.Timestamp("1899-12-30")]
PERIODS = STARTS.hour * 2 + STARTS.minute // 30 + 1
GRID = [",".join([day, *map(str, PENCE[at : at + 48])]) for day, at in (("2026-11-13", 0), ("2026-11-14", 48))]
SHAPES = {
    "day first": written("Time,Price (p/kWh)", (STARTS, "%d/%m/%Y %H:%M"), PENCE),
    "words, am and pm": written("From,Rate (p/kWh)", (STARTS, "%d %b %Y %I:%M%p"), PENCE),
    "am without minutes": written("From,Rate (p/kWh)", (STARTS[::2], "%d %b %Y %I%p"), PENCE[::2]),
    "date and time apart": written("Date,Time,Price [p/kWh]", (STARTS, "%d/%m/%Y"), (STARTS, "%H:%M"), PENCE),
    "seconds since 1970": written("timestamp,price_p_per_kwh", [int(one.timestamp()) for one in STARTS], PENCE),
    "a spreadsheet's days": written("Date,Price (p/kWh)", SERIALS, PENCE),
    "numbered periods": written(
        "Settlement Date,Settlement Period,Price (£/MWh)", (STARTS, "%d-%b-%Y"), PERIODS, np.round(10 * PENCE, 1)
    ),
    "a column of units": written("start,price,unit", (STARTS, ISO), PENCE, ["p/kWh"] * 96),
    "money and energy apart": written(
        "start,price,currency,unit", (STARTS, ISO), np.round(10 * PENCE, 1), ["GBP"] * 96, ["MWh"] * 96
    ),
    "signs in the cells": written("Time,Price", (STARTS, ISO), POUNDS),
    "pence in the cells": written("Time,Price", (STARTS, ISO), [f"{one}p" for one in PENCE]),
    "lines above": written("Start time,Unit rate (p/kWh)", (STARTS, ISO), PENCE, above="Your rates\nRegion: C\n\n"),
    "a mean below": written("Time,Price (p/kWh)", (STARTS, ISO), PENCE, below="Average,17.2\n"),
    "newest first": written("valid_to,valid_from,price (p/kWh)", (ENDS[::-1], ISO), (STARTS[::-1], ISO), PENCE[::-1]),
    "when it was published": written(
        "published,valid_from,price (p/kWh)", (STARTS - pd.Timedelta("1D"), ISO), (STARTS, ISO), PENCE
    ),
    "a date of the whole file": written(
        "Issued,Delivery period,Price p/kWh", ["2026-11-12 12:00"] * 96, (STARTS, ISO), PENCE
    ),
    "other amounts": written(
        "Start,Volume (MWh),Carbon (g/kWh),Price (p/kWh)", (STARTS, ISO), [9] * 96, [120] * 96, PENCE
    ),
    "with and without tax": written(
        "value_exc_vat [p/kWh],value_inc_vat [p/kWh],valid_from", np.round(PENCE / 1.05, 3), PENCE, (STARTS, ISO)
    ),
    "import and export": written(
        "Time,Import price pence per kWh,Export price pence per kWh", (STARTS, ISO), PENCE, ["5.0"] * 96
    ),
    "hours as ends": written("Date,Hour,Price [p/kWh]", (STARTS[::2], "%Y-%m-%d"), STARTS[::2].hour + 1, PENCE[::2]),
    "a row a day": "Prices in p/kWh\nDate," + ",".join(f"{one:%H:%M}" for one in STARTS[:48]) + "\n" + "\n".join(GRID),
    "semicolons at the end": written("Time;Price (p/kWh);", (STARTS, ISO), comma(PENCE), [""] * 96, sep=";"),
    "a column in UTC": written("time,start_utc,price [p/kWh]", ["x"] * 96, (STARTS, ISO), PENCE),
}
EUROS = {
    "German": written(
        "Von;Bis;Preis (ct/kWh)", (STARTS, "%d.%m.%Y %H:%M"), (ENDS, "%d.%m.%Y %H:%M"), comma(PENCE), sep=";"
    ),
    "French": written(
        "Début;Fin;Prix TTC (€/kWh)", (STARTS, "%d/%m/%Y %H:%M"), (ENDS, "%d/%m/%Y %H:%M"), comma(PENCE / 100), sep=";"
    ),
    "Dutch": written(
        "Datum;Tijd;Prijs (€ per kWh)", (STARTS, "%d-%m-%Y"), (STARTS, "%H:%M"), comma(PENCE / 100), sep=";"
    ),
    "a market's": written(
        "Delivery start,Delivery end,Price EUR/MWh", (STARTS, ISO), (ENDS, ISO), np.round(10 * PENCE, 1)
    ),
    "from hour to hour": written(
        "Date;Hour;Price (EUR/MWh)",
        (STARTS[::2], "%d.%m.%Y"),
        [f"{one:02d}-{one + 1:02d}" for one in STARTS[::2].hour],
        comma(10 * PENCE[::2]),
        sep=";",
    ),
    "start and end in one cell": written(
        "MTU,Price [EUR/MWh]",
        [f"{one:%d.%m.%Y %H:%M} - {two:%d.%m.%Y %H:%M}" for one, two in zip(STARTS, ENDS)],
        np.round(10 * PENCE, 1),
    ),
}


@pytest.mark.parametrize("shape", [*SHAPES, *EUROS])
def test_usual_shapes(tmp_path, shape):
    text = SHAPES.get(shape) or EUROS[shape]
    zone = None if "UTC" in shape else "Europe/London"
    found = read(tmp_path, text, "GBP" if shape in SHAPES else "EUR", zone)
    every = 1 if found.step == 1800 else 2
    assert (found.starts == STARTS[::every].as_unit("s").asi8).all()
    assert found.prices == pytest.approx(PENCE[::every] / 100, abs=1e-9)


def test_the_choices_are_told(tmp_path):
    for shape, said in (
        ("with and without tax", "Prices with tax are read, the column “value_inc_vat [p/kWh]”"),
        ("hours as ends", "Times are the ends of the steps"),
        ("a mean below", "1 row of totals or heads left out: row 98"),
        ("numbered periods", "£/MWh"),
        ("day first", "the day first"),
    ):
        assert said in " ".join(read(tmp_path, SHAPES[shape]).notes), shape
    without = written("Time,Price exc VAT (p/kWh)", (STARTS, ISO), PENCE)
    assert "tax_included = false" in " ".join(read(tmp_path, without).notes)
    small = written("Time,Price (p/kWh)", (STARTS, ISO), PENCE / 100)
    assert "Check the unit" in " ".join(read(tmp_path, small).notes)


def test_the_command_prints_how_a_price_file_was_read(tmp_path, capsys):
    week = pd.date_range("2026-11-09", periods=336, freq="30min")
    (tmp_path / "p.csv").write_text(written("Time,Price (p/kWh)", (week, "%d/%m/%Y %H:%M"), np.arange(336) % 30))
    (tmp_path / "t.toml").write_text('prices = "p.csv"\nprices_timezone = "Europe/London"\n')
    assert main(["tariff", str(tmp_path / "t.toml"), "--timezone", "Europe/London"]) == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert "How the price file was read:" in printed and "the day first" in printed


def test_prices_that_hold_longer_than_the_shortest_step(tmp_path):
    days = [f"2026-11-{day}" for day in (13, 14)]
    rows = [f"{day} {a},{day} {b},{p}" for day in days for a, b, p in (("00:00", "05:30", 9), ("05:30", "24:00", 28))]
    found = read(tmp_path, "from,to,price (p/kWh)\n" + "\n".join(rows) + "\n")
    assert found.step == 1800 and len(found.prices) == 96
    assert found.prices[[0, 10, 11, 47, 48]] == pytest.approx([0.09, 0.09, 0.28, 0.28, 0.09])


def test_prices_of_whole_days_with_their_ends(tmp_path):
    rows = [f"2026-10-{day},2026-10-{day + 1},{day}" for day in range(20, 30)]
    found = read(tmp_path, "From,To,Price (p/kWh)\n" + "\n".join(rows) + "\n")
    assert found.step == 3600 and len(found.prices) == 241  # 25 October has 25 hours
    assert found.prices[[0, 23, 24]] == pytest.approx([0.20, 0.20, 0.21])


def test_hours_that_are_not_published_yet(tmp_path):
    text = SHAPES["day first"] + "15/11/2026 00:00,\n15/11/2026 00:30,n/a\n"
    found = read(tmp_path, text)
    assert len(found.prices) == 96 and "2 rows at the end have no price yet, left out." in " ".join(found.notes)


@pytest.mark.parametrize("form, early", [("%Y-%m-%d %H:%M:%S", "1s"), ("%Y-%m-%d %H:%M", "1min")])
def test_ends_a_second_or_a_minute_early(tmp_path, form, early):
    text = written("from,to,price [p/kWh]", (STARTS, form), (ENDS - pd.Timedelta(early), form), PENCE)
    assert read(tmp_path, text).prices == pytest.approx(PENCE / 100)


def test_the_first_hour_of_an_open_end(tmp_path):
    text = SHAPES["newest first"].replace(f"{ENDS[-1]:{ISO}}", "", 1)
    assert len(read(tmp_path, text).prices) == 96


def test_a_zone_in_the_header(tmp_path):
    text = written("time [UTC],price [p/kWh]", (STARTS, ISO), PENCE)
    assert read(tmp_path, text, timezone=None).starts[0] == STARTS[0].timestamp()
    with pytest.raises(Unreadable, match='header says UTC.*prices_timezone = "Europe/Berlin"'):
        read(tmp_path, text, timezone="Europe/Berlin")
    central = written("time (CET/CEST),price [p/kWh]", (STARTS, ISO), PENCE)
    with pytest.raises(Unreadable, match="row 2: .* carries no zone"):
        read(tmp_path, central, timezone=None)
    with pytest.raises(Unreadable, match="CEST, CET.*Europe/London.*show another time"):
        read(tmp_path, central, timezone="Europe/London")
    assert read(tmp_path, central, timezone="Europe/Berlin").starts[0] == STARTS[0].timestamp() - 3600


@pytest.mark.parametrize("currency", list(CURRENCIES))
def test_another_currency_is_refused(tmp_path, currency):
    other = {"GBP": "EUR", "EUR": "USD", "USD": "GBP"}[currency]
    with pytest.raises(Unreadable, match="another currency"):
        read(tmp_path, written("start,price,unit", (STARTS, ISO), PENCE, [f"{other}/MWh"] * 96), currency)


def test_a_price_of_one_date_is_not_read_by_two_clocks(tmp_path):
    text = written("Time,Price (p/kWh)", (STARTS, "%Y-%m-%dT%H:%MZ"), PENCE).replace("T05:00Z", " 05:00")
    assert (read(tmp_path, text).starts == STARTS.as_unit("s").asi8).all()
    with pytest.raises(Unreadable, match="carries no zone"):
        read(tmp_path, text, timezone=None)


def test_day_and_month_in_the_answer_of_the_tariff(tmp_path):
    starts = pd.date_range("2026-11-04", periods=96, freq="30min")
    text = written("Time,Price (p/kWh)", (starts, "%d/%m/%Y %H:%M"), PENCE)
    for order, first in (("day first", "2026-11-04"), ("month first", None)):
        if first is None:
            with pytest.raises(Unreadable, match="there is no price for"):
                read(tmp_path, text, dates=order)
        else:
            assert read(tmp_path, text, dates=order).starts[0] == pd.Timestamp(first, tz="Europe/London").timestamp()


def test_one_of_several_regions(tmp_path):
    rows = [f"{place},{one:{ISO}},{price + more}" for place, more in (("North", 0), ("South", 1))
            for one, price in zip(STARTS, PENCE)]  # fmt: skip
    text = "region,valid_from,price (p/kWh)\n" + "\n".join(rows) + "\n"
    with pytest.raises(Unreadable, match=r'several prices for the same times: “North”, “South”.*prices_of = "…"'):
        read(tmp_path, text)
    assert read(tmp_path, text, of="south").prices == pytest.approx((PENCE + 1) / 100)


def test_a_price_file_alone_is_shown(tmp_path, capsys):
    zone = ["--timezone", "Europe/London"]
    (tmp_path / "p.csv").write_text(EUROS["German"], encoding="utf-8")
    for command in ("read", "tariff"):
        assert main([command, str(tmp_path / "p.csv"), *zone]) == 0
        printed = " ".join(capsys.readouterr().out.split())
        assert "in EUR. 2 days from 13 November 2026" in printed and "c/kWh" in printed
    (tmp_path / "p.csv").write_text(SHAPES["signs in the cells"], encoding="utf-8")
    assert main(["read", str(tmp_path / "p.csv"), *zone]) == 0
    assert "in GBP" in capsys.readouterr().out
    (tmp_path / "p.csv").write_text(written("time,use [kWh],price [p/kWh]", (STARTS, ISO), PENCE % 3, PENCE))
    assert main(["read", str(tmp_path / "p.csv"), *zone]) == 0
    assert "Not used: price" in " ".join(capsys.readouterr().out.split())


def test_pounds_are_not_taken_for_energy(tmp_path):
    with pytest.raises(Unreadable, match="holds prices"):
        meter_file.read(written("time,price [£/kWh]", (STARTS, ISO), PENCE / 100).encode(), "Europe/London")


def test_a_tariff_is_never_taken_for_a_price_file():
    tariff = "[tariff]\nname = 'a'\notherwise = '30 p/kWh' # price, p/kWh, and more\n"
    for text in (tariff, tariff.partition("\n")[2], "# price, p/kWh\nrate = 28 p/kWh\n"):
        assert not price_columns.is_price_table(text)
    assert price_columns.is_price_table(SHAPES["lines above"])

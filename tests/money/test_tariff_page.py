"""workbook/tariffs.md explains every key, and its examples are read as it says; price files with the usual heads."""

import json
import re

import numpy as np
import pandas as pd
import pytest

from pondheat.cli import main
from pondheat.core import toml_errors
from pondheat.core.places import WORKBOOK
from pondheat.core.units import GBP
from pondheat.money import price_columns, price_file, tariffs, windows
from pondheat.sheet.keys import KEYS

PAGE = (WORKBOOK / "tariffs.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```toml\n(.+?)```", PAGE, re.S)
PRICES = re.search(r"```\n(valid_from.+?)```", PAGE, re.S)[1]


def test_the_page_is_named_where_a_reader_wants_it(capsys):
    page = json.loads((WORKBOOK / "12_tariffs.ipynb").read_text(encoding="utf-8"))
    assert any("(tariffs.md)" in "".join(cell["source"]) for cell in page["cells"])
    with pytest.raises(SystemExit):
        main(["tariff", "--help"])
    assert "workbook/tariffs.md" in capsys.readouterr().out


def test_every_key_is_explained_once():
    tables = PAGE.split("## Three windows")[0].split("| `[[tariff.window]]` | example")
    for table, keys in zip(tables, ((*tariffs.KEYS, *KEYS["tariff"]), windows.KEYS), strict=True):
        assert sorted(re.findall(r"^\| `(\w+)` \|", table, re.M)) == sorted(keys)


def test_every_column_of_a_price_file_is_named():
    rows = re.findall(r"^\| (`.+?`) \| (`.+?`) \| .+ \|$", PAGE.split("| column | or called |")[1], re.M)
    named = [{one.replace("_", " ") for one in re.findall(r"`(\w+)`", " ".join(row))} for row in rows]
    assert named == [price_columns.TIMES, price_columns.ENDS, price_columns.PRICES]


@pytest.mark.parametrize("number", range(len(EXAMPLES)))
def test_every_example_is_read(number, tmp_path):
    (tmp_path / "prices.csv").write_text(PRICES, encoding="utf-8")
    made, faults = tariffs.from_table(toml_errors.loads(EXAMPLES[number])["tariff"], GBP, tmp_path)
    assert not faults and made.name.endswith("(invented)")


def rates_of(example: str, times: list[str]) -> list[float]:
    made, _ = tariffs.from_table(toml_errors.loads(example)["tariff"], GBP)
    return np.round(100 * made.rates(pd.DatetimeIndex(times).tz_localize("Europe/London"))[0], 6).tolist()


def test_the_examples_mean_what_the_page_says():
    three, weekend = EXAMPLES[:2]
    assert rates_of(three, ["2026-01-19 00:00", "2026-01-19 12:00", "2026-01-19 16:00", "2026-01-19 05:00"]) == [
        12.0,
        27.0,
        41.0,
        19.5,
    ]
    saturday, monday, summer = "2026-01-17 18:00", "2026-01-19 18:00", "2026-07-20 18:00"
    assert rates_of(weekend, [saturday, monday, summer]) == [22.0, 38.0, 30.0]


def prices_of(tmp_path, text, timezone=None):
    (tmp_path / "p.csv").write_text(text, encoding="utf-8")
    return price_file.read(tmp_path / "p.csv", GBP, timezone)


@pytest.mark.parametrize("zone", ["Europe/London", "UTC", None])
@pytest.mark.parametrize("head", ["valid_from,valid_to,value_inc_vat [p/kWh]", "from;to;unit rate (p/kWh)"])
@pytest.mark.parametrize("backwards", [False, True])
def test_usual_heads_across_the_clock_change(tmp_path, zone, head, backwards):
    index = pd.date_range("2025-10-25 12:00", periods=60, freq="30min", tz="UTC")
    ends, prices = index + pd.Timedelta("30min"), np.round(20 * np.sin(np.arange(60) / 5), 2)
    form, own = ("%Y-%m-%dT%H:%MZ", "UTC") if zone is None else ("%Y-%m-%d %H:%M", zone)
    mark = ";" if ";" in head else ","
    lines = [
        mark.join([one.tz_convert(own).strftime(form), two.tz_convert(own).strftime(form), f"{price}"])
        for one, two, price in zip(index, ends, prices)
    ]
    found = prices_of(tmp_path, "\n".join([head, *(lines[::-1] if backwards else lines)]) + "\n", zone)
    assert (found.starts == index.as_unit("s").asi8).all() and np.allclose(found.prices, prices / 100)


def test_what_is_refused_and_what_cures_it(tmp_path):
    local = "time,price\n2025-10-01 00:00,0.1\n2025-10-01 00:30,0.2\n"
    with pytest.raises(ValueError, match='row 2: .* carries no zone.*prices_timezone = "Europe/London"'):
        prices_of(tmp_path, local)
    assert prices_of(tmp_path, local, "Europe/London").starts[0] == pd.Timestamp("2025-09-30 23:00Z").timestamp()
    spring = "time,price\n2025-03-30 00:30,0.1\n2025-03-30 01:00,0.2\n"
    with pytest.raises(ValueError, match='row 3: .*does not exist in Europe/London.*prices_timezone = "UTC"'):
        prices_of(tmp_path, spring, "Europe/London")
    assert len(prices_of(tmp_path, spring, "UTC").prices) == 2
    gap = "from,to,price\n2025-10-01T00:00Z,2025-10-01T00:30Z,0.1\n2025-10-01T01:00Z,2025-10-01T01:30Z,0.2\n"
    with pytest.raises(ValueError, match="row 2: this price holds until 2025-10-01 00:30 UTC, and the next one"):
        prices_of(tmp_path, gap)
    assert len(prices_of(tmp_path, gap + "2025-10-01T00:30Z,2025-10-01T01:00Z,0.3\n").prices) == 3
    with pytest.raises(ValueError, match="no column is called a price.*spot price"):
        prices_of(tmp_path, "when,heat\n2025-10-01T00:00Z,0.1\n")

"""How much winters differ: in published monthly means, and in the years fetched for a town."""

import datetime as dt

import make_year_spread
import numpy as np
import pandas as pd
import pytest

from pondheat.analysis import assessment, uncertainty
from pondheat.analysis.samples import YEAR_SPREAD
from pondheat.analysis.uncertain_inputs import SITE_WARMTH
from pondheat.core.places import PONDS
from pondheat.season.weather import real_winters, stored, towns
from pondheat.sheet.pond_sheet import from_text, with_values

LEEDS = towns.find("Leeds, GB")
START, END = dt.date(2025, 9, 1), dt.date(2026, 5, 31)
# Means of September to May, 1987/88 to 2024/25, in Germany: worked out by tests/make_year_spread.py from the monthly
# means of the Deutscher Wetterdienst, CC BY 4.0 [degC].
GERMANY = """6.85 7.03 7.39 5.54 6.51 6.36 5.98 6.69 4.60 5.38 6.91 6.23 7.38 6.98 6.82 5.96 6.11 6.27 5.66 9.03
6.68 6.22 5.54 6.00 6.93 5.41 7.64 7.25 7.27 6.77 7.21 7.42 7.80 6.48 7.44 7.50 8.83 7.52"""


def test_the_published_spread_is_the_one_used():
    assert np.std([float(mean) for mean in GERMANY.split()], ddof=1) == pytest.approx(YEAR_SPREAD, abs=0.05)


def test_seasons_are_cut_from_monthly_means(tmp_path):
    """Central England, as its file prints it: 8.6 to 11.3 °C from September 2006 to May 2007 (HadCET)."""
    rows = {
        2006: "4.3 3.7 4.9 8.6 12.3 15.9 19.7 16.1 16.8 13.0 8.1 6.5 10.87",
        2007: "7.0 5.8 7.2 11.2 11.9 15.1 15.2 15.4 13.8 10.9 7.3 4.9 10.50",
        2008: "6.6 5.4 6.1 7.9 13.4 13.9 16.2 16.2 13.5 -99.9 -99.9 -99.9 -99.99",
    }
    path = tmp_path / "cet.dat"
    path.write_text("".join(f"  {year}  {values}\n" for year, values in rows.items()), encoding="utf-8")
    found = make_year_spread.seasons(make_year_spread.of_england(path))
    by_hand = (
        30 * 16.8 + 31 * 13.0 + 30 * 8.1 + 31 * 6.5 + 31 * 7.0 + 28 * 5.8 + 31 * 7.2 + 30 * 11.2 + 31 * 11.9
    ) / 273
    assert list(found.index) == [2006, 2007] and found[2006] == pytest.approx(by_hand)


@pytest.mark.parametrize(
    "today, first, last", [((2026, 11, 29), "2006-07-01", "2026-06-30"), ((2026, 3, 1), "2005-07-01", "2025-06-30")]
)
def test_the_last_twenty_whole_years(today, first, last):
    asked = real_winters.requests(LEEDS, dt.date(*today))
    assert (len(asked), str(asked[0].first), str(asked[-1].last)) == (20, first, last)
    for one, next_one in zip(asked, asked[1:]):
        assert one.last + dt.timedelta(days=1) == next_one.first
    south = real_winters.requests(towns.find("Sydney, AU"), dt.date(*today))
    assert str(south[-1].first).endswith("-01-01") and str(south[-1].last) == f"{dt.date(*today).year - 1}-12-31"


def write_winters(folder, temps: list[float]) -> None:
    """Stored hours of as many years as `temps` are given [degC], each of one temperature throughout."""
    folder.mkdir(parents=True)
    for back, temp in enumerate(temps):
        first = dt.date(2025 - back, 7, 1)
        last = dt.date(2026 - back, 6, 30)
        hours = pd.date_range(first, last + dt.timedelta(days=1), freq="h", inclusive="left", tz="UTC")
        stamps = hours.strftime("%Y-%m-%d %H:%M+00:00")
        north, east = LEEDS.rounded
        (folder / f"{north:.1f}_{east:.1f}_{first}_{last}.csv").write_text(
            "# place: invented\ntime,air_temp [°C]\n" + "".join(f"{stamp},{temp}\n" for stamp in stamps)
        )


def test_the_spread_of_fetched_years(tmp_path, monkeypatch):
    monkeypatch.setenv("PONDHEAT_WEATHER", str(tmp_path / "none"))
    temps = [4.0, 6.0, 5.0, 5.5, 4.5, 6.5, 3.5, 5.0, 7.0, 3.0]
    write_winters(tmp_path / stored.FOLDER, temps)
    places = stored.folders(tmp_path)
    assert sorted(real_winters.season_temps(LEEDS, places, START, END)) == pytest.approx(sorted(temps))
    spread = real_winters.year_spread(LEEDS, places, START, END)
    assert spread == pytest.approx(np.std(temps, ddof=1))
    assert real_winters.year_spread(towns.find("York, GB"), places, START, END) is None
    next(path for path in (tmp_path / stored.FOLDER).iterdir()).unlink()
    assert real_winters.year_spread(LEEDS, places, START, END) is None  # nine are too few

    text = (PONDS / "garden_pond.toml").read_text(encoding="utf-8")
    week = {"season": {"start": "2025-11-03", "end": "2025-11-09"}, "pond.start_temp": "12 °C"}
    sheet = from_text(with_values(text, {"place.town": "Leeds, GB", "weather.source": "town"} | week), tmp_path)
    conditions = assessment.boundary_conditions(sheet, assessment.weather_of(sheet))

    def warmth() -> float:
        return uncertainty.season_samples(sheet, conditions, 400, "typical year")["year_warmth"].std()

    assert warmth() == pytest.approx(np.hypot(YEAR_SPREAD, SITE_WARMTH), rel=0.05)
    write_winters(tmp_path / "again", temps)
    monkeypatch.setenv("PONDHEAT_WEATHER", str(tmp_path / "again"))
    assert warmth() == pytest.approx(np.hypot(spread, SITE_WARMTH), rel=0.05) and spread > 1.2
    notes = " ".join(assessment.assess(sheet, scenarios=4).notes)
    assert f"from how the fetched years differed: ± [{spread:.1f} K]" in notes

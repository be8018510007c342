"""Write the monthly mean temperatures of the built-in places, for `season.weather.town_normals`.

    python tests/make_monthly_temps.py

Run it after a place was added to `season.weather.weather.BUILT_IN`; `tests/season/weather/test_weather_normals.py`
compares the file with two of the records.
"""

from __future__ import annotations

import io

import pandas as pd

from pondheat.season.weather import town_normals, weather

HEAD = "# monthly mean air temperature [°C] of the typical years that installed packages hold; made, not typed\n"


def monthly_temps() -> str:
    """The file's text."""
    means = {
        place: town_normals.monthly_means(town_normals.read_place(place).hours["air_temp"]).round(2)
        for place in sorted(weather.BUILT_IN)
    }
    table = pd.DataFrame.from_dict(means, orient="index", columns=range(1, 13))
    text = io.StringIO()
    table.to_csv(text, index_label="place", lineterminator="\n")
    return HEAD + text.getvalue()


if __name__ == "__main__":
    town_normals.MONTHLY_TEMPS.write_text(monthly_temps(), encoding="utf-8")

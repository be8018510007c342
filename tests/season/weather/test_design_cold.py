"""The cold that a heater is sized for, and what a year without its own cold spells proves."""

from dataclasses import replace

import numpy as np

from pondheat.season.weather import design_cold, weather


def test_35_hours_of_a_year_are_colder():
    record = weather.read("potsdam", timezone="Europe/Berlin", year=2025)
    cold = design_cold.design_temp(record)
    assert np.sum(record.hours["air_temp"] < cold) in (34, 35, 36)
    assert design_cold.design_temp(replace(record, hours=record.hours.iloc[:5000])) is None


def test_a_year_made_from_normals_proves_no_heater():
    made = weather.read("sollerwick", timezone="Europe/London", year=2025)
    real = weather.read("potsdam", timezone="Europe/Berlin", year=2025)
    said = design_cold.heater_caution(made)
    coldest, design = made.hours["air_temp"].min(), design_cold.design_temp(made)
    assert "proves nothing" in said and "at random" in said
    assert f"coldest hour is [−{-coldest:.1f} °C]" in said and f"below [−{-design:.1f} °C]" in said
    real_caution = design_cold.heater_caution(real)
    assert "proves nothing" not in real_caution and real_caution.startswith(
        "There may be colder years. In this one, the"
    )

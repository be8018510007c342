"""Sky formulae against records: measured water, measured long wave, and the long wave of test reference years.

The shipped table (`TABLE_FILE`) is made by `tests/make_sky_table.py`, which needs records that are not shipped for some
of its rows; `water_rows` and `reference_year_rows` need nothing else and a test works them out again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from pondheat.analysis.measured_water import MeasuredWater, computed_water, read_lake, water_error
from pondheat.core import places
from pondheat.heat.evaporation import DEFAULT_EVAPORATION, EVAPORATION
from pondheat.heat.moist_air import outdoor_air
from pondheat.heat.sky import CLEAR_SKY, CLOUD_RULES, DEFAULT_SKY, SKY, SkyFormula, black_body, sky_emissivity
from pondheat.season import sun
from pondheat.season.simulate import air_of
from pondheat.season.weather import weather as weathers
from pondheat.season.weather.record import Record, dimming_from_solar

TABLE_FILE = places.MEASURED / "sky_comparison.csv"
WATER, LONG_WAVE, YEARS = "measured water", "measured long wave", "computed long wave"
OBSERVED, BY_SUN = "observed", "from the sun"
STATIONS = tuple(name for name, (package, _) in weathers.BUILT_IN.items() if package == "demandlib")
WINTER = (10, 11, 12, 1, 2, 3, 4)  # October to April
CLASSES = ("clear", "half", "overcast")
# A sky counts as clear up to, and as overcast from: cloud cover in eighths and share of the sun kept off (judgement).
OBSERVED_LIMITS, SUN_LIMITS = (2 / 8, 6.5 / 8), (0.05, 0.35)
_NAMES = ("record", "kind", "cloud", "clear_sky", "cloud_rule", "evaporation", "default", "hours")
_WINTER_CELLS = ("winter_clear", "winter_half", "winter_overcast", "winter", "winter_lowest", "winter_highest")
COLUMNS = (*_NAMES, *_WINTER_CELLS, "summer", "day", "night", "all", "rmse")


@dataclass(frozen=True, eq=False)
class SkyRecord:
    """Hours with the sky's long wave, and everything a formula needs to predict it.

    name: of the place; long_wave: [W/m²]; air_temp: [degC]; vapour in Pa; sun_dimming, cloud_cover [–], the latter None
    where nobody observed it; clear_sun: [W/m²] of a clear sky; month: 1 to 12.
    """

    name: str
    long_wave: np.ndarray
    air_temp: np.ndarray
    vapour: np.ndarray
    sun_dimming: np.ndarray
    cloud_cover: np.ndarray | None
    clear_sun: np.ndarray
    month: np.ndarray

    @classmethod
    def of(cls, record: Record, cloud_observed: bool) -> SkyRecord:
        """From a complete weather record that has the sky's long wave and a place."""
        hours, times = record.hours, record.true_times()
        assert record.latitude is not None and record.longitude is not None
        clear = sun.clear_sky_irradiance(times, record.latitude, record.longitude, record.altitude or 0.0)
        dimming = dimming_from_solar(hours["solar"].to_numpy(float), clear)
        assert dimming is not None
        air_temp = hours["air_temp"].to_numpy(float)
        vapour = outdoor_air(air_temp, hours["rel_humidity"].to_numpy(float), hours["pressure"].to_numpy(float))[0]
        return cls(
            record.place,
            hours["sky_long_wave"].to_numpy(float),
            air_temp,
            vapour,
            dimming,
            hours["cloud_cover"].to_numpy(float) if cloud_observed else None,
            clear,
            pd.DatetimeIndex(hours.index).month.to_numpy(),
        )

    def errors(self, formula: SkyFormula, cloud: str) -> np.ndarray:
        """A formula's long wave less the record's [W/m²], for cloud that was observed or is estimated from the sun."""
        dimming = self.sun_dimming if cloud == BY_SUN else None
        cover = np.zeros(len(self.air_temp)) if self.cloud_cover is None else self.cloud_cover
        emissivity = sky_emissivity(formula, self.air_temp, self.vapour, cover, dimming)
        return emissivity * black_body(self.air_temp) - self.long_wave

    def sky_class(self) -> np.ndarray:
        """Number of each hour's class in CLASSES, by cloud cover where it was observed, otherwise by the sun."""
        if self.cloud_cover is not None:
            return np.digitize(self.cloud_cover, [OBSERVED_LIMITS[0] + 1e-9, OBSERVED_LIMITS[1]])
        return np.digitize(self.sun_dimming, SUN_LIMITS)


def combinations() -> Iterator[SkyFormula]:
    """Every clear sky with every cloud rule."""
    for clear in CLEAR_SKY.values():
        for cloud in CLOUD_RULES.values():
            yield SkyFormula(f"{clear.name}, {cloud.name}", clear, clear, cloud)


def is_default(formula: SkyFormula, cloud: str) -> bool:
    """Whether the default sky uses this clear sky and cloud rule for this kind of cloud."""
    ours = SKY[DEFAULT_SKY]
    clear = ours.clear_by_sun if cloud == BY_SUN else ours.clear
    return (formula.clear, formula.cloud) == (clear, ours.cloud)


def _row(name: str, kind: str, cloud: str, formula: SkyFormula, evaporation: str, hours: int, **cells) -> dict:
    ours = is_default(formula, cloud) and evaporation in ("", DEFAULT_EVAPORATION)
    named = (name, kind, cloud, formula.clear.name, formula.cloud.name, evaporation, "yes" if ours else "no", hours)
    return dict(zip(COLUMNS, named)) | cells


def mean_errors(record: SkyRecord, formula: SkyFormula, cloud: str) -> dict[str, float]:
    """Mean errors [W/m²] of one record by class, season, day and night, and the root mean square error."""
    error = record.errors(formula, cloud)
    winter, day, sky = np.isin(record.month, WINTER), record.clear_sun > 0, record.sky_class()

    def mean(chosen) -> float:
        kept = error[chosen & np.isfinite(error)]
        return float(kept.mean()) if len(kept) else float("nan")

    cells = {f"winter_{name}": mean(winter & (sky == number)) for number, name in enumerate(CLASSES)}
    cells |= {"winter": mean(winter), "summer": mean(~winter), "day": mean(day), "night": mean(~day)}
    cells["all"] = mean(np.full(len(error), True))
    return cells | {"rmse": float(np.sqrt(np.nanmean(error**2)))}


def long_wave_rows(name: str, kind: str, records: list[SkyRecord]) -> list[dict]:
    """Rows of every formula against one or many records [W/m²]: means over the records, and the winter's extremes."""
    rows = []
    observed = all(record.cloud_cover is not None for record in records)
    hours = int(sum(np.isfinite(record.long_wave).sum() for record in records))
    for cloud in (OBSERVED, BY_SUN) if observed else (BY_SUN,):
        for formula in combinations():
            found = pd.DataFrame([mean_errors(record, formula, cloud) for record in records])
            cells = {str(key): round(float(value), 1) for key, value in found.mean().items()}
            cells["winter_lowest"] = round(float(found["winter"].min()), 1)
            cells["winter_highest"] = round(float(found["winter"].max()), 1)
            rows.append(_row(name, kind, cloud, formula, "", hours, **cells))
    return rows


def reference_year_rows(stations: tuple[str, ...] = STATIONS) -> list[dict]:
    """Rows against the German test reference years, whose long wave is probably computed: only a cross-check."""
    records = [SkyRecord.of(weathers.built_in_record(name), cloud_observed=True) for name in stations]
    return long_wave_rows(f"{len(stations)} German test reference years", YEARS, records)


def water_rows(lake: MeasuredWater | None = None) -> list[dict]:
    """Rows against the measured lake [K]: every sky with the default evaporation, every evaporation with that sky."""
    lake = lake or read_lake()
    hours = lake.weather.hours
    air = air_of(hours, lake.weather.wind_height)
    vapour = outdoor_air(air.air_temp, air.rel_humidity, air.pressure)[0]
    runs = [(formula, DEFAULT_EVAPORATION) for formula in combinations()]
    ours = next(formula for formula, _ in runs if is_default(formula, BY_SUN))
    runs += [(ours, name) for name in EVAPORATION if name != DEFAULT_EVAPORATION]
    rows = []
    for formula, evaporation in runs:
        emissivity = sky_emissivity(formula, air.air_temp, vapour, air.cloud_cover, air.sun_dimming)
        long_wave = np.asarray(emissivity) * black_body(np.asarray(air.air_temp))
        water = computed_water(lake, sky_long_wave=long_wave, evaporation=evaporation)
        error = water_error(water, lake.water_temp)
        cells = {"all": round(error.bias, 2), "rmse": round(error.rmse, 2)}
        rows.append(_row("shallow lake 2018", WATER, BY_SUN, formula, evaporation, error.hours, **cells))
    return rows


def table(rows: list[dict]) -> pd.DataFrame:
    """Rows as a table of COLUMNS."""
    return pd.DataFrame(rows, columns=list(COLUMNS))


def read_table(path: Path = TABLE_FILE) -> pd.DataFrame:
    """The shipped table of the comparison."""
    return pd.read_csv(path, keep_default_na=False, na_values={name: "" for name in COLUMNS[len(_NAMES) :]})

"""Trial comparisons: a synthetic log of a planned order of nights, compared as a keeper would compare it."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from pondheat.heat.balance import Air, Pond
from pondheat.meter.reading.energy_use import night_of
from pondheat.meter.savings import alignment, period_comparison, synthetic_logs
from pondheat.meter.savings.verdict import Comparison
from pondheat.season.heaters import Heater

_NOON = 12


@dataclass(frozen=True, eq=False)
class Site:
    """The pond for which a log is planned.

    pond, as its sheet describes it; index (starts of hours) and air, its weather; schedule [–] of the cover, one an
    hour; set_point [degC]; heater; pump_heat [W] from another meter; base_load [W] on this one; thermostat_band [K];
    noise [–] of each day; counter_step [kWh]; thermometer_step [K].
    """

    pond: Pond
    index: pd.DatetimeIndex
    air: Air
    schedule: np.ndarray
    set_point: float
    heater: Heater
    pump_heat: float = 0.0
    base_load: float = 0.0
    thermostat_band: float = 0.3
    noise: float = 0.05
    counter_step: float = 0.1
    thermometer_step: float = 0.1

    @property
    def heating(self) -> dict[str, Any]:
        """Set point, heater and pump heat, by the names that `synthetic_logs` gives them."""
        return {"set_point": self.set_point, "heater": self.heater, "pump_heat": self.pump_heat}

    def part(self, first: int, last: int) -> Site:
        """The same pond for some of its hours."""
        span = slice(first, last)
        return replace(self, index=self.index[span], air=self.air.part(span), schedule=np.asarray(self.schedule)[span])


@dataclass(frozen=True, eq=False)
class Trial:
    """The comparison of a synthetic log, and the true saving of its covered nights [–]."""

    comparison: Comparison
    true_saving: float


def trial(
    site: Site, order, first_night: int, seed: int, saving_fraction: float | None, perturbed: bool = True, **handling
) -> Trial:
    """Log the site through the nights of `order` and compare them.

    order: for each night "open", "covered" or "" (not counted); first_night: its number in the site's weather; seed: of
    the log and its errors; saving_fraction: [–] true saving of the cover over the log, None for no cover at all;
    perturbed: the real pond differs from the sheet and the real weather from the record; handling: options of
    `period_comparison.compare`. Raises OutOfRange.
    """
    order = np.asarray(order, dtype=object)
    start = (first_night - 2) * 24 + _NOON - site.index[0].hour
    site_part = site.part(max(start, 0), start + (len(order) + 2) * 24 + 2)
    date = night_of(site_part.index)
    night = (date - date[0]).days.to_numpy() - 2
    counted = (night >= 0) & (night < len(order))
    covered = np.append(np.asarray(order == "covered"), False)[np.where(counted, night, -1)]
    pond = synthetic_logs.perturbed_pond(site_part.pond, seed) if perturbed else site_part.pond
    if saving_fraction is None:
        pond = replace(pond, cover=None)
    else:
        # In very cold weather the full cover saves a little less; the trial's true saving shows it.
        with suppress(synthetic_logs.CoverTooSmall):
            pond = synthetic_logs.pond_with_saving(
                pond,
                site_part.index,
                site_part.air,
                site_part.schedule,
                saving_fraction,
                chosen=counted,
                **site_part.heating,
            )
    made = synthetic_logs.synthetic_log(
        pond,
        site_part.index,
        site_part.air,
        site_part.schedule * covered,
        schedule=site_part.schedule,
        base_load=site_part.base_load,
        thermostat_band=site_part.thermostat_band,
        noise=site_part.noise,
        counter_step=site_part.counter_step,
        thermometer_step=site_part.thermometer_step,
        seed=seed,
        **site_part.heating,
    )
    air = synthetic_logs.perturbed_weather(site_part.air, seed + 1) if perturbed else site_part.air
    aligned = alignment.align(
        made.use,
        site.pond,
        site_part.index,
        air,
        set_point=site_part.set_point,
        base_load=site_part.base_load,
        pump_heat=site_part.pump_heat,
    )
    label_of = np.append(order, "")[np.where(counted, night, -1)]
    dates = {label: [d.date() for d in pd.unique(date[label_of == label])] for label in ("open", "covered")}
    comparison = period_comparison.compare(aligned, covered=dates["covered"], open_nights=dates["open"], **handling)
    return Trial(comparison, made.saving(covered & counted))


def design_performance(trials: list[Trial]) -> dict[str, float]:
    """Bias, error and half-width of the first method's saving [–] over trials, and how often it was right [–]."""
    results = [trial.comparison.outcomes[0] for trial in trials]
    error = np.array([result.saving - trial.true_saving for result, trial in zip(results, trials)])
    return {
        "bias": error.mean(),
        "rms_error": np.sqrt((error**2).mean()),
        "half_width": np.mean([(result.high - result.low) / 2 for result in results]),
        "shown": np.mean([trial.comparison.shown for trial in trials]),
        "held": np.mean([result.low <= trial.true_saving <= result.high for result, trial in zip(results, trials)]),
        "logs": float(len(trials)),
    }

"""Samples of a pond's uncertain inputs: Latin hypercube samples of judged ranges, or draws from a fitted meter."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

import numpy as np

from pondheat.analysis.uncertain_inputs import (
    COVER_ERROR,
    FORMULAS,
    GAS_EFFICIENCY,
    GAS_EFFICIENCY_KNOWN,
    LEARNED,
    NEAR_SURFACE,
    PRICE_SPREAD,
    ROOM_SPREAD,
    SITE_WARMTH,
    SKY_ERROR,
    SKY_FORMULAS,
    SPREADS,
    SURFACE_ERROR,
)
from pondheat.heat.balance import Pond
from pondheat.meter.fitting.learned_season import RECORD_ERROR, YEAR_LOSSES, YEAR_SPREAD, YEAR_SUN
from pondheat.season.heaters import FIELD_FACTOR, FIELD_HIGH, FIELD_LOW, Heater
from pondheat.sheet.construction import CONSTRUCTIONS

if TYPE_CHECKING:
    from pondheat.meter.fitting.pond_fit import Fitted

SEED = 1
_JUDGED = ("evaporation", "wind_shelter", "sky_view", "wall_factor", "u_value", "gap_air_flow", "year_warmth", "price")
# Drawn separately, so that the other draws stay the same.
_JUDGED_TOO = ("construction", "sun_factor", "stream_factor", "cover_light", "surface_factor", "cover_factor", "site")
_AROUND_THE_FIT = ("station", "year_warmth", "price")  # what a fitted meter says nothing about
_OTHER_YEAR = ("year_losses", "year_sun")  # drawn separately too; a judged range is so wide that they don't show
_NORMAL = {
    *_OTHER_YEAR,
    "station",
    "year_warmth",
    "price",
    "sky_error",
    "surface_factor",
    "cover_factor",
    "site",
    "wind",
}


def latin_hypercube(names: tuple[str, ...], count: int, seed: int) -> dict[str, np.ndarray]:
    """Latin hypercube sample: for each name one draw per quantile bin of `count` bins.

    Uniform on 0–1, or standard normal for names in `_NORMAL`. The same names, count and seed give the same draws
    every time. Source: McKay, Beckman and Conover 1979; draw for draw that of `scipy.stats.qmc.LatinHypercube`, which
    takes a second to load.
    """
    from scipy.special import ndtri  # here: it takes a seventh of a page's start, and few pages draw samples

    (rng,) = np.random.default_rng(seed).spawn(1)  # as SciPy does
    within = rng.uniform(size=(count, len(names))).T
    uniform = [(rng.permutation(np.arange(1, count + 1)) - place) / count for place in within]
    return {name: ndtri(column) if name in _NORMAL else column for name, column in zip(names, uniform)}


def samples_of(
    pond: Pond,
    count: int,
    unknown: Collection[str] = (),
    seed: int = SEED,
    measured_year: bool = False,
    own_long_wave: bool = False,
    year_spread: float = YEAR_SPREAD,
    wind_uncertainty: float = 0.0,
) -> dict[str, np.ndarray]:
    """Samples of the judged uncertain inputs of a pond and its coming season, by name.

    count: number of scenarios; unknown: keys of the sheet that are guesses or missing (`Sheet.unknown`), for which the
    spreads are wider; seed: the default gives every pond the same draws, so that two of them can be compared scenario
    by scenario; measured_year: whether the weather is that of one real year, itself warm or cold; own_long_wave:
    whether the weather brings the sky's long wave, so that this may be out, rather than a formula; year_spread:
    standard deviation of the season's mean air temperature between years [K]; wind_uncertainty: standard deviation of
    the logarithm of the true wind over the weather's. Inputs that do nothing in this pond are left out.
    """
    draws = latin_hypercube(_JUDGED, count, seed) | latin_hypercube(_JUDGED_TOO, count, seed + 3)
    spread = {name: one.of(unknown) for name, one in SPREADS.items()}

    def around(name: str) -> np.ndarray:
        """Evenly from −1 at the low end to 1 at the high one."""
        return 2 * draws[name] - 1

    formulas = np.asarray(_formulas_for(pond))[(draws["evaporation"] * len(FORMULAS)).astype(int)]
    shelter = np.minimum(pond.wind_shelter * spread["wind_shelter"] ** around("wind_shelter"), 1.0)
    if wind_uncertainty:  # a station's wind is the same for all; another source's is as far out in every hour
        shelter *= np.exp(wind_uncertainty * latin_hypercube(("wind",), count, seed + 5)["wind"])
    u_value, gap_air_flow, light = 1.0, 0.0, 1.0
    if pond.cover:
        u_value, gap_air_flow, light = pond.cover.u_value, pond.cover.gap_air_flow, pond.cover.light
    shade = np.clip(pond.shade + spread["sun_factor"] * around("sun_factor"), 0.0, 1.0)
    samples = {
        "evaporation": formulas,
        "wind_shelter": shelter * _near_surface(pond, formulas),
        "sky_view": np.clip(pond.sky_view + spread["sky_view"] * around("sky_view"), 0.0, 1.0),
        "wall_factor": 1 + spread["wall_factor"] * around("wall_factor"),
        "u_value": u_value * (1 + spread["u_value"] * around("u_value")),
        "gap_air_flow": gap_air_flow * spread["gap_air_flow"] ** around("gap_air_flow"),
        "stream_factor": spread["stream_factor"] ** around("stream_factor"),
        "sun_factor": (1 - shade) / max(1 - pond.shade, 1e-6),
        "surface_factor": np.exp(SURFACE_ERROR * draws["surface_factor"]),
        "cover_factor": np.exp(COVER_ERROR * draws["cover_factor"]),
        "cover_light": np.clip(light + spread["cover_light"] * around("cover_light"), 0.0, 1.0),
    } | _coming_year(draws, measured_year, year_spread)
    samples["year_warmth"] = samples["year_warmth"] + SITE_WARMTH * draws["site"]
    samples |= _sky(pond, count, seed, own_long_wave)
    if pond.constructions:
        samples["construction"] = _constructions(pond, draws["construction"])
    inactive = inactive_parameters(pond) | (set() if spread["cover_light"] else {"cover_light"})
    return {name: values for name, values in samples.items() if name not in inactive}


def _sky(pond: Pond, count: int, seed: int, own_long_wave: bool) -> dict[str, np.ndarray]:
    """The sky formula of each scenario by name; the error of the long wave [W/m²] where the weather brings its own."""
    if own_long_wave:
        return {"sky_error": SKY_ERROR.value * latin_hypercube(("sky_error",), count, seed + 2)["sky_error"]}
    formulas = tuple(pond.sky if name == SKY_FORMULAS[0] else name for name in SKY_FORMULAS)
    draws = latin_hypercube(("sky",), count, seed + 2)["sky"]
    return {"sky": np.asarray(formulas)[(draws * len(formulas)).astype(int)]}


def _constructions(pond: Pond, draws: np.ndarray) -> np.ndarray:
    """What undescribed walls are made of, by scenario, from uniform draws."""
    weights = np.array([CONSTRUCTIONS[name].weight for name in pond.constructions])
    chosen = np.searchsorted(np.cumsum(weights / weights.sum())[:-1], draws, side="right")
    return np.asarray(pond.constructions)[chosen]


def learned_samples(
    pond: Pond,
    fitted: Fitted,
    count: int,
    seed: int = SEED,
    measured_year: bool = False,
    own_long_wave: bool = False,
    year_spread: float = YEAR_SPREAD,
) -> dict[str, np.ndarray]:
    """Samples where a meter was fitted: draws from the fit replace the judged ranges.

    Arguments as of `samples_of`; fitted: from `meter.fitting.pond_fit.fit`. The error of the log's weather station
    (`meter.fitting.learned_season.RECORD_ERROR`) is common to all losses, to which another year's wind, humidity and
    cloud come for the open surface (`YEAR_LOSSES`): they hardly matter under a cover and behind walls. Another year's
    sun varies by `YEAR_SUN`. Leaks are inside the fitted factors, and so is the sky where log and season have theirs
    from the same: a formula, or the weather's own long wave. Where one is measured and the other calculated, the fit
    has learned one and says nothing about the other, so the errors of both are sampled.
    """
    drawn = fitted.samples(count, seed)
    draws = latin_hypercube(_AROUND_THE_FIT, count, seed + 1)
    year = latin_hypercube(_OTHER_YEAR, count, seed + 4)
    losses = np.exp(RECORD_ERROR * draws["station"])
    off = {
        "sun_factor": np.exp(YEAR_SUN * year["year_sun"]),
        "surface_factor": losses * np.exp(YEAR_LOSSES * year["year_losses"]),
    }
    samples = {
        "evaporation": drawn["evaporation"],
        "wind_shelter": np.minimum(pond.wind_shelter * drawn["shelter_factor"], 1.0),
        **{name: drawn[name] * off.get(name, losses) for name in sorted(LEARNED)},
    } | _coming_year(draws, measured_year, year_spread)
    if own_long_wave != fitted.own_long_wave:
        samples |= _sky(pond, count, seed, True) | _sky(pond, count, seed + 1, False)
    if pond.cover is None:
        samples.pop("cover_factor")
    return _without_inactive(samples, pond)


def heater_samples(
    heater: Heater, count: int, unknown: Collection[str] = (), seed: int = SEED
) -> dict[str, np.ndarray]:
    """Samples of a heat pump's COP over that of the laboratory's fit, or of a gas heater's efficiency.

    unknown: keys of the sheet that are guesses or missing. Drawn separately, so that other ponds keep their draws.
    Empty for other heaters, and for a heat pump whose sheet gives a factor of its own. Half of the samples are below
    FIELD_FACTOR, or below the sheet's efficiency.
    """
    if heater.kind == "gas":
        low, high = GAS_EFFICIENCY if "heater.efficiency" in unknown else GAS_EFFICIENCY_KNOWN
        name, ends = "efficiency", (heater.efficiency * low, heater.efficiency, min(heater.efficiency * high, 1.0))
    elif heater.kind == "heat pump" and heater.cop_factor == FIELD_FACTOR.value:
        name, ends = "cop_factor", (FIELD_LOW.value, FIELD_FACTOR.value, FIELD_HIGH.value)
    else:
        return {}
    share = latin_hypercube((name,), count, seed + 2)[name]
    return {name: np.interp(share, (0.0, 0.5, 1.0), ends)}


def with_wind_as_drawn(pond: Pond, samples: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Samples of `samples_of` with the wind shelter before it was adapted to each scenario's formula.

    Grouped by the adapted wind, the calm end would hold one formula's scenarios rather than calm ponds.
    """
    if "wind_shelter" not in samples:
        return samples
    return samples | {"wind_shelter": samples["wind_shelter"] / _near_surface(pond, samples["evaporation"])}


def _near_surface(pond: Pond, formulas: np.ndarray) -> np.ndarray:
    """Wind where each scenario's formula was measured over the wind at 2 m [–]."""
    return np.array([NEAR_SURFACE.get(name, 1.0) if name != pond.evaporation else 1.0 for name in formulas])


def _coming_year(draws: dict[str, np.ndarray], measured_year: bool, year_spread: float) -> dict[str, np.ndarray]:
    """How much warmer the coming season, or the room, is than assumed [K], and its price over that of the tariff [–].

    The difference between two real years varies more than that of one year from the mean, by the square root of two.
    """
    spread = year_spread * (np.sqrt(2) if measured_year else 1.0)
    warmth = draws["year_warmth"]
    return {
        "year_warmth": spread * warmth,
        "room_warmth": ROOM_SPREAD * warmth,
        "price": np.exp(PRICE_SPREAD * draws["price"]),
    }


def _without_inactive(samples: dict[str, np.ndarray], pond: Pond) -> dict[str, np.ndarray]:
    inactive = inactive_parameters(pond)
    return {name: values for name, values in samples.items() if name not in inactive}


def inactive_parameters(pond: Pond) -> set[str]:
    """Names of inputs that do nothing in this pond, such as the wind in a room or the U-value without a cover."""
    inactive = {"wind_shelter", "sky_view", "sky", "sky_error", "year_warmth"} if pond.room else {"room_warmth"}
    if not pond.cover or pond.cover.kind == "film":
        inactive.add("u_value")
    if not pond.cover or not pond.cover.gap_air_flow:
        inactive.add("gap_air_flow")
    if not pond.walls:
        inactive.add("wall_factor")
    if not (pond.filter_air_flow or pond.casing_u_value_area or pond.aeration_air_flow or pond.water_change):
        inactive.add("stream_factor")
    if not pond.cover or pond.cover.kind == "film":
        inactive |= {"cover_light", "cover_factor"}
    if pond.shade >= 1:
        inactive.add("sun_factor")
    return inactive


def _formulas_for(pond: Pond) -> tuple[str, ...]:
    """The weighted formulae, with the sheet's own in place of the default."""
    return tuple(pond.evaporation if name == FORMULAS[0] else name for name in FORMULAS)

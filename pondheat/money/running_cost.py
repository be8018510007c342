"""Running cost of a season's electricity and gas by rate and month, with tax and standing charge, and the saving."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.core import units
from pondheat.core.ranges import OutOfRange, require
from pondheat.money import civil_time
from pondheat.money.civil_time import DAY, HOUR
from pondheat.money.tariffs import EXPORT, GAS, Tariff


@dataclass(frozen=True, eq=False)
class RunningCost:
    """Running cost of a period.

    by_rate: kwh [kWh] and money [money] by name of rate; by_month: the same by local month, “2025-10”; energy_money:
    their sum [money]; tax: tax added to the rates, 0 where the rates include it [money]; standing_charge: for the whole
    days of the period [money]; total: energy, tax and standing charge [money]; added_tax_rate: [–]; notes: sentences on
    days, tax and rounding.
    """

    by_rate: pd.DataFrame
    by_month: pd.DataFrame
    energy_money: float
    tax: float
    standing_charge: float
    total: float
    added_tax_rate: float
    notes: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Saving:
    """Cost of the open pond minus cost of the covered pond.

    by_rate, by_month: kwh [kWh] and money [money]; energy_kwh: [kWh]; energy_money: at the rates [money]; tax: on that
    difference, 0 where the rates include it [money]; total: energy and tax [money]. The standing charge is not
    included, as it is paid with or without a cover.
    """

    by_rate: pd.DataFrame
    by_month: pd.DataFrame
    energy_kwh: float
    energy_money: float
    tax: float
    total: float


def running_cost(
    electricity_kwh: pd.Series, tariff: Tariff, gas_kwh: pd.Series | None = None, gas_rate: float | None = None
) -> RunningCost:
    """Running cost of hourly electricity and gas on a tariff.

    electricity_kwh: [kWh] of each hour, indexed by its start with a time zone; negative values are exported and paid at
    the tariff's export rate; gas_kwh: [kWh] of the same hours; gas_rate: [money/kWh], taxed like the tariff's rates (a
    standing charge for gas is not included). An hour belongs to the month in which it starts. The standing charge is
    counted for the length of the period on the local clock, to the nearest whole day.
    Raises `OutOfRange` for hours that overlap or have no value, for export without an export rate and for gas without a
    rate; `core.units.Unreadable` for times without a zone or without a price.
    """
    begin = _validated_instants(electricity_kwh, "electricity_kwh")
    energy = electricity_kwh.to_numpy(dtype=float)
    tz = civil_time.zone_of(electricity_kwh.index)
    local = civil_time.local_seconds(begin, tz)
    months = (local // DAY).astype("datetime64[D]").astype("datetime64[M]")
    shares, costs = tariff.rate_shares(pd.DatetimeIndex(electricity_kwh.index))
    names = list(tariff.rate_names)
    bought = np.maximum(energy, 0.0)
    kwh, money = bought[:, None] * shares, bought[:, None] * costs
    if energy.min() < 0:
        if tariff.export_rate is None:
            raise OutOfRange("Some hours use less than nothing: give an export_rate if that is electricity sent back.")
        sent = np.minimum(energy, 0.0)
        names, kwh, money = _append_rate(names, kwh, money, EXPORT, sent, tariff.export_rate)
    if gas_kwh is not None:
        if gas_rate is None:
            raise OutOfRange("Gas is used, but gas_rate, its price per kWh, is not given.")
        require(gas_rate=gas_rate)
        if not gas_kwh.index.equals(electricity_kwh.index):
            raise OutOfRange("gas_kwh and electricity_kwh must be for the same hours.")
        _validated_instants(gas_kwh, "gas_kwh")
        names, kwh, money = _append_rate(names, kwh, money, GAS, gas_kwh.to_numpy(dtype=float), gas_rate)
    by_rate = pd.DataFrame({"kwh": kwh.sum(axis=0), "money": money.sum(axis=0)}, index=pd.Index(names, name="rate"))
    by_month = _by_month(months, kwh.sum(axis=1), money.sum(axis=1))
    end_local = int(civil_time.local_seconds(begin[-1:] + HOUR, tz)[0])
    return _assemble_cost(by_rate, by_month, tariff, (end_local - int(local[0]) + DAY // 2) // DAY)


def _assemble_cost(by_rate: pd.DataFrame, by_month: pd.DataFrame, tariff: Tariff, days: int) -> RunningCost:
    """Running cost with standing charge, tax, rounding and notes."""
    energy_money = float(by_rate["money"].sum())
    standing = tariff.standing_charge * days
    added = 0.0 if tariff.tax_included else tariff.tax_rate
    tax = added * (energy_money + standing)
    total = energy_money + standing + tax
    notes = [f"Standing charge for {days} days."] if tariff.standing_charge else []
    percent = f"{100 * tariff.tax_rate:g}"
    if added:
        notes.append(f"Tax of {percent} % is added to energy and standing charge.")
    elif tariff.tax_rate:
        within = units.money(total * tariff.tax_rate / (1 + tariff.tax_rate), tariff.currency)
        notes.append(f"The rates include {percent} % tax: {within} of the total.")
    else:
        notes.append("No tax is worked out: the rates are used as given.")
    if tariff.rounding == "hundredth":
        # Halves are rounded up, as on a bill; the small addition allows for halves stored slightly too low.
        total = float(np.floor(100 * total + 0.5 + 1e-9) / 100)
        notes.append(f"The total is rounded once, to whole {tariff.currency.hundredth}.")
    else:
        notes.append("Nothing is rounded.")
    return RunningCost(by_rate, by_month, energy_money, tax, standing, total, added, tuple(notes))


def saving(open_cost: RunningCost, covered_cost: RunningCost) -> Saving:
    """Saving of the covered pond against the open one; negative where the covered pond costs more.

    open_cost, covered_cost: of the same hours on the same tariff. Includes tax on the difference, not the standing
    charge; not rounded. Raises `OutOfRange` where the months or the tax differ.
    """
    same_tax = open_cost.added_tax_rate == covered_cost.added_tax_rate
    if not same_tax or not open_cost.by_month.index.equals(covered_cost.by_month.index):
        raise OutOfRange("Open and covered must be priced for the same months and with the same tax.")
    by_rate = open_cost.by_rate.sub(covered_cost.by_rate, fill_value=0.0)
    by_rate = by_rate.reindex(open_cost.by_rate.index.union(covered_cost.by_rate.index, sort=False))
    by_month = open_cost.by_month - covered_cost.by_month
    energy_money = open_cost.energy_money - covered_cost.energy_money
    tax = open_cost.added_tax_rate * energy_money
    return Saving(by_rate, by_month, float(by_rate["kwh"].sum()), energy_money, tax, energy_money + tax)


def _append_rate(
    names: list[str], kwh: np.ndarray, money: np.ndarray, name: str, energy: np.ndarray, rate: float
) -> tuple[list[str], np.ndarray, np.ndarray]:
    """Names, energy and cost by hour and rate with one more rate."""
    return [*names, name], np.column_stack([kwh, energy]), np.column_stack([money, energy * rate])


def _by_month(months: np.ndarray, kwh: np.ndarray, money: np.ndarray) -> pd.DataFrame:
    """Energy and cost by month."""
    first = months.min()
    number = (months - first).astype(int)
    used = np.flatnonzero(np.bincount(number))
    return pd.DataFrame(
        {"kwh": np.bincount(number, kwh)[used], "money": np.bincount(number, money)[used]},
        index=pd.Index([str(first + month) for month in used], name="month"),
    )


def _validated_instants(hourly: pd.Series, name: str) -> np.ndarray:
    """Instants at which the hours start; raises `OutOfRange` for no hours, overlaps and missing values."""
    begin = civil_time.instants(hourly.index)
    if begin.size == 0:
        raise OutOfRange(f"{name} has no hours.")
    if np.any(np.diff(begin) < HOUR):
        late = hourly.index[1:][np.diff(begin) < HOUR][0]
        raise OutOfRange(f"{name}: the hour from {late:%Y-%m-%d %H:%M} begins before the one ahead of it has ended.")
    unknown = ~np.isfinite(hourly.to_numpy(dtype=float))
    if unknown.any():
        raise OutOfRange(f"{name}: there is no number for the hour from {hourly.index[unknown][0]:%Y-%m-%d %H:%M}.")
    return begin

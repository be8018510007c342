"""Fetch weather of a town from open services, once and only when the reader has agreed.

`fetch` asks PVGIS for a typical year, or NASA POWER for the hours of real days, both through pvlib.
Nothing is sent but latitude and longitude rounded to 0.1°, and dates. Each answer is read back and checked like any
weather file before it is returned; anything that goes wrong raises a `FetchError` with a sentence. `stored` keeps
answers.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import functools
import json
import os
import re
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
import pandas as pd

from pondheat.season.weather.record import WeatherError
from pondheat.season.weather.towns import Town

DEADLINE = 60.0  # seconds for one answer
FIRST_DAY = dt.date(2001, 1, 1)  # of NASA POWER's hours
_TICK = 0.1  # seconds between checks that the reader is still waiting
_PIECE = 366  # days in one request
_LONGEST = 200  # characters shown of a service's own message
# pvlib's name of each value → the heading of its column in the table that is kept; asked for by name, as pvlib's own
# choice has neither humidity nor the sky's long-wave radiation
_COLUMNS = {
    "temp_air": "air_temp [°C]",
    "relative_humidity": "rel_humidity [%]",
    "wind_speed": "wind_speed [m/s at 10 m]",
    "ghi": "solar [W/m²]",
    "longwave_down": "sky_long_wave [W/m²]",
    "pressure": "pressure [Pa]",
}
_NEEDED = ("temp_air", "relative_humidity", "wind_speed", "ghi")
_TMY_COLUMNS = ("T2m", "RH", "WS10m", "G(h)", "IR(h)", "SP")
Answer = TypeVar("Answer")


class FetchError(WeatherError):
    """Weather could not be fetched; the message says where from and why."""


@dataclass(frozen=True)
class Service:
    """An open weather service: its name, address, what it has, its licence, and the credit it asks for."""

    name: str
    address: str
    has: str
    licence: str
    credit: str


PVGIS = Service(
    "PVGIS, European Commission, Joint Research Centre",
    "https://re.jrc.ec.europa.eu/api/v5_3/",
    "a typical year of hours, chosen month by month from real years (satellite images and the reanalysis ERA5)",
    "free to use and pass on with its notice",
    "PVGIS, European Commission Joint Research Centre, © European Union",
)
POWER = Service(
    "NASA POWER, Langley Research Center",
    "https://power.larc.nasa.gov/api/temporal/hourly/point",
    "hours of real days since 2001 (satellites and the reanalysis MERRA-2)",
    "free and open, with credit",
    "The data was obtained from the National Aeronautics and Space Administration (NASA) Langley Research Center "
    "(LaRC) Prediction of Worldwide Energy Resource (POWER) Project funded through the NASA Earth Science/Applied "
    "Science Program",
)


@dataclass(frozen=True)
class Request:
    """What to fetch for a town: a typical year, or the hours from the day `first` to the day `last`."""

    town: Town
    first: dt.date | None = None
    last: dt.date | None = None

    @property
    def service(self) -> Service:
        """The service that is asked."""
        return PVGIS if self.first is None else POWER

    @property
    def what(self) -> str:
        """What it fetches, in a few words."""
        return "a typical year" if self.first is None else f"the hours from {self.first} to {self.last}"


def disclosure(requests: list[Request], folder: str) -> str:
    """What the reader must know before agreeing: who is asked, what is sent, the licence, and where it is kept.

    requests: of one town and one service; folder: where the answers are kept, as the reader sees it.
    """
    first = requests[0]
    service, (latitude, longitude) = first.service, first.town.rounded
    days = ""
    if first.first is not None:
        days = f", and the dates {first.first} to {requests[-1].last}"
    times = "once" if len(requests) == 1 else f"in {len(requests)} requests"
    return (
        f"{first.town.label}: {service.has} can be fetched from {service.name} ({service.address}). It is sent "
        f"latitude {latitude:.1f} and longitude {longitude:.1f}, rounded to 0.1°{days}, {times}; the service also sees "
        "your computer's internet address, as any website does. Nothing about you, your pond or your sheet is sent. "
        f"Licence: {service.licence}. The weather is kept in {folder} and used from there, offline, from then on."
    )


def fetch(request: Request, waiting: Callable[[float], None] | None = None, deadline: float = DEADLINE) -> str:
    """The answer to a request, as the text of a weather file that `season.weather.weather.read` understands.

    waiting: called about ten times a second with the share of the time that has passed, 0–1; an exception from it ends
    the wait and drops the answer. deadline: seconds for each answer. Raises `FetchError`.
    """
    if request.first is None or request.last is None:
        return _typical_year(request.town, waiting, deadline)
    return _hours(request.town, request.first, request.last, waiting, deadline)


# --- asking, with a deadline --------------------------------------------------------------------------------------


@contextlib.contextmanager
def _no_passwords() -> Iterator[None]:
    """Within this context, the library that sends requests finds no file of passwords to add (~/.netrc)."""
    before = os.environ.get("NETRC")
    os.environ["NETRC"] = os.devnull
    try:
        yield
    finally:
        if before is None:
            del os.environ["NETRC"]
        else:
            os.environ["NETRC"] = before


def _ask(
    service: Service, ask: Callable[[], Answer], waiting: Callable[[float], None] | None, deadline: float
) -> Answer:
    """What `ask` returns, or `FetchError` where it fails or takes too long.

    It runs in a thread that is abandoned at the deadline, as pvlib's request to NASA POWER has no time limit.
    """
    found: list[Answer] = []
    wrong: list[Exception] = []

    def work() -> None:
        try:
            found.append(ask())
        except Exception as error:  # any: a changed layout can fail in any way
            wrong.append(error)

    thread = threading.Thread(target=work, daemon=True)
    started = time.monotonic()
    with _no_passwords():
        thread.start()
        while thread.is_alive() and (passed := time.monotonic() - started) < deadline:
            if waiting is not None:
                waiting(min(passed / deadline, 1.0))
            thread.join(_TICK)
    if wrong:
        raise FetchError(_reason(service, wrong[0])) from None
    if not found:
        raise FetchError(_reason(service, TimeoutError()))
    return found[0]


def _reason(service: Service, error: Exception) -> str:
    """A sentence on why a request failed."""
    import requests

    if isinstance(error, (requests.exceptions.Timeout, TimeoutError)):
        return f"{service.name} did not answer in time. Try again later."
    if isinstance(error, (requests.exceptions.JSONDecodeError, json.JSONDecodeError)):
        return f"The answer from {service.name} is cut short, damaged or an error page. Try again later."
    if isinstance(error, requests.exceptions.HTTPError):
        if error.response is not None and error.response.status_code >= 500:
            return f"{service.name} is not working at the moment (error {error.response.status_code}). Try again later."
        said = re.sub(r"[^\x20-\x7e°–’]+", " ", str(error)).strip()[:_LONGEST]
        return f"{service.name} refused the request: “{said}”. Try a point on land near by (latitude, longitude)."
    if isinstance(error, (requests.exceptions.ConnectionError, OSError)):
        return f"{service.name} cannot be reached. Is this computer connected to the internet?"
    return f"The answer from {service.name} cannot be read: its layout has changed since this was written."


# --- a typical year -----------------------------------------------------------------------------------------------


def _typical_year(town: Town, waiting: Callable[[float], None] | None, deadline: float) -> str:
    """A typical year in the layout of PVGIS's own JSON files."""
    from pvlib import iotools

    latitude, longitude = town.rounded
    data, meta = _ask(
        PVGIS,
        lambda: iotools.get_pvgis_tmy(
            latitude, longitude, map_variables=False, url=PVGIS.address, timeout=deadline, coerce_year=None
        ),
        waiting,
        deadline,
    )
    try:
        return _pvgis_text(town, data, meta)
    except FetchError:
        raise
    except (KeyError, TypeError, ValueError, AttributeError):
        raise FetchError(_reason(PVGIS, KeyError())) from None


def _pvgis_text(town: Town, data: pd.DataFrame, meta: dict[str, Any]) -> str:
    """The file of a typical year; raises `FetchError` for less than a year, KeyError for another layout."""
    table = data[list(_TMY_COLUMNS)].astype(float)
    if len(table) < 8760:
        raise FetchError(
            f"The answer from {PVGIS.name} ends after {len(table)} of the year's 8760 hours. Try again later."
        )
    inputs = {key: value for key, value in meta["inputs"].items() if key != "descriptions"}
    for key in ("latitude", "longitude", "elevation"):
        float(inputs["location"][key])
    stamps = pd.DatetimeIndex(table.index).strftime("%Y%m%d:%H%M")
    rows = [{"time(UTC)": stamp, **values} for stamp, values in zip(stamps, table.to_dict("records"))]
    document = {
        "inputs": inputs,
        "outputs": {"months_selected": meta["months_selected"], "tmy_hourly": rows},
        "meta": {"inputs": {}, "kept_by_pondheat": {"place": town.label}},
    }
    return json.dumps(document, allow_nan=False)


# --- hours of real days -------------------------------------------------------------------------------------------


def _hours(town: Town, first: dt.date, last: dt.date, waiting: Callable[[float], None] | None, deadline: float) -> str:
    """An hourly table in UTC, with comment lines for its place and source."""
    if first < FIRST_DAY:
        raise FetchError(f"{POWER.name} has no hours before {FIRST_DAY}, and you asked for {first}.")
    days = (last - first).days + 1
    starts = [first + dt.timedelta(days=at) for at in range(0, days, _PIECE)]
    pieces: list[pd.DataFrame] = []
    meta: dict[str, Any] = {}
    for number, start in enumerate(starts):
        end = min(start + dt.timedelta(days=_PIECE - 1), last)
        part = None if waiting is None else _part(waiting, number, len(starts))
        data, meta = _ask(POWER, functools.partial(_power, town, start, end), part, deadline)
        pieces.append(data)
    try:
        return _table_text(town, pd.concat(pieces), meta, first, last)
    except FetchError:
        raise
    except (KeyError, TypeError, ValueError, AttributeError):
        raise FetchError(_reason(POWER, KeyError())) from None


def _part(waiting: Callable[[float], None], number: int, count: int) -> Callable[[float], None]:
    """The wait for one of several answers, as a share of the whole."""
    return lambda share: waiting((number + share) / count)


def _power(town: Town, first: dt.date, last: dt.date) -> tuple[pd.DataFrame, dict[str, Any]]:
    """The answer of NASA POWER as pvlib reads it."""
    from pvlib import iotools

    latitude, longitude = town.rounded
    return iotools.get_nasa_power(latitude, longitude, first, last, parameters=list(_COLUMNS), url=POWER.address)


def _table_text(town: Town, data: pd.DataFrame, meta: dict[str, Any], first: dt.date, last: dt.date) -> str:
    """The file of an answer; raises `FetchError` where hours are missing, KeyError for another layout."""
    table = data[list(_COLUMNS)].astype(float)
    known = table[list(_NEEDED)].notna().all(axis=1).to_numpy()
    if not known.any():
        raise FetchError(f"{POWER.name} has no hours from {first} to {last} yet: the most recent weeks arrive late.")
    table = table.iloc[: int(np.flatnonzero(known)[-1]) + 1]
    wanted, got = 24 * ((last - first).days + 1), len(table)
    if got < wanted:
        until = pd.DatetimeIndex(table.index)[-1]
        raise FetchError(
            f"{POWER.name} has hours only until {until:%Y-%m-%d %H:%M} UTC, and you asked for {last}: the most recent "
            "weeks arrive late. Ask again later, or for earlier days."
        )
    latitude, longitude = town.rounded
    lines = [
        f"# place: {town.label}",
        f"# source: {POWER.credit}",
        f"# latitude: {latitude:.1f} deg",
        f"# longitude: {longitude:.1f} deg",
        f"# altitude: {float(meta['altitude']):.1f} m",
        "# clock: utc",
    ]
    stamps = pd.DatetimeIndex(table.index).strftime("%Y-%m-%d %H:%M+00:00")
    body = table.set_axis(pd.Index(stamps, name="time")).rename(columns=_COLUMNS)
    return "\n".join(lines) + "\n" + body.to_csv(float_format="%.2f", lineterminator="\n")

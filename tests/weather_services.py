"""A local stand-in for the two weather services, which answers in their documented layouts.

PVGIS: its TMY tool as JSON (joint-research-centre.ec.europa.eu/pvgis-online-tool); NASA POWER: the hourly point API as
JSON (power.larc.nasa.gov/docs). The weather that it gives is the packaged test reference year of Potsdam, moved in the
calendar: real hours, of another place.
"""

from __future__ import annotations

import functools
import json
import threading
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qsl, urlsplit

import numpy as np
import pandas as pd

from pondheat.season.weather import weather

HEIGHT = 95.0  # m, at which both services say their weather holds
FILL = -999.0
UNITS = {
    "T2M": "C",
    "RH2M": "%",
    "WS10M": "m/s",
    "ALLSKY_SFC_SW_DWN": "W/m^2",
    "ALLSKY_SFC_LW_DWN": "W/m^2",
    "PS": "kPa",
}


@functools.cache
def potsdam() -> pd.DataFrame:
    """Potsdam's test reference year, by month, day and hour in UTC."""
    year = weather.read("potsdam", timezone="Etc/GMT-1", year=2025).hours.tz_convert("UTC")
    return year.set_axis(year.index.strftime("%m-%d %H"))


def hours_of(index: pd.DatetimeIndex) -> pd.DataFrame:
    """Potsdam's test reference year at these hours in UTC, its own standard hours taken one hour earlier."""
    return potsdam().reindex(index.strftime("%m-%d %H")).ffill().bfill().set_axis(index)


@functools.cache
def rows_of_the_year() -> list[dict]:
    """The hours of PVGIS's typical year."""
    index = pd.date_range("2015-01-01", periods=8760, freq="h", tz="UTC")
    data = hours_of(index)
    return [
        {
            "time(UTC)": f"{stamp:%Y%m%d:%H%M}",
            "T2m": round(row.air_temp, 2),
            "RH": round(100 * row.rel_humidity, 2),
            "G(h)": round(row.solar, 2),
            "Gb(n)": 0.0,
            "Gd(h)": round(row.solar, 2),
            "IR(h)": round(row.sky_long_wave, 2),
            "WS10m": round(row.wind_speed, 2),
            "WD10m": 200.0,
            "SP": round(row.pressure),
        }
        for stamp, row in zip(index, data.itertuples())
    ]


def tmy(latitude: float, longitude: float) -> dict:
    """The answer of PVGIS's TMY tool."""
    return {
        "inputs": {
            "location": {
                "latitude": latitude,
                "longitude": longitude,
                "elevation": HEIGHT,
                "irradiance_time_offset": 0.1761,
            },
            "meteo_data": {
                "radiation_db": "PVGIS-SARAH3",
                "meteo_db": "ERA5",
                "year_min": 2005,
                "year_max": 2023,
                "use_horizon": True,
                "horizon_db": "DEM-calculated",
            },
        },
        "outputs": {
            "months_selected": [{"month": month, "year": 2015} for month in range(1, 13)],
            "tmy_hourly": [dict(row) for row in rows_of_the_year()],
        },
        "meta": {"inputs": {"location": {"description": "Selected location"}}, "outputs": {"tmy_hourly": {}}},
    }


def power(query: dict[str, str], known_until: pd.Timestamp | None) -> dict:
    """The answer of NASA POWER's hourly point API; hours after `known_until` are its fill value."""
    index = pd.date_range(query["start"], pd.Timestamp(query["end"]) + pd.Timedelta("23h"), freq="h", tz="UTC")
    data = hours_of(index)
    # each calendar year is a little warmer or colder than the others, so that winters differ
    warmer = 0.8 * np.sin(2.0 * (index.year.to_numpy() + (index.month.to_numpy() > 6)))
    values = {
        "T2M": data["air_temp"] + warmer,
        "RH2M": 100 * data["rel_humidity"],
        "WS10M": data["wind_speed"],
        "ALLSKY_SFC_SW_DWN": data["solar"],
        "ALLSKY_SFC_LW_DWN": data["sky_long_wave"],
        "PS": data["pressure"] / 1000,
    }
    if known_until is not None:
        values = {name: column.where(index <= known_until, FILL) for name, column in values.items()}
    asked, stamps = query["parameters"].split(","), index.strftime("%Y%m%d%H")
    return {
        "type": "Feature",
        "geometry": {
            "type": "Point",
            "coordinates": [float(query["longitude"]), float(query["latitude"]), HEIGHT],
        },
        "properties": {"parameter": {name: dict(zip(stamps, values[name].round(2).tolist())) for name in asked}},
        "header": {
            "title": "NASA/POWER Source Native Resolution Hourly Data",
            "api": {"version": "v2.8.0", "name": "POWER Hourly API"},
            "sources": ["SYN1DEG", "MERRA2"],
            "fill_value": FILL,
            "time_standard": "UTC",
            "start": query["start"],
            "end": query["end"],
        },
        "messages": [],
        "parameters": {name: {"units": UNITS[name], "longname": name} for name in asked},
        "times": {"data": 0.1, "process": 0.1},
    }


@dataclass
class Services:
    """The stand-in: its address, every request it got, and how it is to misbehave.

    how: "" for as documented; "hang", "error" (500), "refused" (400), "cut" (JSON that breaks off), "changed" (another
    layout), "page" (a web page), "nonsense" (impossible values), "gap" (a day missing). known_until: last hour that
    NASA POWER has.
    """

    address: str = ""
    how: str = ""
    known_until: pd.Timestamp | None = None
    requests: list[tuple[str, str, dict[str, str], dict[str, str], bytes]] = field(default_factory=list)
    let_go: threading.Event = field(default_factory=threading.Event)

    def answer(self, path: str, query: dict[str, str]) -> tuple[int, bytes]:
        """Status and body."""
        if self.how == "hang":
            self.let_go.wait(20)
        if self.how == "error":
            return 500, b"<html>Internal Server Error</html>"
        if self.how == "refused":
            words = "Location over the sea. Please, select another location"
            return 400, json.dumps({"status": 400, "message": words, "messages": [words]}).encode()
        if self.how == "page":
            return 200, b"<!doctype html><html><body>Sign in to this hotel's network</body></html>"
        typical = path.endswith("/tmy")
        document = tmy(float(query["lat"]), float(query["lon"])) if typical else power(query, self.known_until)
        rows = document["outputs"]["tmy_hourly"] if typical else document["properties"]["parameter"]["T2M"]
        if self.how == "changed":
            document = {"version": 9, "data": rows}
        if self.how == "nonsense" and typical:
            for row in rows:
                row["T2m"] += 273.15
        elif self.how == "nonsense":
            rows.update({stamp: value + 273.15 for stamp, value in rows.items()})
        if self.how == "gap" and typical:
            del rows[3000:3024]
        elif self.how == "gap":
            rows.update(dict.fromkeys(list(rows)[100:124], FILL))
        body = json.dumps(document).encode()
        return 200, body[: len(body) // 2] if self.how == "cut" else body


class Handler(BaseHTTPRequestHandler):
    """Records each request and answers it."""

    services: Services

    def do_GET(self) -> None:
        parts = urlsplit(self.path)
        query = dict(parse_qsl(parts.query, keep_blank_values=True))
        body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
        self.services.requests.append((self.command, parts.path, query, dict(self.headers), body))
        status, answer = self.services.answer(parts.path, query)
        try:
            self.send_response(status)
            self.send_header("Content-Type", "application/json")
            self.send_header("Content-Length", str(len(answer)))
            self.end_headers()
            self.wfile.write(answer)
        except OSError:  # the other side has gone
            pass

    do_POST = do_PUT = do_GET

    def log_message(self, *_) -> None:
        """Print nothing."""


def serve() -> tuple[Services, ThreadingHTTPServer]:
    """A running stand-in and its server."""
    services = Services()
    server = ThreadingHTTPServer(("127.0.0.1", 0), type("Bound", (Handler,), {"services": services}))
    server.daemon_threads = True
    services.address = f"http://127.0.0.1:{server.server_port}/"
    threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
    return services, server

"""Weather fetched from a local stand-in of the services: what is sent, what is kept, and every way it can fail."""

import datetime as dt
import socket

import numpy as np
import pandas as pd
import pytest
from weather_notes import says

from pondheat.season.weather import elevation, fetching, stored, town_weather, towns, weather
from pondheat.season.weather.fetching import FetchError, Request
from pondheat.season.weather.record import WeatherError

LEEDS = towns.Town("Leeds, England, GB", 53.7965, -1.5479, "Europe/London")
YEAR, DAYS = Request(LEEDS), Request(LEEDS, dt.date(2025, 12, 1), dt.date(2026, 1, 31))
# Sent by every client of the hypertext protocol, and nothing of the reader: the client's name and what it understands.
PLAIN_HEADERS = {"Host", "User-Agent", "Accept-Encoding", "Accept", "Connection"}


def read(request=YEAR, **options) -> weather.Weather:
    days = None if request.first is None else (request.first, request.last)
    return town_weather.read(LEEDS, timezone="Europe/London", year=2025, days=days, **options)


def test_a_typical_year_is_fetched_kept_and_read_without_the_net(services, tmp_path):
    path = stored.fetch(YEAR, tmp_path / "kept")
    assert path.name == "53.8_-1.5_typical-year.json" and len(services.requests) == 1
    services.how = "error"
    found = town_weather.read(LEEDS, timezone="Europe/London", year=2025, beside=tmp_path)  # another folder: not there
    assert not says(found, "PVGIS") and found.place != LEEDS.label
    (tmp_path / "kept").rename(tmp_path / stored.FOLDER)
    found = town_weather.read(LEEDS, timezone="Europe/London", year=2025, beside=tmp_path)
    assert len(services.requests) == 1
    assert (found.kind, found.place, found.altitude) == ("typical year", LEEDS.label, 95)
    assert "PVGIS" in found.source and "European Union" in found.source
    potsdam = weather.read("potsdam", timezone="Europe/Berlin", year=2025)
    for column in ("air_temp", "rel_humidity", "wind_speed", "solar", "pressure"):
        assert found.hours[column].mean() == pytest.approx(potsdam.hours[column].mean(), rel=0.005), column


def test_hours_of_real_days_are_fetched_kept_and_read(services):
    path = stored.fetch(DAYS, stored.shell_folder())
    found = read(DAYS)
    assert path.name == "53.8_-1.5_2025-12-01_2026-01-31.csv"
    assert (found.kind, found.place, found.altitude, found.wind_height) == ("measured", LEEDS.label, 95, 10)
    assert "NASA" in found.source and found.latitude == pytest.approx(53.8)
    own = pd.date_range("2025-12-01", "2026-02-01", freq="h", tz="UTC", inclusive="left")
    assert (found.hours.index.tz_convert("UTC") == own).all()
    from weather_services import hours_of

    given = hours_of(own)
    assert found.hours["air_temp"].to_numpy() - given["air_temp"].to_numpy() == pytest.approx(
        np.where(
            own.year == 2026, found.hours["air_temp"].iloc[-1] - given["air_temp"].iloc[-1], 0.8 * np.sin(2 * 2026)
        ),
        abs=0.02,
    )
    for column in ("wind_speed", "solar", "sky_long_wave", "pressure"):
        assert found.hours[column].to_numpy() == pytest.approx(given[column].to_numpy(), rel=1e-3, abs=6), column


def test_nothing_is_sent_but_a_rounded_position_and_dates(services, monkeypatch, tmp_path):
    """The whole of each request, also where the reader keeps passwords for all hosts in a file."""
    netrc = tmp_path / ".netrc"
    netrc.write_text("default login keeper password secret\n")
    netrc.chmod(0o600)
    monkeypatch.setenv("NETRC", str(netrc))
    monkeypatch.setenv("HOME", str(tmp_path))
    fetching.fetch(YEAR)
    fetching.fetch(DAYS)
    typical, hours = services.requests
    assert typical[:3] == ("GET", "/api/v5_3/tmy", {"lat": "53.8", "lon": "-1.5", "outputformat": "json"})
    assert hours[:2] == ("GET", "/api/temporal/hourly/point")
    assert hours[2] == {
        "latitude": "53.8",
        "longitude": "-1.5",
        "start": "20251201",
        "end": "20260131",
        "community": "re",
        "parameters": "T2M,RH2M,WS10M,ALLSKY_SFC_SW_DWN,ALLSKY_SFC_LW_DWN,PS",
        "format": "json",
        "header": "True",
        "time-standard": "utc",
    }
    for _, _, _, headers, body in services.requests:
        assert set(headers) <= PLAIN_HEADERS and body == b""
        assert headers["User-Agent"].startswith("python-requests/")
    import os

    assert os.environ["NETRC"] == str(netrc)


def test_the_reader_is_told_who_gets_what_before_agreeing():
    said = fetching.disclosure([YEAR], "my-workbook")
    for part in ("PVGIS", "https://re.jrc.ec.europa.eu/", "53.8", "-1.5", "0.1°", "internet address", "my-workbook"):
        assert part in said, part
    assert "53.79" not in said and "Licence: free" in said
    said = fetching.disclosure([DAYS], "here")
    assert "NASA POWER" in said and "2025-12-01" in said and "2026-01-31" in said


@pytest.mark.parametrize("request_", [YEAR, DAYS], ids=["typical year", "hours"])
@pytest.mark.parametrize(
    "how, said",
    [
        ("hang", "did not answer in time"),
        ("error", "Try again later"),
        ("cut", "is cut short"),
        ("page", "is cut short, damaged or an error page"),
        ("changed", "its layout has changed"),
        ("nonsense", "cannot be used as weather"),
        ("refused", "Location over the sea"),
    ],
)
def test_every_failure_is_a_sentence_and_leaves_nothing(services, tmp_path, request_, how, said):
    services.how = how
    with pytest.raises(FetchError, match=said) as told:
        stored.fetch(request_, tmp_path / "kept", deadline=0.3 if how == "hang" else 20)
    assert request_.service.name.split(",")[0] in str(told.value)
    assert not list((tmp_path / "kept").glob("*")) if (tmp_path / "kept").exists() else True


def test_no_net_at_all(services, tmp_path, monkeypatch):
    from dataclasses import replace

    with socket.socket() as free:  # a port on which nobody listens
        free.bind(("127.0.0.1", 0))
        address = f"http://127.0.0.1:{free.getsockname()[1]}/"
    monkeypatch.setattr(fetching, "PVGIS", replace(fetching.PVGIS, address=address))
    monkeypatch.setattr(fetching, "POWER", replace(fetching.POWER, address=address))
    for request_ in (YEAR, DAYS):
        with pytest.raises(FetchError, match="connected to the internet"):
            stored.fetch(request_, tmp_path)


def test_missing_hours(services, tmp_path):
    services.how = "gap"
    with pytest.raises(FetchError, match="8736 of the year"):
        stored.fetch(YEAR, tmp_path)
    with pytest.raises(FetchError, match="missing for more than 3 hours"):
        stored.fetch(DAYS, tmp_path)
    services.how = ""
    services.known_until = pd.Timestamp("2026-01-20 17:00", tz="UTC")
    with pytest.raises(FetchError, match="only until 2026-01-20 17:00"):
        stored.fetch(DAYS, tmp_path)
    services.known_until = pd.Timestamp("2025-11-20", tz="UTC")
    with pytest.raises(FetchError, match="no hours from 2025-12-01"):
        stored.fetch(DAYS, tmp_path)
    assert not list(tmp_path.glob("*.csv")) and not list(tmp_path.glob("*.json"))


def test_days_before_the_service_began(services):
    with pytest.raises(FetchError, match="no hours before 2001-01-01"):
        fetching.fetch(Request(LEEDS, dt.date(1999, 12, 1), dt.date(2000, 1, 31)))
    assert services.requests == []


def test_a_wait_can_be_broken_off(services, tmp_path):
    services.how = "hang"

    class Stop(Exception):
        pass

    def waiting(share: float) -> None:
        raise Stop

    with pytest.raises(Stop):
        stored.fetch(YEAR, tmp_path / "kept", waiting)
    assert not (tmp_path / "kept").exists()


def test_long_spans_are_asked_for_in_pieces(services):
    shares: list[float] = []
    text = fetching.fetch(Request(LEEDS, dt.date(2023, 7, 1), dt.date(2025, 6, 30)), shares.append)
    spans = [(query["start"], query["end"]) for _, _, query, _, _ in services.requests]
    assert spans == [("20230701", "20240630"), ("20240701", "20250630")]
    assert text.count("\n") == 6 + 1 + 24 * 731 and shares == sorted(shares)


def test_without_anything_fetched_the_nearest_place_is_named():
    found = town_weather.read(towns.find("Hannover"), timezone="Europe/Berlin", year=2025)
    assert says(found, "has not been fetched yet") and found.notes[0].endswith("km away.")
    for name in weather.names():
        place = weather.read(name, timezone="UTC", year=2025)
        assert town_weather.POSITIONS[name] == pytest.approx((place.latitude, place.longitude), abs=0.05), name
    nearest, distance = town_weather.nearest_built_in(towns.find("Hannover"))
    assert nearest in ("bad marienberg", "braunlage", "hamburg", "kassel") and distance < 150
    with pytest.raises(WeatherError, match="in the other hemisphere|in its hemisphere"):
        town_weather.read(towns.find("Sydney, AU"), timezone="Australia/Sydney", year=2025)


def test_the_wind_of_a_reanalysis_is_called_uncertain(services):
    for request_ in (YEAR, DAYS):
        stored.fetch(request_, stored.shell_folder())
        found = read(request_)
        assert says(found, "coasts") and found.wind_uncertainty >= 0.2
    assert weather.read("potsdam", timezone="Europe/London", year=2025).wind_uncertainty == 0


def test_listing_and_clearing(services, tmp_path):
    places = stored.folders(tmp_path)
    stored.fetch(YEAR, places[0])
    stored.fetch(DAYS, places[1])
    (places[0] / "mine.txt").write_text("not fetched")
    assert [one.first for one in stored.files(places)] == [None, DAYS.first]
    assert len(stored.of_town(LEEDS, places)) == 2 and stored.of_town(towns.find("York, GB"), places) == []
    assert stored.find(Request(LEEDS, dt.date(2025, 12, 5), dt.date(2025, 12, 9)), places)
    assert stored.find(Request(LEEDS, dt.date(2025, 11, 5), dt.date(2025, 12, 9)), places) is None
    assert stored.clear(places) == 2
    assert (places[0] / "mine.txt").exists() and not places[1].exists()


def test_height_of_the_pond(services):
    """The standard atmosphere prints 15 °C and 101,325 Pa at sea level, 8.5 °C and 89,876 Pa at 1000 m (ISO 2533)."""
    stored.fetch(YEAR, stored.shell_folder())
    low, high = read(), read(altitude=295.0)
    assert says(low, "not corrected") and not says(high, "not corrected")
    assert (low.hours["air_temp"] - high.hours["air_temp"]).to_numpy() == pytest.approx(0.2 * 6.5, abs=1e-9)
    assert high.altitude == 295 and says(high, "200 m above") and says(high, "[1.3 K] cooler")
    emissivity = [each.hours["sky_long_wave"] / (each.hours["air_temp"] + 273.15) ** 4 for each in (low, high)]
    assert emissivity[0].to_numpy() == pytest.approx(emissivity[1].to_numpy(), rel=1e-12)
    sea = weather.read("potsdam", timezone="Europe/Berlin", year=2025)
    sea.hours["air_temp"], sea.hours["pressure"] = 15.0, 101_325.0
    from dataclasses import replace

    risen = elevation.at_altitude(replace(sea, altitude=0.0), 1000.0)
    assert risen.hours["air_temp"].iloc[0] == pytest.approx(8.5, abs=0.005)
    assert risen.hours["pressure"].iloc[0] == pytest.approx(89_876, abs=15)

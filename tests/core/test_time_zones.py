"""Country and half of the Earth of a time zone."""

import zoneinfo

import pytest

from pondheat.core.time_zones import is_southern, zone_place


@pytest.mark.parametrize(
    ("timezone", "country"),
    [
        ("Europe/London", "GB"),
        ("Europe/Belfast", "GB"),  # an older name
        ("Europe/Isle_of_Man", "IM"),  # shares London's clock, not its country
        ("Europe/Copenhagen", "DK"),  # shares Berlin's
        ("America/Indiana/Indianapolis", "US"),
        ("US/Eastern", "US"),
        ("Australia/NSW", "AU"),
    ],
)
def test_country(timezone, country):
    assert zone_place(timezone).country == country


def test_coordinates_with_and_without_seconds():
    new_york, sydney = zone_place("America/New_York"), zone_place("Australia/Sydney")
    assert (new_york.latitude, new_york.longitude) == pytest.approx((40.714, -74.006), abs=0.001)  # +404251-0740023
    assert (sydney.latitude, sydney.longitude) == pytest.approx((-33.867, 151.217), abs=0.001)  # -3352+15113


@pytest.mark.parametrize("timezone", ["UTC", "GMT", "Etc/GMT-10", "EST5EDT", "EST", "CET", "no/such zone"])
def test_zones_of_no_place(timezone):
    assert zone_place(timezone) is None
    assert not is_southern(timezone)


def test_southern_half():
    southern = ("Australia/Sydney", "NZ", "Africa/Johannesburg", "America/Sao_Paulo", "America/Santiago")
    assert all(map(is_southern, southern))
    assert not any(map(is_southern, ("Europe/London", "America/New_York", "Asia/Tokyo", "Africa/Cairo")))


def test_every_zone_of_the_database_is_read():
    named = [zone for zone in zoneinfo.available_timezones() if zone.startswith(("Europe/", "America/", "Australia/"))]
    assert len(named) > 200
    assert all(zone_place(zone) is not None for zone in named if zone != "America/Coyhaique")

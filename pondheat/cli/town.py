"""The weather of a town from the shell: consent, fetching with a progress bar, listing and clearing."""

from __future__ import annotations

import argparse
import datetime as dt
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pondheat.season.weather.fetching import Request
    from pondheat.sheet.pond_sheet import Sheet


def sheet_of_place(sheet: Sheet, arguments: argparse.Namespace) -> Sheet:
    """The sheet with the town of --place, if given, and its weather."""
    from pondheat.season.weather import town_weather, towns

    if arguments.place is None:
        if arguments.fetch and sheet.weather != town_weather.SOURCE:
            raise ValueError("--fetch fetches the weather of a town: name it, as in --place “Leeds, GB”.")
        return sheet
    if arguments.weather is not None:
        raise ValueError("Give --place or --weather, not both: each says which weather is used.")
    town = towns.find(arguments.place)
    return replace(sheet, town=town, weather=town_weather.SOURCE, latitude=town.latitude, longitude=town.longitude)


def fetch_for(sheet: Sheet, arguments: argparse.Namespace, real_days: bool = False) -> None:
    """Fetch what the sheet's town still lacks, if the reader agrees: a typical year, or hours of the sheet's own days.

    Without consent, or where fetching fails, a sentence says so, and the caller goes on with what there is.
    """
    from pondheat.season.weather import stored, town_weather

    if sheet.weather != town_weather.SOURCE or sheet.town is None:
        return
    days = (sheet.start, sheet.end) if real_days and sheet.start and sheet.end else None
    request = town_weather.request_for(sheet.town, days)
    if stored.find(request, stored.folders(sheet.folder)) is None:
        fetch([request], arguments.fetch)


def fetch(requests: list[Request], agreed: bool) -> int:
    """Fetch these, if the reader agrees; returns how many. What goes wrong is said on standard error."""
    from pondheat.season.weather import fetching, stored

    folder = stored.shell_folder()
    print(f"\r{fetching.disclosure(requests, str(folder))}", file=sys.stderr)
    if not agreed and not _asked():
        print("Nothing was fetched. To agree, add --fetch.", file=sys.stderr)
        return 0
    for number, request in enumerate(requests):
        try:
            path = stored.fetch(request, folder, _waiting(f"fetching {request.what}"))
        except (fetching.FetchError, OSError) as wrong:
            print(f"\rNot fetched: {wrong}", file=sys.stderr)
            return number
        print(f"\rFetched {request.what}: {path}", file=sys.stderr)
    return len(requests)


def _asked() -> bool:
    """Whether the reader agrees at the terminal; False where nobody is there to ask."""
    if not sys.stdin.isatty():
        return False
    print("Fetch it? [y/N] ", end="", file=sys.stderr, flush=True)
    try:
        return sys.stdin.readline().strip().lower() in ("y", "yes")
    except KeyboardInterrupt:
        return False


def _waiting(what: str) -> Callable[[float], None] | None:
    """Shows on a terminal that the wait goes on; Ctrl-C ends it."""
    if not sys.stderr.isatty():
        return None
    return lambda share: print(f"\r  {what} … Ctrl-C stops it", end="", file=sys.stderr, flush=True)


def weather(arguments: argparse.Namespace) -> int:
    """The command `weather`: list, clear or fetch."""
    from pondheat.season.weather import real_winters, stored, towns
    from pondheat.season.weather.fetching import Request

    places = stored.folders(Path(arguments.folder or "."))
    if arguments.clear:
        count = stored.clear(places)
        print(f"Cleared: {count} file{'' if count == 1 else 's'} of fetched weather deleted.")
        return 0
    if arguments.place is not None:
        town = towns.find(arguments.place)
        wanted = real_winters.requests(town, dt.date.today()) if arguments.winters else [Request(town)]
        missing = [one for one in wanted if stored.find(one, places) is None]
        if missing:
            return 0 if fetch(missing, arguments.fetch) == len(missing) else 2
        print(f"All of it has been fetched already: {town.label}.")
        return 0
    found = list(stored.files(places))
    for one in found:
        what = "typical year" if one.first is None else f"hours from {one.first} to {one.last}"
        day = dt.date.fromtimestamp(one.path.stat().st_mtime)
        print(
            f"{one.latitude:.1f}, {one.longitude:.1f}: {what}, fetched {day}, "
            f"{one.path.stat().st_size / 1e6:.1f} MB, {one.path}"
        )
    if not found:
        print(f"No weather has been fetched yet. It would be kept in {stored.shell_folder()}.")
    print(f"Licences and credits: {_credits()}")
    return 0


def _credits() -> str:
    from pondheat.season.weather import fetching, towns

    return ". ".join((fetching.PVGIS.credit, fetching.POWER.credit, towns.CREDIT)) + "."

"""Fetched weather: where it is kept, and how it is found again, listed and cleared.

It is kept in the folder `fetched-weather` beside the pond sheet or the learner's pages, and by the shell in the user's
cache (`PONDHEAT_WEATHER` names another folder). The files are ordinary weather files: a typical year in the layout of
PVGIS, or an hourly table; their names are latitude, longitude and what they hold.
"""

from __future__ import annotations

import datetime as dt
import os
import re
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from pondheat.core.files import user_cache_folder, write_atomically
from pondheat.season.weather import fetching, weather
from pondheat.season.weather.fetching import FetchError, Request
from pondheat.season.weather.record import WeatherError
from pondheat.season.weather.towns import Town

FOLDER = "fetched-weather"
_NAME = re.compile(r"(-?\d+\.\d)_(-?\d+\.\d)_(?:typical-year\.json|(\d{4}-\d{2}-\d{2})_(\d{4}-\d{2}-\d{2})\.csv)")
_CHECK_YEAR = 2025  # calendar used to check an answer; has no effect on what is kept


@dataclass(frozen=True)
class Stored:
    """A file of fetched weather.

    latitude, longitude: as sent, rounded [deg]; first, last: days of real hours, None for a typical year.
    """

    path: Path
    latitude: float
    longitude: float
    first: dt.date | None = None
    last: dt.date | None = None


def shell_folder() -> Path:
    """The folder where the shell keeps fetched weather: `PONDHEAT_WEATHER`, otherwise in the user's cache."""
    own, cache = os.environ.get("PONDHEAT_WEATHER"), user_cache_folder()
    return Path(own) if own else (cache or Path.cwd()) / "pondheat" / FOLDER


def folders(beside: Path | None = None) -> tuple[Path, ...]:
    """Folders that may hold fetched weather: the one in the folder `beside`, then the shell's."""
    return (*(() if beside is None else (beside / FOLDER,)), shell_folder())


def files(places: tuple[Path, ...]) -> Iterator[Stored]:
    """All files of fetched weather in these folders."""
    for folder in places:
        for path in sorted(folder.glob("*")) if folder.is_dir() else ():
            if found := _NAME.fullmatch(path.name):
                first, last = (None if day is None else dt.date.fromisoformat(day) for day in found.group(3, 4))
                yield Stored(path, float(found[1]), float(found[2]), first, last)


def of_town(town: Town, places: tuple[Path, ...]) -> list[Stored]:
    """The files of fetched weather for a town, that is for its rounded position."""
    return [one for one in files(places) if (one.latitude, one.longitude) == town.rounded]


def find(request: Request, places: tuple[Path, ...]) -> Stored | None:
    """The file that already answers a request; None if it has not been fetched."""
    for one in of_town(request.town, places):
        if request.first is None or request.last is None:
            if one.first is None:
                return one
        elif one.first is not None and one.last is not None and one.first <= request.first <= request.last <= one.last:
            return one
    return None


def fetch(
    request: Request,
    folder: Path,
    waiting: Callable[[float], None] | None = None,
    deadline: float = fetching.DEADLINE,
) -> Path:
    """Fetch a request and keep it in `folder`; returns the file.

    Only for a reader who has read `fetching.disclosure` and agreed. waiting, deadline: as for `fetching.fetch`. The
    answer is kept only if it can be read as weather. Raises FetchError, OSError.
    """
    text = fetching.fetch(request, waiting, deadline)
    latitude, longitude = request.town.rounded
    period = "typical-year.json" if request.first is None else f"{request.first}_{request.last}.csv"
    target = folder / f"{latitude:.1f}_{longitude:.1f}_{period}"
    content = text.encode("utf-8")
    with tempfile.TemporaryDirectory() as elsewhere:
        trial = Path(elsewhere) / target.name
        write_atomically(trial, content)
        try:
            weather.read(trial, timezone="UTC", year=_CHECK_YEAR)
        except WeatherError as wrong:
            reason = str(wrong).replace(trial.name, "it")
            raise FetchError(f"The answer from {request.service.name} cannot be used as weather: {reason}") from None
    write_atomically(target, content)
    return target


def clear(places: tuple[Path, ...]) -> int:
    """Delete all fetched weather in these folders; returns the number of files."""
    found = list(files(places))
    for one in found:
        one.path.unlink(missing_ok=True)
    for folder in places:
        if folder.is_dir() and not any(folder.iterdir()):
            folder.rmdir()
    return len(found)

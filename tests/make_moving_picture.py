"""Make the moving picture at the top of README.md: a winter's day of the invented pond, its cover on by night.

    python tests/make_moving_picture.py

A clear, cold day out of the season of `data/ponds/garden_pond.toml`, from midnight to midnight, one moment every two
hours, each drawn by `pond_picture` and shown in turn by a style sheet inside the SVG. Where the reader asks for less
motion, the picture stays at its first moment.
"""

from __future__ import annotations

import re

from pondheat.analysis import assessment
from pondheat.core.places import CLONE, PONDS
from pondheat.sheet import pond_sheet
from pondheat.show.pictures.of_sheet import scene_of
from pondheat.show.pictures.pond import pond_picture

WRITTEN = CLONE / "workbook" / "pictures" / "a_winters_day.svg"
DAY, STEP = "2026-01-15", 2  # h between two moments
SECONDS = 1.2  # for each moment
TITLE = "A clear winter's day at the invented pond: the heat it loses, hour by hour, with its cover on by night"
HEAD = 40  # px above the picture, for the clock


def moments() -> list[tuple[str, str]]:
    """Clock time and picture of each moment."""
    sheet = pond_sheet.read(PONDS / "garden_pond.toml")
    conditions = assessment.boundary_conditions(sheet, assessment.weather_of(sheet))
    hours = assessment.run_season(sheet, conditions, covered=True).hours.loc[DAY].iloc[::STEP]
    full = max(sum(parts) for parts in zip(*(hours[name] for name in ("evaporation", "convection", "long_wave"))))
    made = []
    for at, moment in enumerate(hours.index):
        scene = scene_of(sheet, hours.loc[[moment]], conditions.hours, full=full)
        state = "cover on" if scene.covered else "cover off"
        made.append((f"{moment:%H:%M}, {state}", pond_picture(scene, f"m{at}")))
    return made


def moving_picture() -> str:
    """All moments in one SVG, each shown for its part of the time."""
    found = moments()
    wide, high = map(float, re.search(r'viewBox="0 0 (\S+) (\S+)"', found[0][1]).groups())
    share = 100 / len(found)
    rules = (
        f".m {{ visibility: hidden; animation: show {SECONDS * len(found):g}s step-end infinite; }}"
        f"@keyframes show {{ 0% {{ visibility: visible; }} {share:.3f}% {{ visibility: hidden; }} }}"
        "text { fill: #222; } .back { fill: #fff; }"
        "@media (prefers-reduced-motion: reduce) { .m { animation: none; } .m:first-of-type { visibility: visible; } }"
    )
    parts = "".join(
        f'<g class="m" style="animation-delay:{at * SECONDS - SECONDS * len(found) * (at > 0):.1f}s">'
        f'<text x="12" y="27" font-size="20" font-family="system-ui,sans-serif">{clock}</text>'
        f'<svg y="{HEAD}" width="{wide:g}" height="{high:g}" {_inside(svg)}</g>'
        for at, (clock, svg) in enumerate(found)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:g} {high + HEAD:g}" width="{wide:g}" '
        f'height="{high + HEAD:g}" role="img"><title>{TITLE}</title><style>{rules}</style>'
        f'<rect class="back" width="100%" height="100%"/>{parts}</svg>\n'
    )


def _inside(svg: str) -> str:
    """A picture's SVG from its `viewBox` on, so that it can be placed inside another."""
    return re.sub(r' role="img" aria-labelledby="[^"]*"', "", svg[svg.index("viewBox") :])


if __name__ == "__main__":
    WRITTEN.write_text(moving_picture(), encoding="utf-8", newline="\n")
    print(f"{WRITTEN.relative_to(CLONE)}: {WRITTEN.stat().st_size / 1000:.0f} kB")

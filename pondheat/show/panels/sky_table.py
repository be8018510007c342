"""Page 17: every sky formula, and every evaporation formula, against what was measured or published."""

from __future__ import annotations

import html

import pandas as pd

from pondheat.analysis.formula_spread import FORMULA_INFO, skies_in_uncertainty
from pondheat.analysis.sky_comparison import LONG_WAVE, OBSERVED, WATER, YEARS, read_table
from pondheat.core.number_format import unbroken
from pondheat.core.sources import BIBLIOGRAPHY
from pondheat.heat.evaporation import DEFAULT_EVAPORATION
from pondheat.heat.sky import CLEAR_SKY, CLOUD_RULES
from pondheat.show.arithmetic import Chain
from pondheat.show.controls import Choice
from pondheat.show.panels import Panel

TITLES = {
    "berdahl_martin": "Berdahl and Martin",
    "swinbank": "Swinbank",
    "brutsaert": "Brutsaert",
    "brunt_fao56": "Brunt, as in FAO-56",
    "idso_jackson": "Idso and Jackson",
    "clark_allen": "Clark and Allen",
    "walton": "Walton",
    "crawford_duchon": "Crawford and Duchon",
    "fao56": "FAO-56",
    "martin_berdahl": "Martin and Berdahl, cloud at 2 km",
}
HEADS = {
    "winter_clear": "clear",
    "winter_half": "half",
    "winter_overcast": "overcast",
    "winter": "October to April",
    "winter_lowest": "lowest station",
    "winter_highest": "highest station",
    "summer": "May to September",
    "day": "day",
    "night": "night",
    "all": "all hours",
    "rmse": "root mean square",
}


class SkyTable(Panel):
    """The shipped comparison, one record at a time, all of its rows and cells."""

    def __init__(self):
        self.table = read_table()
        pairs = dict.fromkeys(zip(self.table["record"], self.table["cloud"], self.table["kind"]))
        self.pairs = {str(number): pair for number, pair in enumerate(pairs)}
        words = {key: f"{record}: {kind}, cloud {cloud}" for key, (record, cloud, kind) in self.pairs.items()}
        super().__init__("skies", {"record": Choice("Compared with", words, "0")})

    def _move(self, values: dict) -> None:
        super()._move(values)
        self.picture.value = table_html(self.rows, self.kind)

    def redraw(self, record):
        """The rows of one record; they are shown as a table, so there is no chart."""
        name, cloud, self.kind = self.pairs[record]
        self.rows = self.table[(self.table["record"] == name) & (self.table["cloud"] == cloud)]
        ours = self.rows[self.rows["default"] == "yes"].iloc[0]
        self.ours, unit = ours, _unit(self.kind)
        skies = self.rows[self.rows["evaporation"].isin(["", DEFAULT_EVAPORATION])]
        better = int((skies["rmse"] < ours["rmse"]).sum())
        verb = "is" if better == 1 else "are"
        rank = "none is closer" if better == 0 else f"{better} of {len(skies)} {verb} closer"
        pair = f"{TITLES[ours['clear_sky']]} for the clear sky and {TITLES[ours['cloud_rule']]} for cloud"
        text = (
            f"Against {name} ({self.kind}, cloud {cloud}) our sky, {pair}, is {ours['all']:+.1f} {unit} off on average "
            f"and {ours['rmse']:.1f} {unit} from hour to hour; {rank}. {_caveat(self.kind, cloud)}"
        )
        return None, text.replace("-", "−")

    def arithmetic(self):
        """Sources of the formulae and the cells of our own row."""
        chain = Chain()
        unit = "delta_degC" if self.kind == WATER else "W/m**2"
        for key, head in HEADS.items():
            if pd.notna(self.ours[key]):
                chain.given(f"Ours, {head}", float(self.ours[key]), unit, "computed less record")
        return chain


def _unit(kind: str) -> str:
    return "K" if kind == WATER else "W/m²"


def _caveat(kind: str, cloud: str) -> str:
    if kind == WATER:
        return "The last rows change the evaporation formula instead of the sky."
    if kind == LONG_WAVE:
        return "The sky's radiation was measured, but nobody noted the cloud."
    assert kind == YEARS
    seen = ", from the cloud that was observed" if cloud == OBSERVED else ""
    return f"The sky's radiation in these years is probably computed, too{seen}."


def table_html(rows: pd.DataFrame, kind: str) -> str:
    """Rows of the comparison as an HTML table, ours marked with a star; empty columns are left out."""
    columns = [name for name in HEADS if rows[name].notna().any()]
    digits = 2 if kind == WATER else 1
    first = ["clear sky", "cloud", *(["evaporation"] if kind == WATER else [])]
    top = "".join(f"<th scope='col'>{head}</th>" for head in [*first, *(HEADS[name] for name in columns)])
    body = ""
    for _, row in rows.iterrows():
        star = " *" if row["default"] == "yes" else ""
        names = [TITLES[row["cloud_rule"]], *([FORMULA_INFO[row["evaporation"]].title] if kind == WATER else [])]
        cells = [f"{row[name]:z.{digits}f}".replace("-", "−") if pd.notna(row[name]) else "–" for name in columns]
        body += (
            f"<tr><th scope='row' class='ph-text'>{html.escape(TITLES[row['clear_sky']] + star)}</th>"
            f"{''.join(f'<td>{html.escape(unbroken(cell))}</td>' for cell in [*names, *cells])}</tr>"
        )
    caption = f"Computed less record, {_unit(kind)}; * is our default"
    sources = {record.source for record in CLEAR_SKY.values()} | {record.source for record in CLOUD_RULES.values()}
    listed = "".join(f"<li>{html.escape(BIBLIOGRAPHY[key])}</li>" for key in sorted(sources))
    ranged = "; ".join(
        f"{TITLES[sky.clear_by_sun.name]} with {TITLES[sky.cloud.name]}" for sky in skies_in_uncertainty()
    )
    return (
        "<div style='overflow-x: auto' tabindex='0' role='region' aria-label='Table of the sky formulae'>"
        f"<table class='ph-steps ph-bench ph-skies'><caption>{caption}</caption><thead><tr>{top}</tr></thead>"
        f"<tbody>{body}</tbody></table></div><p>Where the weather has no sky radiation of its own, our likely ranges "
        f"take these in turn: {html.escape(ranged)}. Half of the runs take the first.</p>"
        f"<details><summary>Sources of the formulae</summary><ul>{listed}</ul></details>"
    )


def panel() -> SkyTable:
    """The comparison of sky formulae."""
    return SkyTable()

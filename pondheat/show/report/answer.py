"""The answer of a decision sheet: what the cover saves, when it is paid back, what would overturn that; or no heat at all."""

from __future__ import annotations

from pondheat.analysis import power_cut as power_cuts
from pondheat.analysis.assessment import SHORT_SEASON
from pondheat.analysis.results import Assessment, too_warm_above
from pondheat.analysis.uncertain_inputs import UNCERTAIN_INPUTS
from pondheat.core import units
from pondheat.fish.temperature import WINTERING_DEPTH
from pondheat.show.report.html_parts import clipped, said, time
from pondheat.show.report.numbers import Numbers, kwh, years
from pondheat.show.report.trace import Step, given
from pondheat.text.uncertainty_text import measurement_text


class Answer:
    """Writes the answer of one assessment as HTML."""

    def __init__(self, found: Assessment, numbers: Numbers):
        self.sheet, self.found, self.numbers, self.trace = found.sheet, found, numbers, numbers.trace

    def html(self, what_if, cuts) -> str:
        """The answer, what would overturn it, and a line each of what was given beside it."""
        return self._answer() + self._break_our_number() + self._more(what_if, cuts)

    def _answer(self) -> str:
        if not self.sheet.is_heated:
            return self._no_heat()
        told = self._saving() if self.found.covered is not None else self._cost()
        return f'<p class="big">{told}</p>' + self._payback() + self._holding()

    def _saving(self) -> str:
        found, numbers, doubt = self.found, self.numbers, self.found.uncertainty
        taken = found.open.electricity_kwh + found.open.gas_kwh
        share = f" ({numbers.saving_share()})" if taken > 0 else ""
        if found.saving is None:
            told = self._more_or_less(found.saving_kwh, "takes", numbers.saving_kwh())
            band = (
                doubt
                and doubt.saving_kwh
                and numbers.band("saving-kwh", "Saving in energy", doubt.saving_kwh, self._two, "kWh")
            )
        else:
            told = self._more_or_less(found.saving.total, "costs", numbers.saving_money())
            band = (
                doubt
                and doubt.saving_money
                and numbers.band("saving-money", "Saving in money", doubt.saving_money, self._two_money, numbers.sign)
            )
            share = (
                f"; in energy it {'saves' if found.saving_kwh >= 0 else 'takes more:'} {numbers.saving_kwh()}{share}"
            )
        saved = found.saving_kwh if found.saving is None else found.saving.total
        if not band:
            return f"{told}{share}."
        if doubt.learned:  # the band is of another pond than the sheet's: the sheet's own numbers come first, together
            return f"{_by_the_sheet(told)}{share}; {'' if saved >= 0 else 'as a saving, '}{band}."
        band = f", {band}" if saved >= 0 else f" (as a saving, {band})"
        return told + (f"{band}{share}." if found.saving is not None else f"{share}{band}.")

    def _more_or_less(self, saved: float, verb: str, number: str) -> str:
        """What the cover saves, or, where it does not, takes or costs more."""
        return (
            f"The cover saves {number} over this season"
            if saved >= 0
            else f"The cover {verb} {number} more over this season"
        )

    def _two(self, value: float) -> str:
        return f"{units.significant(value, 2)} kWh"

    def _two_money(self, value: float) -> str:
        return self.numbers.money(value, 2)

    def _cost(self) -> str:
        numbers, doubt = self.numbers, self.found.uncertainty
        priced = self.found.open.cost is not None
        told = f"Open, the season takes {numbers.taken('open')}" + (
            f" and costs {numbers.total_money('open')}" if priced else ""
        )
        if doubt is not None and doubt.learned:
            told = _by_the_sheet(told)
        if doubt is not None:
            told += ", " + (
                numbers.band("open-money", "Cost open", doubt.open_money, self._two_money, numbers.sign)
                if priced
                else numbers.band("open-kwh", "Energy open", doubt.open_kwh, self._two, "kWh")
            )
        return f"{told}. The sheet has no cover, so there is no saving to tell."

    def _payback(self) -> str:
        found, numbers = self.found, self.numbers
        if found.payback_years is None:
            return ""
        if found.payback_years == float("inf"):
            told = f"Payback: {numbers.payback()}. At these prices the cover saves nothing that could pay for it"
        else:
            told = f"It is paid back after {numbers.payback()}"
        band = None if found.uncertainty is None else found.uncertainty.payback
        if band is not None and min(found.payback_years, band.low) < float("inf"):  # else “never to never”
            told += "; " + numbers.band("payback", "Payback", found.uncertainty.payback, years, "seasons")
        leaves = numbers.leaves()
        if leaves is not None:
            if found.payback_years > self.sheet.cover_plan.life:
                told += "; the cover does not last that long"
            told += f". Over its life {leaves} in today's money"
        short = (
            " This season is short; its saving is taken for that of a year."
            if len(found.open.hours) / 24 < SHORT_SEASON
            else ""
        )
        return f"<p>{told}.{short}</p>"

    def _holding(self) -> str:
        found, numbers = self.found, self.numbers
        season, told = found.as_described, []
        if season.short_hours:
            short = numbers.count("short", "Hours the heater is short", season.short_hours, "hours")
            told.append(
                f"The heater is short in {short} hours, the water falls to {self._lowest(list(self.numbers.seasons)[-1])}: this is the bill of a "
                "pond not kept as warm as asked."
            )
        if found.covered is not None and found.open.short_hours > season.short_hours:
            told.append("Open, the heater is short in more hours; kept as warm, the cover would save more.")
        limit = too_warm_above(self.sheet)
        if season.highest_temp > limit:
            hottest = numbers.count(
                "highest", "Highest temperature of the water", season.highest_temp, "°C", lambda v: f"{v:.1f} °C"
            )
            told.append(
                f"Too warm at {hottest}: lift the cover on sunny days."
                if found.covered is not None
                else f"Too warm at {hottest}."
            )
        return f"<p>{' '.join(told)}</p>" if told else ""

    def _lowest(self, which: str) -> str:
        season = self.numbers.seasons[which]
        return self.numbers.count(
            f"lowest-{which}",
            f"Lowest temperature of the water, {which}",
            season.lowest_temp,
            "°C",
            lambda v: f"{units.digits(v, 1)} °C",
        )

    def _no_heat(self) -> str:
        found, numbers = self.found, self.numbers
        depth = self.trace.number(
            "wintering",
            "Depth of ponds in which farmed carp pass the winter",
            [given(WINTERING_DEPTH.note, WINTERING_DEPTH.value, "m", WINTERING_DEPTH.source)],
            lambda v: f"{v:g} m",
            (WINTERING_DEPTH.source,),
        )
        lowest = f"{self._lowest('open')} at its lowest" + (
            f", {self._lowest('covered')} under the cover" if found.covered is not None else ""
        )
        ice = "open it carries ice" if found.open.most_ice_kg > 0 else "and no ice"
        told = (
            f'<p class="big">No heat, no heating cost. That is normal practice for carp that pass the winter unfed in farm ponds '
            f"about {depth} deep.</p><p>A shallower garden pond with its filter running gets colder. This one, {numbers.depth()} deep "
            f"on average, falls to {lowest} in this weather, {ice}. "
        )
        if found.open.electricity_kwh > 0:
            cost = f", {numbers.total_money('open')}" if found.open.cost is not None else ""
            told += f"Its pump still takes {numbers.taken('open')}{cost} over the season. "
        else:
            told += "The sheet names no pump; one would still cost. "
        return told + "Ask a fish vet about weak or young fish.</p>"

    def _break_our_number(self) -> str:
        doubt = self.found.uncertainty
        if doubt is None or not doubt.variance_shares:
            return ""
        first = doubt.measure_first[0]
        told = self.trace.sentence(
            "break",
            "What the answer would be if this one unknown lay at its low or its high end",
            measurement_text(first, self.sheet.currency),
            "mean over a fifth of the runs, see “The runs”",
            ("practice",),
        )
        part = self.trace.number(
            "matters",
            "Share of the spread that this alone explains",
            [
                given("explained ÷ whole variance of the runs", first.share, "", "runs of the season, see “The runs”"),
                Step("in per cent", (("", first.share, ""), ("", 100.0, "%")), "×", "%", "by definition"),
            ],
            lambda v: f"{v:.0f} %",
        )
        return (
            f"<p><b>Break our number.</b> {told} Alone, “{said(UNCERTAIN_INPUTS[first.name].words)}” explains {part} of the band from "
            f"{self.numbers.runs()} runs.</p>"
        )

    def _more(self, what_if, cuts) -> str:
        lines = []
        if what_if is not None and sum(row.of_pond for row in what_if.rows) > 1:
            base, *others = [row for row in what_if.rows if row.of_pond]
            warm = [row for row in others if row.as_warm] or list(others)
            best = min(warm, key=lambda row: row.taken_kwh if row.money is None else row.money)
            value, write, unit = (
                (best.taken_kwh, kwh, "kWh")
                if best.money is None
                else (best.money, self.numbers.money, self.numbers.sign)
            )
            was = base.taken_kwh if best.money is None else base.money
            amounts = [
                self.trace.number(
                    f"what-if-{key}", words, [given(words, one, unit, "what_if: a whole season of its own")], write
                )
                for key, words, one in (("best", best.words, value), ("base", base.words, was))
            ]
            kept = (
                "that keeps the water as warm, and too warm in no more hours" if best.as_warm else "of those compared"
            )
            lines.append(
                f"Cheapest choice {kept}: {self.trace.sentence('what-if', 'The choice', clipped(best.words, 60), 'what_if.CHOICES')}, "
                f"{amounts[0]}; the sheet as it is, {amounts[1]}."
            )
        if cuts:
            lines.append(self._power_cut(*cuts))
        return f"<p>{' '.join(lines)}</p>" if lines else ""

    def _power_cut(self, cut: power_cuts.PowerCut, *others: power_cuts.PowerCut) -> str:
        def hours(key: str, title: str, value: float) -> str:
            step = given(title, value, "h", "power_cut.power_cut")
            return self.trace.number(key, title, [step], lambda v: f"{units.significant(v, 2)} h")

        def cools(one: power_cuts.PowerCut, mark: str, colder: str = " colder") -> str:
            falls = [(fall, after) for fall, after in one.hours_to.items() if after < float("inf")]
            if not falls:
                return "the water hardly falls"
            fall, after = falls[-1]
            by = self.trace.number(
                f"fall{mark}",
                "Fall of the water",
                [given("fall looked for", fall, "K", "power_cut.FALLS")],
                lambda v: f"{v:g} K",
            )
            title = f"Hours until the water has fallen so far, {_side(one)}"
            return f"{by}{colder} after {hours(f'cut-hours{mark}', title, after)}"

        told = f"Power gone on {time(cut.start)}, {_side(cut)}: {cools(cut, '')}"
        for number, one in enumerate(others, 2):
            told += f" ({_side(one)} {cools(one, f'-{number}', '')})"
        if cut.oxygen_hours is not None:
            told += f", oxygen for {hours('oxygen-hours', 'Hours of oxygen without power', cut.oxygen_hours)} at best. Air first"
        return told + "."


def _by_the_sheet(told: str) -> str:
    """A sentence said to be of the sheet, where what a meter taught stands beside it."""
    return f"By the sheet {told[0].lower()}{told[1:]}"


def _side(cut: power_cuts.PowerCut) -> str:
    return "cover on" if cut.covered else "open"

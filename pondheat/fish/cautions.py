"""The one text of the cautions: what stands beside a result wherever it could lead to work on a pond.

None of these checks anything. They say what this workbook does not know and who does.
"""

from __future__ import annotations

from dataclasses import dataclass

from pondheat.sources import BIBLIOGRAPHY

STANDING = ("This is an estimate for learning: it does not check wiring, gas, structure, water or the health of fish; "
            "your local code and licensed people decide.")


@dataclass(frozen=True)
class Caution:
    """A caution: what it is about, the text as shown, and keys of its sources in the bibliography."""

    title: str
    text: str
    sources: tuple[str, ...] = ("practice",)

    def __post_init__(self):
        for key in self.sources:
            if key not in BIBLIOGRAPHY:
                raise KeyError(f"source {key!r} is not in the bibliography")


CAUTIONS: dict[str, Caution] = {
    "electricity": Caution(
        "Electricity near water",
        "Mains electricity and pond water can kill. An outdoor circuit should have a 30 mA residual-current device, "
        "which cuts the power at once when current leaks. Switch off and unplug before hands go into the water. Rules "
        "for ponds differ: your local code and a licensed electrician decide."),
    "children": Caution(
        "Children",
        "A cover that will not bear a child is a trap that looks like a floor. Fence the pond or fix a grid made to "
        "carry the load, and keep children away while a cover is off or loose. A covered pond needs the same watching "
        "as an open one."),
    "gas_exchange": Caution(
        "Air under a cover",
        "Fish breathe through the water's surface, and a tight lid stops the exchange. Under any cover keep water "
        "moving, leave vents open, and let the air pump draw its air from outside. If fish gasp at the surface, lift "
        "the cover first and look for the reason after."),
    "burning": Caution(
        "Burning anything",
        "Never burn gas, oil, wood or charcoal in a closed shed or pond house: carbon monoxide has no smell. Fit an "
        "alarm for it. Run a generator outdoors only, at least 20 ft (6 m) from the house and away from windows. Gas "
        "work is for licensed fitters.",
        ("cpsc_generators",)),
    "refrigerant": Caution(
        "Heat pumps",
        "Do not open the pipes of a heat pump. Its refrigerant can freeze skin and may burn or choke in a closed room. "
        "Filling, mending and emptying are for a certified technician. You may keep the coil free of leaves and the "
        "water flowing."),
    "structure_and_wind": Caution(
        "Snow, wind and walking",
        "This workbook never says that a cover is strong enough. Wind can lift a loose sheet, and wet snow is heavy. "
        "Tie covers down, clear snow from the side, and never step on one. Anything that people may walk on needs a "
        "structural engineer."),
    "legionella": Caution(
        "Warm water and mist",
        "Legionella bacteria, which can harm lungs, grow in warm water: between 20 and 45 °C says the UK's HSE, "
        "between 25 and 45 °C the US CDC. They reach people as fine mist. Avoid spray and mist in closed spaces, and "
        "ask your local health authority if in doubt.",
        ("hse_legionella", "cdc_legionella")),
    "fish_disease": Caution(
        "Sick fish",
        "No water temperature is free of disease, and warming sick fish is no treatment. If fish are ill or dying, ask "
        "a fish vet; some diseases must by law be reported to the competent authority. Change the temperature slowly, "
        "at most about 1 degree a day by custom."),
    "power_cut": Caution(
        "When the power fails",
        "Air first, drawn from outside: a battery pump keeps fish alive. Lid on, with a vent open. If no air can be "
        "had, leave the pond part open: cold is slower than suffocation. Heat comes last; bring it back at 1 degree a "
        "day. Know your hours of oxygen as well as your hours of warmth."),
}

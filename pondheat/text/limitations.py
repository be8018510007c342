"""What the season's model leaves out, with sizes, and how far formulae like these were from measured water."""

from __future__ import annotations

# What is left out, and how much it amounts to. DEVELOPERS.md has the same table; a test compares them.
LEFT_OUT: tuple[tuple[str, str], ...] = (
    (
        "layers of warm and cold water",
        "none in a pond with its pump running; a still pond may be several kelvin warmer at the top than at the "
        "bottom (judgement)",
    ),
    ("strength of ice", "we give a thickness, but never say whether it would hold anybody"),
    (
        "snow on the ice, ice on the walls",
        "ice is a bare, even sheet: published degree-day coefficients for a lake with snow are 0.6 to 0.9 of those for "
        "a windy lake without",
    ),
    (
        "splash and open waterfalls",
        "a rule of thumb in the trade: 0.5–1 % of the hourly flow evaporates per day (common practice, no source)",
    ),
    ("rain", "10 mm on 10 m² and [10 K] colder: 1.2–1.5 kWh"),
    ("snow melting on the water", "10 kg/m² on 10 m²: about 11 kWh"),
    ("topping up what evaporates", "small: replacing 1 kg at [18 °C] by water at [8 °C] takes 0.012 kWh"),
    (
        "sun that warms the cover itself",
        "lowers the loss by day; without it the cover's saving comes out a little too small",
    ),
    (
        "ground in its first season of heating, moving groundwater",
        "the first season costs more; groundwater is not covered",
    ),
)
# What was measured, how far formulae and models were from it, and the source.
MEASURED: tuple[tuple[str, str, str], ...] = (
    (
        "A shallow, unheated, open lake, hour by hour from July to October, no number fitted, the sky formula chosen "
        "partly on this record",
        "[0.8 K] (root mean square), [0.1 K] too warm on average, [2.7 K] in the worst hour. In a station's full wind, "
        "Carrier's and Smith, Löf and Jones's formulae cool too much; outdoors, Shah's cools too little",
        "data/measured/shallow_lake_2018.csv, Central Sands Lakes Study 2018; a test runs it",
    ),
    (
        "An outdoor pool, hour by hour over 56 days, by the best published model",
        "[1.1 K] at most",
        "Woolley, Harrington, Modera 2011, Building and Environment (memory)",
    ),
    (
        "Eleven evaporation formulae against measured pools",
        "18 % on average for the best, 26 % for the second",
        "Shah 2002",
    ),
    (
        "How an outdoor heated pool loses its heat overnight",
        "evaporation 56 %, radiation 26 %, convection 18 %",
        "Smith, Löf, Jones 1994, Solar Energy 53(1) (abstract read)",
    ),
    ("Any heated or covered pond", "not known: we found no such measurement to test any of this", ""),
)

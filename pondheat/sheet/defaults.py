"""Default values of a pond sheet that the form and the comparison of covers share."""

from __future__ import annotations

from pondheat.core.sources import Constant

LID_U_VALUE = Constant(
    0.7,
    "W/m**2/K",
    "practice",
    "50 mm of EPS between the surface resistances of ISO 6946 gives 0.65; joints make it 0.7 (judgement)",
)
# U-values that the form assumes, by kind of cover (judgement)
COVER_U_VALUES = {"sheet": "3 W/m²K", "insulated lid": f"{LID_U_VALUE.value:g} W/m²K", "floating": "5 W/m²K"}

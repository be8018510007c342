"""Questions of page 06, walls and ground."""

from __future__ import annotations

from pondheat.lesson.question_bank.question import Again, Inverse, Misconception, Question


def _u_with(bare: float, thickness: float, conductivity: float) -> float:
    """U-value [W/(m²·K)] of a wall with U-value `bare` and insulation; thickness: [mm], conductivity: [W/(m·K)]."""
    return 1 / (1 / bare + thickness / 1000 / conductivity)


QUESTIONS = (
    Question(
        "6.1",
        "06_walls_and_ground",
        "A pond has {area:g} m² of wall with a U-value of {u:g} W/(m²·K), and {floor:g} m² of floor. The "
        "water is [{rise:g} K] warmer than the air. How many watts do the walls lose?",
        "W",
        {"area": 15.6, "u": 0.5, "rise": 8, "floor": 10},
        {"area": (9.6, 12, 13.5, 15.6, 18), "u": (0.4, 0.5, 0.6, 0.8), "rise": (6, 7, 8, 12)},
        lambda area, u, rise, floor: area * u * rise,
        (
            Misconception(
                "the floor's area",
                lambda area, u, rise, floor: floor * u * rise,
                "That uses the area of the floor. Use the area of the walls.",
            ),
            Misconception(
                "both areas",
                lambda area, u, rise, floor: area * u * floor,
                "You multiplied one area by the other. How many degrees warmer is the water?",
            ),
            Misconception(
                "resistance for U",
                lambda area, u, rise, floor: area / u * rise,
                "It looks as if you divided by U. A smaller U-value must mean less heat loss.",
            ),
        ),
        "The U-value is how many watts pass through one square metre for [one degree].",
        "W = area × U × difference.",
        "{area:g} × {u:g} × {rise:g} = {right} W.",
        again=Again(
            "A raised tank has {length:g} m of wall, 1.2 m high, with a U-value of {u:g} W/(m²·K), and {floor:g} m² of "
            "floor. Its walls lose {told:g} W. How many K warmer than the air is the water?",
            {"area": (4.8, 6, 7.2, 9, 10.8), "u": (0.3, 0.7, 0.9), "rise": (6.5, 7.5, 9.5, 14.5), "floor": (3,)},
            stated={"length": ("area", 1 / 1.2)},
            worked="{told:g} ÷ ({length:g} × 1.2 × {u:g}) = [{right} K].",
            inverse=Inverse(
                "rise",
                "delta_degC",
                (
                    Misconception(
                        "the floor's area",
                        lambda told, u, floor, **_: told / (floor * u),
                        "That uses the area of the floor. These watts pass through the walls.",
                    ),
                    Misconception(
                        "length as area",
                        lambda told, area, u, **_: told / (area / 1.2 * u),
                        "You used the length of the wall as its area. How high is it?",
                    ),
                    Misconception(
                        "forgot U",
                        lambda told, area, **_: told / area,
                        "That's the watts through one square metre. How many of them does each degree cause?",
                    ),
                    Misconception(
                        "multiplied by U",
                        lambda told, area, u, **_: told / area * u,
                        "It looks as if you multiplied by U. A wall that loses little for each degree needs more "
                        "degrees for the same watts.",
                    ),
                ),
                "How many watts do the walls lose for [one degree]?",
                "Difference = W ÷ (area × U).",
            ),
        ),
    ),
    Question(
        "6.2",
        "06_walls_and_ground",
        "A bare wall of {area:g} m² with a U-value of {bare:g} W/(m²·K) gets {thickness:g} mm of "
        "insulation with a conductivity of {k:g} W/(m·K). The water is [{rise:g} K] warmer than the air. "
        "How many watts does the wall lose now?",
        "W",
        {"bare": 2.1, "thickness": 50, "k": 0.035, "area": 15.6, "rise": 10},
        {"thickness": (30, 40, 50, 60, 80), "bare": (1.9, 2.1, 2.5, 3.0), "area": (12, 15.6, 18)},
        lambda bare, thickness, k, area, rise: _u_with(bare, thickness, k) * area * rise,
        (
            Misconception(
                "added U-values",
                lambda bare, thickness, k, area, rise: (bare + k / (thickness / 1000)) * area * rise,
                "It looks as if you added U-values. More layers must lose less: add the resistances instead.",
            ),
            Misconception(
                "millimetres as metres",
                lambda bare, thickness, k, area, rise: _u_with(bare, 1000 * thickness, k) * area * rise,
                "You treated millimetres as metres. Fifty millimetres is 0.05 m.",
            ),
            Misconception(
                "bare",
                lambda bare, thickness, k, area, rise: bare * area * rise,
                "That's the bare wall, before the insulation.",
            ),
            Misconception(
                "resistance for U",
                lambda bare, thickness, k, area, rise: area * rise / _u_with(bare, thickness, k),
                "You multiplied by the resistance. Turn it back into U first: U is 1 divided by it.",
            ),
            Misconception(
                "insulation alone",
                lambda bare, thickness, k, area, rise: k / (thickness / 1000) * area * rise,
                "That's the insulation alone. The bare wall behind it adds resistance too.",
            ),
        ),
        "Turn both into resistances first.",
        "R = 1/U + d/k (d in metres); U = 1/R; then area × U × difference.",
        "R = 1/{bare:g} + 0.001 × {thickness:g}/{k:g}; 1/R × {area:g} × {rise:g} = {right} W.",
        again=Again(
            "A raised tank has {length:g} m of bare wall, 1.2 m high, with a U-value of {bare:g} "
            "W/(m²·K). It gets {thickness:g} mm of insulation with a conductivity of {k:g} W/(m·K). "
            "The water is [{rise:g} K] warmer than the air. How many watts does the wall lose now?",
            {"thickness": (20, 25, 100, 120), "bare": (1.6, 2.8, 3.5), "area": (6, 7.2, 9, 10.8), "rise": (8, 12, 14)},
            stated={"length": ("area", 1 / 1.2)},
        ),
    ),
)

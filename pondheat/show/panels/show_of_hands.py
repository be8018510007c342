"""A show of hands: votes for each option as bars, and what to do next. Nothing is saved."""

from __future__ import annotations

from collections.abc import Sequence

import ipywidgets

from pondheat.show import figures
from pondheat.show.controls import Choice, Control, Slider, as_text, live, status
from pondheat.show.panels import STYLE

MOST = 40  # hands for one option
AGREED = 0.7  # share of all hands from which most agree (judgement)
SPLIT = 0.35  # share from which the second option has a camp of its own (judgement)
LETTERS = "ABCDE"
NOT_YET = ""


class ShowOfHands(ipywidgets.VBox):
    """Hands for up to five options, shown as letters so that it serves any question; the tutor counts."""

    def __init__(self):
        self.controls: dict[str, Control] = {
            letter: Slider(f"Hands for {letter}", 0, 0, MOST, 1, "hands") for letter in LETTERS
        }
        self.controls["right"] = Choice(
            "Which one did the picture show?", {NOT_YET: "not seen yet", **{one: one for one in LETTERS}}, NOT_YET
        ).add_class("ph-inline")
        self.picture, self.words, self.error = (ipywidgets.HTML() for _ in range(3))
        self._sentence = ""
        left = ipywidgets.VBox(list(self.controls.values())).add_class("ph-left")
        right = ipywidgets.VBox([self.picture, self.words]).add_class("ph-right")
        super().__init__(
            [
                ipywidgets.HTML(f"<style>{STYLE}</style>"),
                ipywidgets.Box([left, right]).add_class("ph-pair"),
                self.error,
            ]
        )
        self.add_class("ph-panel")
        live(self.controls, self._move, self.error)

    def _move(self, values: dict) -> None:
        right = values.pop("right")
        hands = {letter: int(count) for letter, count in values.items()}
        shown: dict[str, int] = {letter: count for letter, count in hands.items() if count} or dict.fromkeys(
            LETTERS[:3], 0
        )
        self.picture.value = figures.bars(
            shown,
            "hands",
            "Hands",
            {letter: str(count) for letter, count in shown.items()},
            right if right in shown else None,
            most=1.15 * max(5, *shown.values()),
        ).html()
        self._sentence = before(list(hands.values())) if right == NOT_YET else after(hands, right)
        self.words.value = status(self._sentence)

    def sentence(self) -> str:
        """The present suggestion."""
        return self._sentence

    def _repr_mimebundle_(self, **kwargs):
        return as_text(super()._repr_mimebundle_(**kwargs), self.sentence())


def before(hands: Sequence[int]) -> str:
    """What to do before the chart is shown, from the spread of hands alone, without a clue to the right option.

    >>> before([9, 1, 0])
    'Most agree, 9 of 10. Ask one of them why, then one who chose otherwise; then look at the picture.'
    """
    whole, top = sum(hands), sorted(hands, reverse=True)
    if not whole:
        return "Ask for hands, choice by choice, and set the sliders. Everyone chooses once."
    if top[0] >= AGREED * whole:
        if top[0] == whole:
            return f"All {whole} agree. Ask for the best reason against it; then look at the picture."
        return (
            f"Most agree, {top[0]} of {whole}. Ask one of them why, then one who chose otherwise; then look at the "
            "picture."
        )
    if top[1] >= SPLIT * whole:
        return (
            f"Two camps, {top[0]} and {top[1]} of {whole}. Two minutes with a neighbour who chose otherwise, each "
            "tries to convince the other; hands again; then look at the picture."
        )
    if 2 * top[0] >= whole:
        return (
            f"One choice is ahead, {top[0]} of {whole}, but many chose otherwise. Hear one reason for each choice that "
            "has hands; then look at the picture."
        )
    return (
        f"An even spread over {whole} hands: nobody knows, which is a good moment to learn it. Do not argue; look at "
        "the picture straight away, and ask what surprises."
    )


def after(hands: dict[str, int], right: str) -> str:
    """What to do once the chart was shown; right: the letter of the right option.

    >>> after({"A": 2, "B": 8}, "B")
    "8 of 10 got it right. Don't dwell on it: one exercise, then move on."
    """
    whole = sum(hands.values())
    if not whole:
        return "No hands were counted."
    found, top = hands.get(right, 0), max(hands, key=hands.__getitem__)
    if found >= AGREED * whole:
        return f"{found} of {whole} got it right. Don't dwell on it: one exercise, then move on."
    if top != right and hands[top] > whole / 2:
        return (
            f"Most chose another, {top}: {hands[top]} of {whole}. Let one of them say how it looked right; the page "
            "and its notes name that mistake. Then do its exercises together, slowly."
        )
    return (
        f"{found} of {whole} got it right. Let one who did and one who didn't say what they saw in the picture; then "
        "the first exercise in pairs."
    )


def panel() -> ShowOfHands:
    """The panel for a show of hands."""
    return ShowOfHands()

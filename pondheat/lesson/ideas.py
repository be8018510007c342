"""The seven ideas of the workbook, and where each is predicted, met, practised, tested again and in the challenge.

Questions, reasons to choose and the challenge's steps carry the ideas' keys as tags; here is only what no tag says.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pondheat.lesson.challenge import STEPS
from pondheat.lesson.questions import BANK
from pondheat.lesson.reasons import REASONS


@dataclass(frozen=True)
class Idea:
    """An idea: its key in the tags, its name, and the topics (notebooks without their numbers) of its pages.

    predicted: pages that ask for a guess about it; met: pages whose picture shows it.
    """

    key: str
    name: str
    predicted: tuple[str, ...]
    met: tuple[str, ...]


IDEAS = (
    Idea("surface", "Surface, not volume", ("start_here", "warming_water"), ("start_here", "warming_water")),
    Idea("hours covered", "Hours covered", ("covers",), ("start_here", "covers")),
    Idea("evaporation", "Evaporation", ("moist_air", "open_surface"), ("moist_air", "open_surface")),
    Idea("same weather", "The same weather", ("two_spells",), ("two_spells",)),
    Idea("degree-hours", "Degree-hours", ("weather",), ("weather",)),
    Idea("fair line", "A fair line", ("two_spells",), ("two_spells",)),
    Idea("payback", "Payback with doubt", ("payback",), ("payback",)),
)
HEADS = ("idea", "predicted", "met", "practised", "tested again", "in the challenge")


def overview(pages: Sequence[str], returns: Mapping[str, Sequence[str]]) -> list[tuple[str, ...]]:
    """A row for each idea under HEADS; a cell without anything is "".

    pages: names of all notebooks; returns: by key of a question the later notebooks that ask it again.
    """
    return [_row(idea, pages, returns) for idea in IDEAS]


def _row(idea: Idea, pages: Sequence[str], returns: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    tagged = [question for question in BANK.values() if idea.key in question.ideas]
    reasons = [one for one in REASONS if one.idea == idea.key]
    practised = [question.key for question in tagged] + _reasons_on({one.notebook for one in reasons if not one.again})
    again = [f"{one.key} on {_numbers(returns[one.key])}" for one in tagged if returns.get(one.key)]
    again += _reasons_on({one.notebook for one in reasons if one.again})
    steps = [step.title for step in STEPS if idea.key in step.ideas]
    predicted, met = (_numbers([page for page in pages if page[3:] in topics]) for topics in (idea.predicted, idea.met))
    return idea.name, predicted, met, "; ".join(practised), "; ".join(again), "; ".join(steps)


def _reasons_on(pages: set[str]) -> list[str]:
    return [f"reasons on {_numbers(sorted(pages))}"] if pages else []


def _numbers(pages: Sequence[str]) -> str:
    """“page 02” or “pages 02, 05”; "" for none."""
    named = ", ".join(page[:2] for page in pages)
    return f"{'page' if len(pages) == 1 else 'pages'} {named}" if pages else ""

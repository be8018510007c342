"""What a question for a reason is: reasons to choose from, of which one is true, and a reply to each of the others."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class ReasonQuestion:
    """A “why” with reasons to choose from, of which `right` is the true one.

    key: in the reader's progress; choices: text of each reason; replies: to each wrong one, what speaks for it and what
    it misses; both by the key of the choice; idea: key of `lesson.ideas` that it asks for; again: whether it tests an
    idea of an earlier page in another dress, among the questions from earlier pages.
    """

    key: str
    notebook: str
    ask: str
    choices: Mapping[str, str]
    right: str
    replies: Mapping[str, str]
    idea: str = ""
    again: bool = False

"""Errors for values that people type; each message is a sentence for the reader."""

from __future__ import annotations


class Unreadable(ValueError):
    """A typed value cannot be read; the message is a sentence for the person who typed it."""


class WrongDimension(Unreadable):
    """A typed value was read, but measures something else than what is asked for (a power for an energy, say)."""


OTHER_CURRENCY = "is another currency"  # what an `OtherCurrency` says of a word


class OtherCurrency(Unreadable):
    """A typed amount or price is in another currency than the reader's."""

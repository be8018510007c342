"""Helper of the weather tests: searching the notes of a reading."""


def says(found, text: str) -> bool:
    """Whether a note contains the text."""
    return any(text in note for note in found.notes)

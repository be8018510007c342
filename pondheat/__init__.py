"""Where an outdoor fish pond's heat goes, what it costs, and what a cover saves: the library behind the workbook."""

__version__ = "0.1.0"

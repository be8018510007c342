"""The answer about the reader's own pond as HTML: the short answer, the cautions, and everything else folded."""

from __future__ import annotations

import html
from collections.abc import Callable, Iterable, Iterator

from pondheat.analysis.results import Assessment
from pondheat.analysis.scenarios import what_if
from pondheat.core import display_units
from pondheat.core.number_format import unbroken
from pondheat.fish import cautions
from pondheat.season.weather import weather
from pondheat.show.choices_figure import choices
from pondheat.show.controls import fold
from pondheat.show.tables import page_text, table_html
from pondheat.text import summary, what_if_text
from pondheat.text.best_choice import shortfalls
from pondheat.text.pond_answer import Phrase, PondAnswer
from pondheat.text.result_table import ResultTable
from pondheat.text.season_tables import season_tables

REPORT = "my_pond_report.html"
OPENS = f'<a href="{REPORT}" target="_blank" rel="noopener">'
READY = (
    f"<p><b>Your decision sheet is ready: {OPENS}open it and print it</a></b>. It is one page for the shed door, and "
    "opens in its own tab. It lists what is still a default.</p>"
)
PENDING = "Working out how sure this is …"


def headline_html(answer: PondAnswer, example: str = "") -> str:
    """The headline, which stays in view; example: a sentence on what is still a default, or ""."""
    chip = f'<p class="ph-example">{page_text(example)}</p>' if example else ""
    return (
        f'<div class="ph-verdict">{chip}<p class="ph-headline" role="status">'
        f"{_phrase(answer.headline, 'amount', 'coldest')}</p></div>"
    )


def answer_html(answer: PondAnswer) -> str:
    """The lines below the headline and the warnings: never folded."""
    warnings = "".join(f"<p>{page_text(text)}</p>" for text in answer.warnings)
    caution = f'<div class="ph-caution">{warnings}</div>' if warnings else ""
    return f'<div class="ph-verdict">{_lines(answer.lines)}{caution}</div>'


def sure_html(answer: PondAnswer, pending: bool = False) -> str:
    """What belongs to the headline, how sure it is and what no heat means: never folded.

    pending: whether the likely range is still to come.
    """
    sure = (PENDING,) if pending else answer.sure
    unheated = [answer.unheated] if answer.unheated else []
    return (
        f'<div class="ph-verdict"><p class="ph-beside-answer">{_phrase(answer.beside)}</p>'
        f"{_lines([('How sure?', *sure), *unheated])}</div>"
    )


def _lines(lines: Iterable[tuple[str, ...]]) -> str:
    """Lines as a list of terms: each a title and its paragraphs."""
    made = ""
    for title, *said in lines:
        kind = ' class="ph-asked"' if title.endswith("?") else ""
        texts = " ".join(f"<p>{page_text(one)}</p>" for one in said)
        made += f"<div><dt{kind}>{page_text(title)}</dt><dd>{texts}</dd></div>"
    return f'<dl class="ph-lines">{made}</dl>' if made else ""


def _phrase(phrase: Phrase, *bold: str) -> str:
    """A phrase as HTML, with the numbers of these names in bold; its likely range stays on one line."""
    numbers = {name: page_text(text) for name, text in phrase.numbers.items()}
    for name in bold:
        if name in numbers:
            numbers[name] = f"<b>{numbers[name]}</b>"
    return unbroken(html.escape(phrase.pattern, quote=False).format(**numbers))


def result_html(found: Assessment, table: what_if.ScenarioTable, answer: PondAnswer) -> str:
    """The link to the decision sheet and the cautions; folded, the choices, the details and the season's numbers."""
    preferred = display_units.load()
    picture = choices(table.grouped, "your-pond", found.sheet.currency, shortfalls(table)).html()
    details = "".join(f"<li>{page_text(text)}</li>" for text in answer.rest)
    season = "".join(table_html(one) for one in season_tables(found, preferred))
    notes = "".join(
        f"<li>{page_text(note)}</li>"
        for note in (weather.summary(found.weather), *summary.how_it_was_worked_out(found))
    )
    said = "".join(f"<li>{page_text(text)}</li>" for text in what_if_text.remarks(table))
    return (
        f'<div class="ph-words">{READY}</div>{cautions_html(found)}'
        + fold("Your choices, side by side", picture, unfolded=True)
        + fold(
            "All choices, as a table",
            f'{table_html(what_if_text.choice_table(table, preferred))}<div class="ph-words"><ul>{said}</ul></div>',
        )
        + fold("The answer in detail", f'<div class="ph-words"><ul>{details}</ul></div>')
        + fold(
            "The whole season, in numbers",
            f'{season}<div class="ph-words"><p>How this was worked out:</p><ul>{notes}</ul></div>',
        )
    )


def choice_ranges(table: what_if.ScenarioTable, dropped: Callable[[], bool]) -> Iterator[str]:
    """The likely difference that each choice makes, as HTML: again after each row, the best choice first."""
    yield _choice_ranges_html(table)
    for better in what_if.with_likely_ranges(table, dropped=dropped):
        yield _choice_ranges_html(better)


def _choice_ranges_html(table: what_if.ScenarioTable) -> str:
    alike = "room and price" if table.context.sheet.room else "winter, price and wind"
    pending = {row.key for row in what_if.pending_rows(table)}
    rows = sorted((row for row in table.rows if row.likely or row.key in pending), key=lambda row: row.worth)
    caption = (
        "Likely difference from your pond as it is. It covers 8 in 10 of 200 runs, each comparing both with the same "
        f"{alike}"
    )
    cells = tuple((row.words, what_if_text.likely_difference(row, table) or "working it out …") for row in rows)
    return table_html(ResultTable(caption, ("", "likely difference"), cells))


def cautions_html(found: Assessment) -> str:
    """The cautions for this pond; the general one is shown with the power cut."""
    chosen = [
        cautions.CAUTIONS[key]
        for key in ("gas_exchange", "children", "burning", "refrigerant", "electricity")
        if summary.concerns(key, found)
    ]
    lines = "".join(f"<p><b>{html.escape(one.title)}.</b> {page_text(one.text)}</p>" for one in chosen)
    return f'<div class="ph-caution">{lines}</div>'

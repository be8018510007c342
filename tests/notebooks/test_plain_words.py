"""Pages, exercises, cards, papers and what the library says are in the plain English of today; the pages are short."""

import ast
import html
import importlib
import json
import re
from pathlib import Path

import pytest
import reading_aloud
import refresh_tutor_notes
from usual_cases import all_in_one

import pondheat
from pondheat.core.number_format import unbroken
from pondheat.front_door import opening
from pondheat.lesson import slips
from pondheat.lesson.questions import BANK
from pondheat.lesson.reasons import REASONS

WORKBOOK = reading_aloud.WORKBOOK
STORED = Path(opening.__file__).parent / "labextensions" / "pondheat-open" / "served" / "stored"
MOST_WORDS = 9810  # in the text cells of all pages together; exercises and what cells print are not counted
RADIATION = "radiation to the sky"  # “long wave” is for the page with its formula, and for the glossary's entry

# A pattern of the old dialect: what to write instead.
PLAINER = {
    r"\breckon(s|ed|ing)?\b": "work out, estimate or assume",
    r"\bwho(so)?ever\b": "anyone who, or “if you …”",
    r"\b(hold|holds|holding|held)\b[^.?!]{0,40}\bagainst\b": "check against, compare with",
    r"\bby lot\b": "at random",
    r"\bwhat leaves\b|\bheat (that )?leaves\b": "heat loss, is lost",
    r"\blong[ -]wave\b": RADIATION,
    r"\bstands?\b(?! up)|\bstood\b|\bstanding\b(?! charge| sentence)": "is, are, is written",
    r"\blies? (on|off|over|in|below|above|between|beside|apart)\b": "is, are",
    r"\bbears?\b|\bborne\b": "has, carries, holds",
    r"\bnought\b": "zero",
    r"\blog book\b": "record",
    r"\bdear(er|est)?\b": "expensive, costs more",
    r"\bbands?\b": "likely range",
    r"\bstart values?\b": "default",
    r"\b(first|second|middle|mean|its|the|your|a) leads?\b": "temperature difference",
    r"(?<!cold )(?<!mild )\bspells?\b": "period",
    r"\bbounds?\b": "limit",
    r"\bin the mean\b": "on average",
    r", else\b|\d p? ?else\b": "otherwise, the rest of the day",
    r"\bexchanged\b|\bexchange of meters\b": "swap, replace",
    r"\bso it is\b|\balone this time\b|\bas it stands\b|\bas they stand\b": "say it plainly",
    r"\boftener\b|\bwhence\b|\bthereof\b": "more often, where … from, its",
    r"\bmakes? good\b": "replace",
    r"\b(rating|unit|kind|zone|column|clock|scale) another\b|\banother\?": "wrong, a different one",
    r"(?<!there )\b(is|are) no (text|workbook|table|time|date|number|counter|log)\b": "is not a …",
    r"\bturned round\b|\bround and round\b": "put in order; repeats",
    r"\bwithout the net\b|\bby another hand\b": "offline; elsewhere",
    r"\bjumps? over\b|\bbreaks? off\b|\bspeaks? of\b": "skip; is cut short; says",
    r"\bwhat was taken for what\b": "how it was read",
    r"\bknows? nothing of\b": "takes no account of",
    r"\bused \w+ as if (it|they) were\b": "treated … as …",
    r"\bas any \w+ (file|page)\b": "like any …",
}
LONG_WAVE_ALLOWED = ("04_open_surface", "glossary")

LIBRARY = Path(pondheat.__file__).parent
# What the library, the shell and the panels say: as above, and this.
SAID_PLAINER = PLAINER | {
    r"\b(is|are) wanted\b": "is needed, or “give …”",
    r"\bparted by\b": "separated by",
    r"\buniversal time\b": "UTC",
    r"\bsome \d": "about …",
    r"\bjudged (from|by) the\b": "estimated from",
    r"\bin the head\b|\b(above|below) the head\b": "header",
}
# “long wave” there is the name of a flow of heat, a quantity of the library, or in a paper's title.
LONG_WAVE_IN_CODE = (
    "analysis/results.py",
    "analysis/sky_comparison.py",
    "core/nomenclature.py",
    "core/sources.py",
    "season/weather/columns.py",
    "show/panels/open_surface.py",
    "show/pictures/",
    "show/report/energy_numbers.py",
)
ALLOWED_IN_CODE = ("never safe to stand on", "Stand at the water's edge", 'class="ph-band"')


def _prose(path: Path) -> str:
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return "\n\n".join("".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown")


def _by_hand(text: str) -> str:
    """The tutor's notes without what is made from the questions and the panels."""
    before, _, made = text.partition(refresh_tutor_notes.BEGIN)
    return before + made.partition(refresh_tutor_notes.END)[2]


def _exercises(page: str) -> str:
    """Everything that the exercises of a page may say."""
    return "\n".join(
        text
        for question in BANK.values()
        if question.notebook == page
        for text in (
            question.ask,
            question.nudge,
            question.step,
            question.worked,
            *(slip.sentence for slip in question.misconceptions),
        )
    )


def _guesses() -> str:
    """Everything that the guesses before the pictures, the reasons to choose and the replies to slips may say."""
    topics = [importlib.import_module(f"pondheat.show.panels.{one.notebook[3:]}") for one in BANK.values()]
    said = [text for topic in topics for text in (*topic.OPTIONS.values(), *topic.WORDS.values())]
    for one in REASONS:
        said += [one.ask, *one.choices.values(), *one.replies.values()]
    return "\n".join(
        dict.fromkeys([*said, *slips.FACTORS.values(), slips.OTHER_NUMBERS, slips.COPIED, slips.OTHER_POND])
    )


def _card(text: str) -> str:
    return html.unescape(re.sub(r"<[^>]*>", " ", text.split("<body>")[1]))


PAGES = {path.stem: _prose(path) for path in sorted(WORKBOOK.glob("*.ipynb"))}
TEXTS = {
    **PAGES,
    **{f"exercises of {page}": _exercises(page) for page in sorted({one.notebook for one in BANK.values()})},
    "guesses, reasons and slips": _guesses(),
    "for_the_tutor": _prose(WORKBOOK / "tutor" / "for_the_tutor.ipynb"),
    **{name: (WORKBOOK / f"{name}.md").read_text(encoding="utf-8") for name in ("glossary", "command_line", "tariffs")},
    **{
        f"tutor/{path.stem}": _by_hand(path.read_text(encoding="utf-8"))
        for path in sorted((WORKBOOK / "tutor").glob("*.md"))
    },
    **{path.stem: _card(path.read_text(encoding="utf-8")) for path in sorted((WORKBOOK / "cards").glob("*.html"))},
}


def _sentences(source: str) -> list[str]:
    """The strings of a module that hold a space, without its docstrings; what is filled in later is an “…”."""
    tree = ast.parse(source)
    passed = {
        id(first.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef)
        for first in node.body[:1]
        if isinstance(first, ast.Expr)
    }
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            parts = [part.value if isinstance(part, ast.Constant) else "…" for part in node.values]
            found.append("".join(str(part) for part in parts))
            passed |= {id(part) for part in node.values}
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in passed:
            found.append(node.value)
    return [text for text in found if " " in text]


def _template_text(source: str) -> str:
    """What a template prints: its text, and the strings within its expressions."""
    quoted = [
        text for code in re.findall(r"{[{%](.*?)[%}]}", source, re.DOTALL) for text in re.findall(r'"([^"]*)"', code)
    ]
    return "\n".join([re.sub(r"{[{%#].*?[%}#]}|<[^>]*>", " ", source, flags=re.DOTALL), *quoted])


def _said(path: Path) -> str:
    """All that a module or a template may say to a reader, but for what is allowed."""
    source = path.read_text(encoding="utf-8")
    text = _template_text(source) if path.suffix == ".html" else "\n".join(_sentences(source))
    for phrase in ALLOWED_IN_CODE:
        text = text.replace(phrase, "")
    return text


SAID = {
    path.relative_to(LIBRARY).as_posix(): path
    for suffix in ("py", "html")
    for path in sorted(LIBRARY.rglob(f"*.{suffix}"))
}


def dialect_in(text: str, name: str, plainer: dict[str, str] = PLAINER) -> list[str]:
    """What a text says in the old dialect, each with what to write instead; name: of page, card, file or glossary."""
    line = " ".join(re.sub(r"\]\([^)]*\)", "]", text).split())
    return [
        f"“…{line[max(0, found.start() - 25) : found.end() + 25]}…”: {instead}"
        for pattern, instead in plainer.items()
        if not (instead == RADIATION and (name in LONG_WAVE_ALLOWED or name.startswith(LONG_WAVE_IN_CODE)))
        for found in re.finditer(pattern, line, re.IGNORECASE)
    ]


def _shown(stored: str) -> list[str]:
    """The texts of what a page shows when it is opened, without its pictures."""
    cells = json.loads(stored)["cells"].values()
    return [html.unescape(re.sub(r"<[^>]*>", "\n", re.sub(r"(?s)<(style|svg)\b.*?</\1>", "", cell))) for cell in cells]


def test_no_line_end_parts_a_number_from_its_unit_or_what_it_counts():
    for path in [*sorted(WORKBOOK.glob("*.ipynb")), WORKBOOK / "tutor" / "for_the_tutor.ipynb"]:
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        for text in ("".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown"):
            assert unbroken(text) == text, f"{path.name}: type a no-break space (U+00A0) before each unit"
    for name in ("glossary", *(path.stem for path in (WORKBOOK / "cards").glob("*.html"))):
        assert unbroken(TEXTS[name]) == TEXTS[name], f"{name}: type a no-break space (U+00A0) before each unit"


@all_in_one(sorted(STORED.glob("*_*.json")))
def test_nor_does_one_in_what_python_writes(path):
    parted = [text for text in _shown(path.read_text(encoding="utf-8")) if unbroken(text) != text]
    assert not parted, f"show it through core.number_format.unbroken: {parted}"


@all_in_one([name for name in TEXTS if "exercises" not in name])
def test_pence_have_a_space_before_them(name):
    assert not (found := re.findall(r".{0,20}\d[p¢]\b", TEXTS[name])), found


def test_all_pages_together_are_short():
    counted = {name: reading_aloud.words(text) for name, text in PAGES.items()}
    assert sum(counted.values()) <= MOST_WORDS, counted


@all_in_one(TEXTS)
def test_no_word_of_the_old_dialect(name):
    assert not (found := dialect_in(TEXTS[name], name)), "\n".join(found)


@all_in_one(
    [
        "Compare, and then reckon.",
        "Whoever doubts a number here may hold it against a printed one.",
        "Which ways shrink, and which stand?",
        "The order is drawn by lot.",
        "Much long wave goes out.",
        "What leaves must be replaced.",
        "The likely range is a wide band.",
        "Another costs 12 p from 00:30 to 07:30, 30 p else.",
        "Use the mean air for both, then divide the first lead by the second lead.",
        "Is the rating or the unit another?",
        "The file is no table.",
        "The rows were turned round.",
        "From then on it is used without the net.",
        "Degree-hours know nothing of the wind.",
        "You used days as if they were hours.",
    ]
)
def test_the_old_dialect_would_be_found(sentence):
    assert dialect_in(sentence, "a page")


def test_a_standing_charge_and_a_cold_spell_are_plain_english():
    assert dialect_in("The standing charge of a cold spell. How much heat is lost?", "a page") == []


@all_in_one(sorted({name.split("/")[0] for name in SAID}))
def test_no_word_of_the_old_dialect_in_what_the_library_says(room):
    files = {name: path for name, path in SAID.items() if name.split("/")[0] == room}
    found = {name: dialect_in(_said(path), name, SAID_PLAINER) for name, path in files.items()}
    assert not any(found.values()), "\n".join(f"{name}: {one}" for name, all_of in found.items() for one in all_of)


@pytest.mark.parametrize(
    "line",
    [
        'raise Fault("The tariff stands in a file.")',
        'said = f"the two rates are {amount} dearer"',
        "print(f\"{name}: {'the counter was exchanged' if swapped else ''}\")",
        'note = (\n    f"Each night is held "\n    f"against {model}.")',
        'raise Fault(f"A value such as {example} is wanted here.")',
        'HELP = {"drawn": "letters drawn by lot"}',
        'raise Fault("The clock keeps universal time.")',
        'note = f"a sheet passes some 10 % less than {name}"',
    ],
)
def test_the_old_dialect_would_be_found_in_a_module_and_in_a_template(tmp_path, line):
    module, template = tmp_path / "module.py", tmp_path / "template.html"
    module.write_text(f'"""It stands."""\n\n\ndef say(name, amount):\n    """As it stands."""\n    {line}\n', "utf-8")
    assert len(dialect_in(_said(module), "module.py", SAID_PLAINER)) == 1
    template.write_text('<p>{{ sums | round }}</p>{{ grid(["what leaves", "a cell"]) }}<p>It was so in the mean.</p>')
    assert len(dialect_in(_said(template), "template.html", SAID_PLAINER)) == 2


def test_names_of_values_and_docstrings_are_no_sentences():
    assert _sentences('def f(band):\n    """Within a band."""\n    return {"band": f"{band} or so"}') == ["… or so"]

"""Every page of the workbook has the same form: order, size, minutes, links on and back."""

import functools
import json
import re

import reading_aloud
from usual_cases import all_in_one

from pondheat.lesson import questions

WORKBOOK = reading_aloud.WORKBOOK
FIRST, GLOSSARY = "00_start_here", "glossary.md"
PAGES = sorted(path.stem for path in WORKBOOK.glob("*.ipynb"))
LESSONS = [page for page in PAGES if any(q.notebook == page for q in questions.BANK.values())]
FORM = "16_your_pond"  # asks for a pond instead of a guess, so what it needs comes before what to look at
DIARY = re.compile(r"\*From the pond diary, \d+\u00a0[A-Z][a-z]+\. ")
DECIDE = reading_aloud.DECIDED
LINK = re.compile(r"\]\(([^)]+)\)")
EARLIER_QUESTIONS = r"^## (Two|Three|Four) questions from earlier pages$"
EARLIER = (1, 3, 6)  # how many pages back the warm-up questions come from
ENTRY = re.compile(
    r"\*\*(?P<word>[^*]+)\*\*(?: or \*\*(?P<other>[^*]+)\*\*)?: (?P<meaning>.+) "
    r"(?:\[Page (?P<linked>\d\d)\]\((?P<file>[^)]+)\)|Page (?P<coming>\d\d))\."
)

lessons = all_in_one(LESSONS)
pages = all_in_one(PAGES)


@functools.cache
def cells(page: str) -> list[dict]:
    return json.loads((WORKBOOK / f"{page}.ipynb").read_text(encoding="utf-8"))["cells"]


def source(cell: dict) -> str:
    return "".join(cell["source"])


def texts(page: str) -> list[dict]:
    return [cell for cell in cells(page) if cell["cell_type"] == "markdown"]


def code(page: str) -> list[dict]:
    return [cell for cell in cells(page) if cell["cell_type"] == "code"]


def where(page: str, sought: str) -> list[int]:
    """Indexes of the cells that match."""
    return [at for at, cell in enumerate(cells(page)) if re.search(sought, source(cell), re.MULTILINE)]


def asked(cell: dict) -> str | None:
    """The key of the question that a cell asks, if it does."""
    found = re.search(r'\bexercise\("([^"]+)"', source(cell))
    return found and found[1]


def warm_ups(page: str) -> list[str]:
    return [asked(cell) for cell in code(page) if asked(cell) and questions.BANK[asked(cell)].notebook != page]


def bold(text: str) -> list[str]:
    return re.findall(r"\*\*([^*]+)\*\*", text.replace(DECIDE, ""))


def everything(page: str) -> str:
    """Everything on a page, as text."""
    shown = [
        part
        for cell in code(page)
        for output in cell["outputs"]
        for part in (*output.get("text", ()), *output.get("data", {}).get("text/plain", ()))
    ]
    return "\n".join([*map(source, cells(page)), *shown])


def glossary() -> list[re.Match]:
    lines = (WORKBOOK / GLOSSARY).read_text(encoding="utf-8").splitlines()
    found = [(line, ENTRY.fullmatch(line)) for line in lines if line.startswith("**")]
    assert [line for line, entry in found if not entry] == []
    return [entry for _, entry in found]


def names() -> set[str]:
    return {name.casefold() for entry in glossary() for name in entry.group("word", "other") if name}


# Size


@pages
def test_size(page):
    assert len(cells(page)) <= 36 and (len(cells(page)) >= 20 or page == FIRST)


@pages
def test_no_text_is_too_long_to_be_read_aloud_in_one_go(page):
    long = {cell["id"]: count for cell in texts(page) if (count := reading_aloud.words(source(cell))) > 60}
    assert long == {}


@pages
def test_code_is_short_folded_and_says_what_it_is(page):
    for cell in code(page):
        first, *rest = source(cell).splitlines()
        assert first == "# Code: not needed for reading", cell["id"]
        assert 1 <= len(rest) <= 5 and cell["metadata"]["jupyter"]["source_hidden"], cell["id"]


@pages
def test_cell_ids_are_readable_and_say_which_question(page):
    ids = [cell["id"] for cell in cells(page)]
    assert len(set(ids)) == len(ids)
    for cell in cells(page):
        assert re.fullmatch(r"[a-z]+(-([a-z]+|\d+[a-z]?))*", cell["id"]), cell["id"]
        if key := asked(cell):
            kind = "exercise" if questions.BANK[key].notebook == page else "warm"
            assert cell["id"] == f"{kind}-{key.replace('.', '-')}"


# Order


@pages
def test_a_page_opens_with_one_sentence_its_picture_and_what_to_try(page):
    """Title, one short sentence, the panel or the guess before it, then three or four short lines; no other text."""
    head, panel, prompts = cells(page)[:3]
    title, sentence = source(head).split("\n\n")
    assert re.fullmatch(r"# [A-Z].+\?", title)
    assert re.fullmatch(r"[A-Z][^.?!]*(\.\d[^.?!]*)*[.?]", sentence) and reading_aloud.words(sentence) <= 30
    assert page not in LESSONS or sentence.startswith("Guess first: ")
    tagged = [cell["id"] for cell in cells(page) if "beside" in cell["metadata"].get("tags", [])]
    assert panel["cell_type"] == "code" and tagged == [panel["id"]]
    lines = re.findall(r"^(?:\d\.|-) (.+)", source(prompts), re.MULTILINE)
    assert re.match(r"## (◆ )?" + ("What you need" if page == FORM else "Look"), source(prompts))
    assert 3 <= len(lines) <= 4 and all(reading_aloud.words(line) <= 22 for line in lines)


@pages
def test_diary_and_minutes_come_after_the_picture(page):
    ids = [cell["id"] for cell in cells(page)]
    diary, about = (source(cells(page)[ids.index(name)]) for name in ("diary", "about"))
    assert 2 < ids.index("diary") < ids.index("about") < 7
    assert DIARY.match(diary) and diary.strip().endswith("*")
    assert re.match(r"\*\d+ minutes: ", about) and about.strip().endswith("*")


@pages
def test_a_page_ends_with_its_lesson_in_one_sentence_and_a_decision(page):
    at = where(page, r"^## (◆ )?In one sentence$")
    assert len(at) == 1 and at[0] > len(cells(page)) - 6
    _, sentence, decision = source(cells(page)[at[0]]).split("\n\n")
    assert re.fullmatch(r"[A-Z][^.?!]*\.", sentence) and 12 <= reading_aloud.words(sentence) <= 32
    assert decision.startswith(DECIDE)


@lessons
def test_sections_are_in_order(page):
    own = [at for at, cell in enumerate(cells(page)) if asked(cell) and questions.BANK[asked(cell)].notebook == page]
    order = {
        "predict": where(page, rf'^PredictFirst\("{page}"\)')[0],
        "look": where(page, r"^## ◆ Look")[0],
        "why": where(page, r"^## ◆ Why")[0],
        "words": [cell["id"] for cell in cells(page)].index("words"),
        "worked example": where(page, r"^worked_example\(")[0],
        "first exercise": own[0],
        "last exercise": own[-1],
        "how sure": where(page, r"^## How sure is this\?")[0],
        "check": where(page, r"^## Check ")[0],
        "handbook": where(page, r"^handbook\(")[0],
        "one sentence": where(page, r"^## ◆ In one sentence$")[0],
        "last": len(cells(page)) - 1,
    }
    if page > "02":
        order["before"] = where(page, EARLIER_QUESTIONS)[-1]
        order["come back"] = where(page, rf'^ComeBack\("{page}"\)')[0]
    stated = [
        "predict",
        "look",
        "why",
        "words",
        "worked example",
        "first exercise",
        "last exercise",
        "how sure",
        "check",
        "handbook",
        "before",
        "come back",
        "one sentence",
        "last",
    ]
    found = [order[name] for name in stated if name in order]
    assert found == sorted(found), order
    assert order["predict"] == 1 and order["handbook"] == order["check"] + 1


@lessons
def test_help_fades_from_worked_to_alone(page):
    own = [source(cell) for cell in code(page) if asked(cell) and questions.BANK[asked(cell)].notebook == page]
    first = where(page, r"^worked_example\(")[0]
    assert asked(cells(page)[first + 2]) == re.search(r'worked_example\("([^"]+)"\)', source(cells(page)[first]))[1]
    blanks = [int(found[1]) if (found := re.search(r"blanks=(\d)", text)) else 9 for text in own]
    assert blanks[0] == 1 and blanks == sorted(blanks) and blanks[-1] == 9
    assert {asked(cell) for cell in code(page)} >= {key for key, q in questions.BANK.items() if q.notebook == page}


@lessons
def test_questions_from_before(page):
    if page < "02":
        assert warm_ups(page) == []
        return
    keys = warm_ups(page)
    taken = [questions.BANK[key].notebook for key in keys]
    wanted = {other for other in LESSONS if int(page[:2]) - int(other[:2]) in EARLIER}
    assert wanted <= set(taken) and all(other < page for other in taken)
    assert len(set(keys)) == len(keys) and 2 <= len(keys) <= 4
    heading = source(cells(page)[where(page, EARLIER_QUESTIONS)[-1]])
    assert {"Two": 2, "Three": 3, "Four": 4}[heading.split()[1]] == len(keys), heading


@pages
def test_links_on_and_back(page):
    if page >= "02":
        assert len(where(page, rf'^ComeBack\("{page}"\)')) == 1
    assert sum(DECIDE in source(cell) for cell in texts(page)) == 1
    if page == FIRST:
        assert where(page, r"^SoFar\(\)") and where(page, re.escape(f"]({GLOSSARY})"))
        return
    last = cells(page)[-1]
    assert last["cell_type"] == "markdown"
    after = [other for other in PAGES if int(other[:2]) == int(page[:2]) + 1]
    links = LINK.findall(source(last))
    assert {*(f"{name}.ipynb" for name in after), f"{FIRST}.ipynb", GLOSSARY} <= set(links)


def test_every_link_leads_to_a_file():
    for path in (*WORKBOOK.glob("*.ipynb"), *WORKBOOK.glob("*.md")):
        text = "\n".join(map(source, texts(path.stem))) if path.suffix == ".ipynb" else path.read_text(encoding="utf-8")
        for link in LINK.findall(text):
            if not link.startswith("#"):
                assert (path.parent / link).is_file(), f"{path.name}: {link}"


def test_every_card_is_linked_from_a_page_of_its_own_and_from_the_first():
    for card in (WORKBOOK / "cards").glob("*.html"):
        linked = {page for page in PAGES if where(page, re.escape(f"](cards/{card.name})"))}
        assert FIRST in linked and len(linked) >= 2, card.name


# Minutes


@pages
def test_the_page_gives_the_minutes_that_reading_aloud_takes(page):
    found = reading_aloud.minutes(cells(page))
    wanted = f"*{found.total} minutes: {found.read} to read, {found.do} to do."
    if page in LESSONS:
        wanted += f" The core, marked ◆, takes {found.core}."
    about = next(cell for cell in cells(page) if cell["id"] == "about")
    assert source(about).startswith(wanted), "python tests/reading_aloud.py prints what each page must say"


@lessons
def test_the_core_takes_twelve_to_fifteen_minutes(page):
    assert 12 <= reading_aloud.minutes(cells(page)).core <= 15


def test_how_minutes_are_worked_out():
    """A made page, worked out by hand: 130 words and 130 printed ones take two minutes to read."""

    def text(source, id="text"):
        return {"cell_type": "markdown", "id": id, "source": source}

    def run(source, printed="", id="run"):
        outputs = [{"output_type": "stream", "name": "stdout", "text": printed}] if printed else []
        return {"cell_type": "code", "id": id, "source": source, "outputs": outputs}

    made = [
        text("# " + "word " * 130),
        text("## ◆ Look\n\n1. a\n2. b\n3. c"),
        run('PredictFirst("x")'),
        text("## On"),
        run("lines()", "word " * 130),
        run('exercise("1.1")', "word " * 130),
        run('exercise("1.1")', id="warm-1-1"),
        run('handbook("x", 3)', "word " * 400),
    ]
    found = reading_aloud.minutes(made)
    assert (found.read, found.do, found.total) == (2, 3 + 2 + 3 + 2 + 1, 13)
    assert found.core == 6  # 134 words, three things to try, a guess
    assert reading_aloud.words("## ◆ Two words\n\n- **a** [link here](there.ipynb) × 3\n2. b") == 8


# Words


def test_the_glossary_is_in_order_and_short():
    entries = glossary()
    listed = [re.sub(r"[^a-z]", " ", entry["word"].casefold()) for entry in entries]
    assert listed == sorted(listed) and len(set(listed)) == len(listed) >= 60
    for entry in entries:
        sentences = re.findall(r"[.?](?=\s|$)", entry["meaning"])
        assert 1 <= len(sentences) <= 2 and len(entry["meaning"].split()) <= 40, entry["word"]


@pages
def test_every_bold_word_is_in_the_glossary(page):
    missing = {word for cell in texts(page) for word in bold(source(cell)) if word.casefold() not in names()}
    assert missing == set()


def test_lessons_explain_words_where_they_first_use_them():
    for page in LESSONS:
        words = next(cell for cell in texts(page) if cell["id"] == "words")
        assert bold(source(words)), page


def test_each_page_named_in_the_glossary_uses_the_word():
    by_number = {page[:2]: page for page in PAGES}
    for entry in glossary():
        page = by_number.get(entry["linked"] or entry["coming"])
        if page is None:
            assert entry["coming"], entry["word"]  # a page that is not there yet has no link
            continue
        assert entry["file"] == f"{page}.ipynb", f"{entry['word']}: link to {page}.ipynb"
        assert re.search(rf"(?<!\w){re.escape(entry['word'])}", everything(page), re.IGNORECASE), entry["word"]

"""The tutor's notes of every page are complete, match the page and give no answers; the routes of an evening add up."""

import json
import re

import pytest
import reading_aloud
import refresh_tutor_notes as refresh
from test_no_answers import answers_in
from usual_cases import all_in_one

from pondheat.cli.options import parser
from pondheat.fish.cautions import STANDING
from pondheat.lesson import ideas, questions, short_challenge
from pondheat.lesson.challenge import STEPS
from pondheat.lesson.questions import BANK
from pondheat.lesson.reasons import REASONS
from pondheat.tutor import guesses, papers, routes

WORKBOOK = refresh.WORKBOOK
TUTOR = WORKBOOK / "tutor"
PAGES = sorted(path.stem for path in WORKBOOK.glob("[0-9][0-9]_*.ipynb"))
HOW_TO, CHECKLIST = TUTOR / "how_to_run_an_evening.md", TUTOR / "checklist.md"
BY_HAND = [path for path in (HOW_TO, CHECKLIST) if path.exists()] + sorted(TUTOR.glob("[0-9][0-9]_*.md"))
HEADINGS = [
    "Say",
    "Ask before the picture opens",
    "Likely wrong answers",
    "When the hands are up",
    "What to cut, and what never to hurry",
    "Argued points",
]
LINK = re.compile(r"\]\(([^)\s]+)\)")
MINUTES = re.compile(r"\*\*Minutes:\*\* (\d+) to read, (\d+) to do, (\d+) to talk\.")
CORE = re.compile(r"The core, marked ◆, takes (\d+), and (\d+) to talk\.")
ESTIMATED = "Estimated at reading-aloud pace, the talk by judgement; not timed with people."

pages = all_in_one(PAGES)


def notes(page: str) -> str:
    path = TUTOR / f"{page}.md"
    assert path.is_file(), f"{page} has no notes for the tutor"
    return path.read_text(encoding="utf-8")


def head(page: str) -> str:
    """The line with the minutes of a notebook."""
    cells = json.loads((WORKBOOK / f"{page}.ipynb").read_text(encoding="utf-8"))["cells"]
    about = next(cell for cell in cells if cell["id"] == "about")
    return next(line for line in "".join(about["source"]).splitlines() if re.match(r"\*\d+ minutes", line))


def minutes_of_head(page: str) -> tuple[int, int, int | None]:
    """Minutes to read and to do, and those of the core if the page has one."""
    line = head(page)
    read, do = map(int, re.search(r"(\d+) to read, (\d+) to do", line).groups())
    core = re.search(r"takes (\d+)\.", line)
    return read, do, int(core[1]) if core else None


def sections(text: str) -> dict[str, str]:
    parts = re.split(r"^## (.+)$", text, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2]))


# --- each page's notes ---


@pages
def test_title_headings_and_purpose(page):
    text = notes(page)
    assert text.splitlines()[0] == f"# {page[:2]} {routes.title_of(WORKBOOK / f'{page}.ipynb')}"
    assert re.findall(r"^## (.+)$", text, re.MULTILINE) == HEADINGS
    assert re.search(r"^\*\*What it is for:\*\* .{30,}$", text, re.MULTILINE)
    assert f"](../{page}.ipynb)" in text and "](how_to_run_an_evening.md)" in text


@pages
def test_the_minutes_are_those_of_the_pages_head(page):
    text = notes(page)
    read, do, core = minutes_of_head(page)
    found = MINUTES.search(text)
    assert found and (int(found[1]), int(found[2])) == (read, do), f"the head of {page} says: {head(page)}"
    told = CORE.search(text)
    assert (int(told[1]) if told else None) == core
    assert 1 <= int(found[3]) <= 20 and (not told or int(told[2]) < int(found[3]))
    assert ESTIMATED in text


@pages
def test_the_likely_answers_are_those_of_the_bank(page):
    text = notes(page)
    assert refresh.renewed(text, page) == text, "stale: run python tests/refresh_tutor_notes.py"
    made = text.split(refresh.BEGIN)[1].split(refresh.END)[0]
    assert refresh.BEGIN in sections(text)["Likely wrong answers"]
    own = [(question, "") for question in BANK.values() if question.notebook == page]
    for question, how in own + [(question, " worked backwards") for question in refresh.backwards_on(page)]:
        for wanted in (
            f"**{question.key}{how}** {questions.asked(question, question.given)}",
            question.nudge,
            question.step,
            *(f"({road.name}): {road.sentence}" for road in question.misconceptions),
        ):
            assert wanted in made
    guess = guesses.guess_of(page)
    if guess:
        assert guess.question in made and guess.question in sections(text)["Ask before the picture opens"]
        for choice, words in guess.feedback.items():
            assert f"**{papers.lettered(guess.options)[choice]}**: {words}" in made


@pages
def test_no_right_answer_is_in_the_notes(page):
    assert refresh.answers_of(page, notes(page)) == []


@pages
def test_advice_for_the_show_of_hands_is_specific_to_the_page(page):
    hands = sections(notes(page))["When the hands are up"]
    cases = re.findall(r"^- \*\*([^*]+)\*\* ", hands, re.MULTILINE)
    assert len(cases) >= 3 and any("spread" in case for case in cases), cases
    others = [sections(notes(other))["When the hands are up"] for other in PAGES if other != page]
    for line in re.findall(r"^- \*\*[^*]+\*\* (.+)$", hands, re.MULTILINE):
        assert len(line.split()) >= 12 and not any(line in other for other in others)


@pages
def test_cuts_and_argued_points(page):
    parts = sections(notes(page))
    cut = parts["What to cut, and what never to hurry"]
    assert "**Cut first:**" in cut and "**Never hurry:**" in cut
    points = re.split(r"^- \*\*", parts["Argued points"], flags=re.MULTILINE)[1:]
    assert 2 <= len(points) <= 4
    for point in points:
        assert re.match(r"[“\"].+?[”\"]\*\* \S", point), point
        assert "How sure:" in point and re.search(r"Where: .*\]\([^)]+\)", point, re.DOTALL), point


@pages
def test_the_hand_written_part_fills_about_a_page(page):
    text = notes(page)
    by_hand = text.split(refresh.BEGIN)[0] + text.split(refresh.END)[1]
    assert 350 <= reading_aloud.words(by_hand) <= 600


def test_every_link_leads_to_a_file():
    for path in BY_HAND:
        for link in LINK.findall(path.read_text(encoding="utf-8")):
            assert (path.parent / link.split("#")[0]).exists(), f"{path.name}: {link}"


def test_no_notes_without_a_page():
    assert {path.stem for path in TUTOR.glob("[0-9][0-9]_*.md")} <= set(PAGES)


# --- an evening ---

ROW = re.compile(r"^\| (\d):(\d\d) \| (\d+) \| (.+) \|$", re.MULTILINE)


def tables() -> dict[str, tuple[int, list[tuple[int, int, str]]]]:
    """By title of a route: its minutes in all, and its rows of clock, minutes and text."""
    found = re.split(r"^### (.+): (\d+) minutes$", HOW_TO.read_text(encoding="utf-8"), flags=re.MULTILINE)[1:]
    return {
        title: (
            int(total),
            [
                (60 * int(hour) + int(minute), int(long), words)
                for hour, minute, long, words in ROW.findall(text.split("\n## ")[0])
            ],
        )
        for title, total, text in zip(found[::3], found[1::3], found[2::3])
    }


def test_the_minutes_of_every_route_add_up_to_its_title_and_clock():
    assert len(tables()) >= 7
    for title, (total, rows) in tables().items():
        clock = 0
        for at, long, words in rows:
            assert at == clock, f"{title}: {words} begins at minute {clock}"
            clock += long
        assert clock == total, f"{title}: {clock}"


def counted_minutes(page: str, what: str, hall: bool) -> int:
    """Minutes of a page, of its core or the whole; in a hall a guess takes longer than the page's head says."""
    found = reading_aloud.minutes(json.loads((WORKBOOK / f"{page}.ipynb").read_text(encoding="utf-8"))["cells"], hall)
    return found.core if what == "core" else found.total


def test_a_guess_with_hands_and_reasons_takes_four_minutes_in_a_hall():
    guess = {"cell_type": "code", "id": "guess", "source": 'PredictFirst("x")', "outputs": []}
    other = {"cell_type": "code", "id": "other", "source": 'exercise("1.1")', "outputs": []}
    alone, hall = (reading_aloud.minutes([guess, other], hall) for hall in (False, True))
    assert (alone.do, hall.do) == (2 + 3, 4 + 3) and hall.core == alone.core + 2
    for page in PAGES:  # each page with a guess, and no other, takes two minutes more
        more = counted_minutes(page, "whole", True) - counted_minutes(page, "whole", False)
        assert more == (2 if guesses.guess_of(page) else 0), page
    assert "count four minutes for it" in HOW_TO.read_text(encoding="utf-8")


MOST = {"One hour": 60, "A club evening of two hours": 120, "Four evenings": 120}  # minutes, of each evening


@pytest.mark.parametrize("title", MOST)
def test_the_counted_minutes_of_a_route_fit_its_time(title):
    """With the pages counted afresh, whatever the table says; two of them are for talk, and one decision is taken."""
    evenings = {name: rows for name, (_, rows) in tables().items() if name.startswith(title)}
    assert len(evenings) == (4 if title == "Four evenings" else 1)
    for name, rows in evenings.items():
        total = 0
        for _, long, words in rows:
            page = re.match(r"\[Page \d\d\]\(\.\./(.+)\.ipynb\), (core|whole)", words)
            total += counted_minutes(page[1], page[2], hall=True) if page else long
        assert total <= MOST[title], (name, total)
        assert "decision" in rows[-1][2]


def test_the_optional_page_is_on_no_route_and_no_later_core_needs_it():
    optional = [page for page in PAGES if " Optional: " in head(page)]
    assert optional == ["08_falling_water"]
    assert not any("08" in numbers for _, numbers in routes.ROUTES.values())
    own = {question.key for question in BANK.values() if question.notebook in optional}
    for page in set(PAGES) - set(optional):
        assert not own & set(routes.core_keys(WORKBOOK / f"{page}.ipynb")), page


def test_every_evening_ends_with_a_challenge_of_two_minutes_a_decision_and_its_defence():
    text = HOW_TO.read_text(encoding="utf-8")
    assert "two minutes for each of the five decisions, and four for the defence" in text
    assert "Give two minutes for each, and three for the defence." in text
    for route, (title, _) in routes.ROUTES.items():
        _, rows = [table for name, table in tables().items() if name.startswith(title)][-1]
        short = route == routes.SHORT
        steps, how_many = (short_challenge.STEPS, "three") if short else (STEPS, "five")
        (minutes,) = [
            long for _, long, words in rows if words.startswith("The challenge") and f"{how_many} decisions" in words
        ]
        assert minutes == 2 * len(steps) + (3 if short else 4), title


def test_the_routes_minutes_are_those_that_the_pages_take():
    short = set()
    for title, (_, rows) in tables().items():
        for _, long, words in rows:
            if words.startswith("Page 16, short"):
                short.add(long)
            page = re.match(r"\[Page (\d\d)\]\(\.\./(.+)\.ipynb\), (core|whole)", words)
            assert page or not words.startswith("["), words
            if page:
                wanted = counted_minutes(page[2], page[3], hall="at home" not in title)
                assert page[2].startswith(page[1]) and long == wanted, f"{title}: {words} takes {wanted}"
    assert len(short) == 1


def test_the_routes_hold_the_pages_that_the_question_sheets_hold():
    def held(start):
        return {
            page
            for title, (_, rows) in tables().items()
            if title.startswith(start)
            for _, _, words in rows
            for page in re.findall(r"Page (\d\d)", words)
        }

    for title, numbers in routes.ROUTES.values():
        assert held(title) == set(numbers), title


def test_club_evenings_have_talk_and_tea():
    for title, (total, rows) in tables().items():
        words = " ".join(words for _, _, words in rows)
        if "home" not in title and "checker" not in title:
            assert words.count("Talk") >= 2, title
            assert total < 90 or "Tea" in words, title


def test_the_evening_reads_the_standing_sentence_and_claims_no_trial():
    text = " ".join(HOW_TO.read_text(encoding="utf-8").split())
    assert (
        STANDING in text
        and "estimated at reading-aloud pace" in text
        and "None of this has been timed with people" in text
    )
    assert f"{reading_aloud.WORDS_A_MINUTE} words a minute" in text


def test_the_evening_links_to_the_notes_of_every_page_and_to_every_card():
    links = set(LINK.findall(HOW_TO.read_text(encoding="utf-8")))
    assert {f"{page}.md" for page in PAGES} <= links and "checklist.md" in links
    assert {f"../cards/{card.name}" for card in (WORKBOOK / "cards").glob("*.html")} <= links


def test_commands_named_for_the_tutor_exist():
    for path in BY_HAND:
        for command in re.findall(r"-m pondheat ([^`]+)`", path.read_text(encoding="utf-8")):
            if command.split()[0] == "check":
                command = "check x.csv"
            parser().parse_args(command.split())


def test_no_answer_is_in_the_papers_for_the_whole_evening():
    for path in (HOW_TO, CHECKLIST):
        assert answers_in(path.read_text(encoding="utf-8")) == []


def test_the_checklist_fits_one_page():
    assert len(CHECKLIST.read_text(encoding="utf-8").splitlines()) <= 60


# --- the table of the seven ideas ---


def test_the_table_of_ideas_is_up_to_date_and_has_no_empty_cell():
    text = HOW_TO.read_text(encoding="utf-8")
    assert refresh.renewed(text, HOW_TO.stem) == text, "stale: run python tests/refresh_tutor_notes.py"
    rows = ideas.overview(PAGES, routes.returns())
    assert len(rows) == len(ideas.IDEAS) == 7
    for row in rows:
        assert len(row) == len(ideas.HEADS) and all(cell.strip() for cell in row), row
        assert f"| {' | '.join(row)} |" in text


def test_an_idea_is_guessed_at_where_the_table_says_and_tags_name_ideas_only():
    known = {idea.key for idea in ideas.IDEAS}
    for idea in ideas.IDEAS:
        for topic in {*idea.predicted, *idea.met}:
            page = next(page for page in PAGES if page[3:] == topic)
            assert topic not in idea.predicted or guesses.guess_of(page), page
    assert {key for question in BANK.values() for key in question.ideas} <= known
    assert {one.idea for one in REASONS} - {""} <= known
    assert {key for step in STEPS for key in step.ideas} == known


def test_an_idea_without_a_tag_would_leave_a_cell_empty():
    assert any("" in row for row in ideas.overview(PAGES, {})), "nothing comes back"


# --- the command that writes the likely answers ---


@pytest.fixture
def small(tmp_path):
    """A workbook of one page whose notes have a stale generated part."""
    page = "04_open_surface"
    (tmp_path / "tutor").mkdir()
    (tmp_path / f"{page}.ipynb").write_bytes((WORKBOOK / f"{page}.ipynb").read_bytes())
    made = tmp_path / "tutor" / f"{page}.md"
    made.write_bytes(
        f"# Mine\r\n\ttab, é, no end\n{refresh.BEGIN}\nold\n{refresh.END}  \n\nlast line without end".encode()
    )
    return tmp_path, made


def test_hand_written_text_is_kept_byte_for_byte(small):
    folder, path = small
    before = path.read_bytes()
    assert refresh.main(["--workbook", str(folder)]) == 0
    after = path.read_bytes()
    begin, end = refresh.BEGIN.encode(), refresh.END.encode()
    assert after.split(begin)[0] == before.split(begin)[0] and after.split(end)[1] == before.split(end)[1]
    assert b"\nold\n" not in after and "per cent" not in after.decode() and b"**4.1**" in after
    assert refresh.main(["--workbook", str(folder)]) == 0 and path.read_bytes() == after


def test_check_finds_stale_missing_and_unmarked_notes_and_changes_nothing(small, capsys):
    folder, path = small
    before = path.read_bytes()
    assert refresh.main(["--check", "--workbook", str(folder)]) == 1 and path.read_bytes() == before
    assert "stale" in capsys.readouterr().out
    refresh.main(["--workbook", str(folder)])
    assert refresh.main(["--check", "--workbook", str(folder)]) == 0
    path.write_text(f"{refresh.END} the wrong way round {refresh.BEGIN}", encoding="utf-8")
    assert refresh.main(["--workbook", str(folder)]) == 1 and "wrong way round" in path.read_text(encoding="utf-8")
    path.unlink()
    assert refresh.main(["--workbook", str(folder)]) == 1
    assert "no such notes" in capsys.readouterr().out


@all_in_one(BANK)
def test_a_planted_answer_would_be_found(name):
    """Each answer with its unit is recognised as one of its page's own."""
    question = BANK[name]
    right = question.right(**question.given)
    unit = {"dimensionless": "times", "money": ""}.get(
        question.unit, question.word or questions.units.pretty(question.unit)
    )
    planted = f"{'£' if question.unit == 'money' else ''}{right:.10g} {unit}"
    assert name in refresh.answers_of(question.notebook, f"It comes to {planted}, they say.")


@all_in_one(PAGES)
def test_no_misconception_shows_the_right_digits(page):
    own = [question for question in BANK.values() if question.notebook == page]
    for question in [*own, *refresh.backwards_on(page)]:
        check_digits(question, page)


def check_digits(question, page):
    right, roads = question.values()
    digits = re.sub(r"\D", "", f"{right:.3g}").strip("0")
    for value in roads.values():
        told = refresh.typed(value, right, question, page)
        assert re.sub(r"\D", "", told).strip("0") != digits or "right value" in told, told

"""The workbook's notebooks are as `refresh_notebooks.py` leaves them, and that script does what it says."""

import json

import nbformat
import pytest
import refresh_notebooks
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

from pondheat.front_door import copying


def test_the_workbook_is_tidy_and_its_code_is_listed():
    paths = sorted((refresh_notebooks.CLONE / "workbook").rglob("*.ipynb"))
    assert refresh_notebooks.check(paths, refresh_notebooks.CLONE / "workbook", refresh_notebooks.SHIPPED) == []


@pytest.fixture
def workbook(tmp_path):
    """A new workbook of one page that shows a widget."""
    page = new_notebook(
        metadata={"pondheat": {"run_on_open": True}, "widgets": {"state": 1}},
        cells=[
            new_markdown_cell("# A page\n\n3 kW from 9 October", id="head", metadata={"collapsed": True}),
            new_code_cell(
                "from ipywidgets import HTML\nHTML('one')", id="one", metadata={"jupyter": {"source_hidden": True}}
            ),
            new_code_cell("print('two')", id="two", execution_count=7),
        ],
    )
    nbformat.write(page, tmp_path / "00_page.ipynb")
    (tmp_path / "shipped.json").write_text('{"00_page.ipynb": ["an older one"], "gone.ipynb": ["x"]}')
    return tmp_path


def run(workbook, *more):
    return refresh_notebooks.main([f"--workbook={workbook}", f"--shipped={workbook / 'shipped.json'}", *more])


def test_a_second_refresh_gives_the_same_bytes(workbook, capsys):
    page, listed = workbook / "00_page.ipynb", workbook / "shipped.json"
    assert run(workbook, "--check") == 1
    told = capsys.readouterr().out
    assert "not run from top to bottom" in told and "not tidy" in told and "present code" in told
    assert run(workbook) == 0
    first = page.read_bytes(), listed.read_bytes()
    notebook = nbformat.read(page, as_version=4)
    assert [cell.get("execution_count") for cell in notebook.cells] == [None, 1, 2]
    assert "widgets" not in notebook.metadata and notebook.metadata.pondheat == {"run_on_open": True}
    assert [dict(cell.metadata) for cell in notebook.cells] == [{}, {"jupyter": {"source_hidden": True}}, {}]
    assert list(notebook.cells[1].outputs[0].data) == ["text/plain"]
    assert notebook.cells[0].source == "# A page\n\n3\u00a0kW from 9\u00a0October"
    assert json.loads(listed.read_text()) == {"00_page.ipynb": [copying.file_fingerprints(page).code, "an older one"]}
    capsys.readouterr()
    assert run(workbook, "--check") == 0
    assert run(workbook) == 0
    assert (page.read_bytes(), listed.read_bytes()) == first
    assert capsys.readouterr().out.splitlines()[1].startswith("same")


def test_check_finds_changed_code_and_a_stored_error(workbook, capsys):
    run(workbook)
    page = workbook / "00_page.ipynb"
    notebook = nbformat.read(page, as_version=4)
    notebook.cells[2].source = "print('three')"
    notebook.cells[2].outputs = [nbformat.v4.new_output("error", ename="E", evalue="", traceback=[])]
    page.write_bytes(refresh_notebooks.written(notebook))
    capsys.readouterr()
    assert run(workbook, "--check") == 1
    assert capsys.readouterr().out.splitlines() == [
        "00_page.ipynb: a cell ended in an error",
        "shipped.json: it does not name the notebooks' present code",
    ]

"""What every page of the workbook draws can be used without a mouse or good eyes, as far as axe can tell.

All that a reader can bring out is brought out first. The pages of `test_first_path` and `test_your_pond` are looked at there,
on the way.
"""

import kit
import pytest
from test_first_path import FIRST, LESSONS
from test_your_pond import PAGE as YOUR_POND

pytest.importorskip("playwright")

PAGES = sorted(path.name for path in (kit.CLONE / "workbook").glob("[0-9][0-9]_*.ipynb"))
SEEN_ON_THE_WAY = {FIRST, *(f"{name}.ipynb" for name in LESSONS), YOUR_POND}


@pytest.mark.parametrize("name", [name for name in PAGES if name not in SEEN_ON_THE_WAY])
def test_no_barrier(page, workbook, name):
    kit.open_lesson(page, workbook, name)
    kit.open_everything(page)
    assert kit.barriers(page) == []

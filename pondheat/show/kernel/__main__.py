"""The Python behind a page: ipykernel, which loads the library while the browser is still opening the page.

Jupyter runs it as `python -m pondheat.show.kernel -f FILE`: see kernel.json below `front_door/jupyter/`.
"""

import contextlib
import os
import sys
import threading
from pathlib import PurePath

from pondheat.core.places import WORKBOOK

FIRST_PAGE = "00_start_here.ipynb"


def of_the_workbook(page: str) -> bool:
    """Whether a notebook has the name of one of the workbook's: another may not need the library at all."""
    return page in {path.name for path in WORKBOOK.rglob("*.ipynb")}


def load_library(page: str) -> None:
    """Import what pages need, run the first page's seasons on that page, and take compiled code from the disk if any.

    page: the notebook's name. A page that needs any of it sooner waits for this.
    """
    with contextlib.suppress(Exception):  # whatever is wrong is told by the page itself, when it needs it
        from pondheat.core import compilation
        from pondheat.season import ensemble
        from pondheat.show.panels import start_here

        compilation.avoid_pauses()
        if page == FIRST_PAGE:
            start_here.ponds.garden_seasons()
        ensemble.warm_up_from_disk()


if __name__ == "__main__":
    del sys.path[0]  # the page's folder: ipykernel puts it back once the library's own modules are found
    page = PurePath(os.environ.get("JPY_SESSION_NAME", FIRST_PAGE)).name  # Jupyter's name for the notebook's path
    if of_the_workbook(page):
        # Before Jupyter gets an answer: if it is asked for work while it loads this, a first start takes a second more.
        with contextlib.suppress(Exception):
            import pondheat.show.panels  # noqa: F401
        threading.Thread(target=load_library, args=[page], daemon=True, name="load library").start()
    from ipykernel.kernelapp import IPKernelApp

    IPKernelApp.launch_instance()

"""The Python behind a page: ipykernel, which loads the library while the browser is still opening the page.

Run by Jupyter as `python -m pondheat.show.kernel -f CONNECTION_FILE`, see `front_door/jupyter`.
"""

import contextlib
import importlib
import sys
import threading

# What every page needs and takes longest: pandas, the widgets, and the unit registry, which reading a pond fills.
NEEDED = "pondheat.show.panels.start_here"


def load_library() -> None:
    """Import what pages need and read the invented pond once; a page that needs it sooner waits for this."""
    with contextlib.suppress(Exception):  # whatever is wrong is told by the page itself, when it needs it
        importlib.import_module(NEEDED)
        ponds = importlib.import_module("pondheat.show.ponds")
        assessment = importlib.import_module("pondheat.analysis.assessment")
        assessment.weather_of(ponds.invented())


if __name__ == "__main__":
    del sys.path[0]  # the page's folder: ipykernel puts it back once the library's own modules are found
    from ipykernel.kernelapp import IPKernelApp

    threading.Thread(target=load_library, daemon=True, name="load library").start()
    IPKernelApp.launch_instance()

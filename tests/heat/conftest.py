"""psychrolib as plain Python: beside numba it compiles each function at its first call, for longer than all calls."""

import sys

here = sys.modules.get("numba")
sys.modules["numba"] = None
import psychrolib  # noqa: E402, F401

if here is None:
    del sys.modules["numba"]
else:
    sys.modules["numba"] = here

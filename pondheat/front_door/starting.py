"""Start a Jupyter program as `python -m` would, but in half the time: `starting.py PROGRAM OPTIONS`.

Imported, it does the same for whatever program imports it first, as pytest does (`-p` in `pyproject.toml`).
"""

import os
import runpy
import sys

# jsonschema 4.26 imports this to check international web addresses, which compiles a grammar for one to two seconds.
# No schema of Jupyter's needs it; without it, jsonschema leaves such addresses unchecked.
NOT_NEEDED = "rfc3987_syntax"
sys.modules[NOT_NEEDED] = None  # type: ignore[assignment]  # makes importing it raise ImportError

if __name__ == "__main__":
    del sys.path[0]  # this file's folder: its modules are not to be imported by their bare names
    # Where there is Node, Lab takes 0.4 s to ask it from where it would be built anew. Nobody builds it here.
    path, os.environ["PATH"] = os.environ.get("PATH", os.defpath), os.devnull
    import jupyterlab.labapp  # noqa: F401

    os.environ["PATH"] = path
    runpy.run_module(sys.argv.pop(1), run_name="__main__", alter_sys=True)

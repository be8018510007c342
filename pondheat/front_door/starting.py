"""Start a Jupyter program as `python -m` would, without a part that doubles the wait: `starting.py PROGRAM OPTIONS`."""

import runpy
import sys

# The check of international web addresses in JSON schemas (jsonschema 4.26): importing it compiles a grammar for one to
# two seconds, and no schema of Jupyter's asks for it. Without it, jsonschema leaves such addresses unchecked.
NOT_NEEDED = "rfc3987_syntax"

if __name__ == "__main__":
    del sys.path[0]  # this file's folder: what lies in it is not to be found by a bare name
    sys.modules[NOT_NEEDED] = None
    runpy.run_module(sys.argv.pop(1), run_name="__main__", alter_sys=True)

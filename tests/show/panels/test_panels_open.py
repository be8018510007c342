"""Every panel of every page opens with a result: no error line, and a sentence before anything is moved."""

import importlib
import pkgutil

import pytest

from pondheat.show import panels
from pondheat.show.panels import Panel

# Panels that need an argument (a question that is asked first) are opened by their own tests.
FACTORIES = [
    (module.name, name)
    for module in pkgutil.iter_modules(panels.__path__)
    for name in ("panel", "first", "four_ponds", "measured", "spread")
    if hasattr(importlib.import_module(f"pondheat.show.panels.{module.name}"), name)
]


@pytest.mark.parametrize("module, name", FACTORIES, ids=[".".join(one) for one in FACTORIES])
def test_it_opens_without_an_error(module, name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    made = getattr(importlib.import_module(f"pondheat.show.panels.{module}"), name)()
    for each in [one for one in (made, *getattr(made, "children", ())) if isinstance(one, Panel)]:
        assert each.error.value == "" and each.sentence()

"""Moving a panel's controls in its tests."""

import pytest

from pondheat.show.controls import Control


def putting(start):
    """A function that sets a panel's controls: to the start values, or to what is given in their place.

    All are set before the panel works anything out, so it does so once; at the last that differs, as on the page.
    """

    def put(panel, **values):
        wanted = {**start, **values}
        changed = [name for name, value in wanted.items() if panel.controls[name].value != value]
        with pytest.MonkeyPatch.context() as quiet:
            quiet.setattr(Control, "notify_change", lambda control, change: None)
            for name in changed[:-1]:
                panel.controls[name].value = wanted[name]
        for name in changed[-1:]:
            panel.controls[name].value = wanted[name]
        assert panel.error.value == "", panel.error.value

    return put

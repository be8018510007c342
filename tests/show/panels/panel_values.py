"""Moving a panel's controls in its tests."""


def putting(start):
    """A function that sets a panel's controls: to the start values, or to what is given in their place."""

    def put(panel, **values):
        for name, value in {**start, **values}.items():
            panel.controls[name].value = value
        assert panel.error.value == "", panel.error.value

    return put

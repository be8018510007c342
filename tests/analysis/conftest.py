"""Assessments that several tests of the analysis look at, made once."""

import pytest
from packaged_years import packaged_years_read_once  # noqa: F401 -- a fixture for every test here

from pondheat.analysis import assessment
from pondheat.core.places import PONDS
from pondheat.sheet import pond_sheet


@pytest.fixture(scope="session")
def garden_assessment():
    """The garden pond's whole season with the default number of scenarios."""
    return assessment.assess(pond_sheet.read(PONDS / "garden_pond.toml"))


@pytest.fixture(scope="session")
def tank_assessment():
    """The growing-on tank's whole season with the default number of scenarios."""
    return assessment.assess(pond_sheet.read(PONDS / "growing_on_tank.toml"))

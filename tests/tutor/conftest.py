"""What all tests here share."""

from packaged_years import packaged_years_read_once  # noqa: F401 -- a fixture for every test here

"""Five thousand damaged files of every kind through the command `read`; PONDHEAT_SEED draws the same ones again."""

import os
import random

import damaged_files
import pytest


@pytest.mark.long
@pytest.mark.timeout(3600)
def test_many_damaged_files(tmp_path):
    seed = int(os.environ.get("PONDHEAT_SEED") or random.randrange(10**6))
    print(damaged_files.outcomes(5000, seed, tmp_path))

"""Does a fitted pond predict its season? 200 invented ponds. Run with  pytest tests/bench/test_fitting_proof.py -s

The ponds and how they differ from the fitted model are in tests/meter/fitting/synthetic_ponds.py. Two seasons are
predicted for each: the pond's own coming year, unknown to the prediction, and the typical year itself, which takes the
luck of the weather out and leaves what was learned. Widths were settled on other ponds than those counted here.
"""

import sys
import time
from pathlib import Path

import numpy as np
import pytest

sys.path.append(str(Path(__file__).parents[1] / "meter" / "fitting"))
from synthetic_ponds import prediction_errors


@pytest.mark.timeout(1800)
def test_ranges_contain_the_truth_and_fitting_helps():
    began = time.perf_counter()
    ponds = [prediction_errors(seed) for seed in range(6000, 6200)]
    print(f"\n{len(ponds)} invented ponds, three to four weeks of log each, {time.perf_counter() - began:.0f} s")
    for case in ("open", "covered"):
        one = [pond[case] for pond in ponds]
        held, held_typical = (np.mean([o[name] for o in one]) for name in ("held", "held_typical"))
        print(
            f"{case}: the likely range holds the kWh of the coming year in {held:.1%}, of a typical one in "
            f"{held_typical:.1%}"
        )
        for year, learned, assumed in (
            ("the coming", "learned", "assumed"),
            ("a typical", "learned_typical", "assumed_typical"),
        ):
            errors, before = (np.array([o[name] for o in one]) for name in (learned, assumed))
            print(
                f"    error in {year} year (root mean square): learned {_rms(errors):.1%}, unlearned "
                f"{_rms(before):.1%}; learned is nearer in {np.mean(abs(errors) < abs(before)):.0%}, leans "
                f"{errors.mean():+.1%}"
            )
            assert _rms(errors) < 0.6 * _rms(before)
        print(
            f"    half-width of the range: learned {np.mean([o['reach'] for o in one]):.1%}, unlearned "
            f"{np.mean([o['reach_assumed'] for o in one]):.1%}"
        )
        assert 0.75 <= held <= 0.85


def _rms(errors) -> float:
    return float(np.sqrt(np.mean(errors**2)))

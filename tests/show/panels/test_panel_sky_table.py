"""The comparison of sky formulae on the page: every row and cell of the shipped table, ours marked."""

import re

import pytest

from pondheat.show.panels import sky_table


@pytest.fixture(scope="module")
def panel():
    return sky_table.panel()


def test_every_row_and_cell_is_shown(panel):
    shown = 0
    for key, (record, cloud, kind) in panel.pairs.items():
        panel.controls["record"].value = key
        rows = panel.table[(panel.table["record"] == record) & (panel.table["cloud"] == cloud)]
        body = panel.picture.value.split("<tbody>")[1].split("</tbody>")[0]
        cells = re.findall(r"<td>([^<]*)</td>", body)
        assert body.count("<tr>") == len(rows)
        digits = 2 if kind == sky_table.WATER else 1
        for column in sky_table.HEADS:
            for value in rows[column].dropna():
                assert f"{value:z.{digits}f}".replace("-", "−") in cells
        shown += len(rows)
        assert body.count(" *</th>") == 1  # one default for each kind of cloud
        assert record in panel.sentence() and f"{panel.ours['rmse']:.1f}" in panel.sentence()
        assert "Ours, root mean square" in panel.arithmetic().text()
    assert shown == len(panel.table)


def test_a_table_whose_long_wave_is_computed_says_so(panel):
    for key, (_, _, kind) in panel.pairs.items():
        panel.controls["record"].value = key
        assert ("probably computed" in panel.sentence()) == (kind == sky_table.YEARS)

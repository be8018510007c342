"""Check files: shipped rows hold, a false one fails, and a typing error is reported with file and line."""

import csv
import random
import subprocess
import sys
import warnings

import pytest
from usual_cases import all_in_one

from pondheat.checks import explain, runner
from pondheat.cli import main
from pondheat.core import nomenclature
from pondheat.core.places import CHECKS

HEADER = ",".join(runner.COLUMNS)
GOOD = (
    "A-1,heat.moist_air.wet_bulb,air_temp=10 degC; rel_humidity=0.8; pressure=101325 Pa,"
    "8.29,degC,abs 0.05,psychrolib 2.5.0,library,"
)
FALSE = GOOD.replace("A-1", "A-2").replace("8.29", "9.29")


@pytest.fixture
def written(tmp_path):
    """A function that writes rows under the header into a check file and returns its path."""

    def write(*rows, name="mine.csv", header=HEADER, encoding="utf-8", end="\n"):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes((end.join([header, *rows]) + end).encode(encoding))
        return path

    return write


def check(*paths) -> tuple[str, int]:
    return runner.report(*runner.run(paths))


def shipped_rows() -> list[dict]:
    return [
        row
        for path in sorted(CHECKS.glob("*.csv"))
        for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    ]


def test_all_shipped_rows_hold():
    outcomes, faults = runner.run([CHECKS])
    assert faults == [] and len(outcomes) >= 257
    assert [o.id for o in outcomes if not o.holds] == []
    text, code = runner.report(outcomes, faults)
    assert code == 0 and text == f"{len(outcomes)} rows evaluated, 0 fail, 0 could not be read."
    assert len(outcomes) == len(shipped_rows())


def test_the_shell(written, capsys):
    assert main(["check", str(written(GOOD))]) == 0
    assert capsys.readouterr().out.strip() == "1 row evaluated, 0 fail, 0 could not be read."
    assert main(["check", str(written(GOOD, FALSE))]) == 1
    assert "mine.csv:3: A-2 fails: heat.moist_air.wet_bulb(air_temp=10 degC" in capsys.readouterr().out
    assert main(["check", str(written(GOOD, FALSE, GOOD.replace("A-1", "A-3").replace("wet_bulb", "wetbulb")))]) == 2
    out = capsys.readouterr().out
    assert "mine.csv:4: A-3: “heat.moist_air.wetbulb” is not a quantity" in out and "fails" in out
    assert out.strip().endswith("2 rows evaluated, 1 fails, 1 could not be read.")


def test_as_its_own_process(written):
    done = subprocess.run(
        [sys.executable, "-m", "pondheat", "check", str(written(FALSE))],
        capture_output=True,
        text=True,
        encoding="utf-8",
    )
    assert done.returncode == 1 and done.stderr == "" and "ours 8.29" in done.stdout
    assert "printed 9.29 (psychrolib 2.5.0)" in done.stdout


def test_failing_rows_are_listed_worst_first(written):
    text, code = check(written(FALSE, FALSE.replace("A-2", "A-9").replace("9.29", "20")))
    lines = [line for line in text.splitlines() if "fails" in line]
    assert code == 1 and ["A-9" in line for line in lines] == [True, False]
    assert "difference -11.7, tolerance abs 0.05" in text


SLIPS = [
    ("id", "", "id left empty"),
    ("quantity", "", "quantity left empty"),
    ("quantity", "heat.moist_air.wet_bulp", "Did you mean heat.moist_air.wet_bulb"),
    ("quantity", "os.system", "is not a quantity"),
    ("quantity", "heat.moist_air.enthalpy_of", "is not a quantity"),
    ("quantity", "heat.moist_air.__name__", "is not a quantity"),
    ("inputs", "", "inputs left empty"),
    ("inputs", "air_temp 10 degC", "not written as name=value"),
    ("inputs", "air_temp=; rel_humidity=0.8", "not written as name=value"),
    ("inputs", "air_tmp=10 degC; rel_humidity=0.8; pressure=101325 Pa", "Did you mean air_temp"),
    ("inputs", "air_temp=10 degC; rel_humidity=0.8", "pressure not given"),
    ("inputs", "air_temp=10 degC; air_temp=11 degC; rel_humidity=0.8; pressure=101325 Pa", "air_temp is given twice"),
    (
        "inputs",
        "air_temp=10; rel_humidity=0.8; pressure=101325 Pa",
        "air_temp=10 has no unit; one such as degC is needed",
    ),
    ("inputs", "air_temp=10 degC; rel_humidity=0.8; pressure=101325", "pressure=101325 has no unit"),
    ("inputs", "air_temp=ten degC; rel_humidity=0.8; pressure=101325 Pa", "not written as a number and a unit"),
    ("inputs", "air_temp=1o degC; rel_humidity=0.8; pressure=101325 Pa", "“o degC” is not a unit"),
    ("inputs", "air_temp=10 degX; rel_humidity=0.8; pressure=101325 Pa", "“degX” is not a unit"),
    ("inputs", "air_temp=10 Pa; rel_humidity=0.8; pressure=101325 Pa", "measure different things"),
    ("inputs", "air_temp=10 delta_degC; rel_humidity=0.8; pressure=101325 Pa", "a difference of two"),
    ("inputs", "air_temp=10|12 degC; rel_humidity=0.8; pressure=101325 Pa", "air_temp takes one value, 2 given"),
    ("inputs", "air_temp=10 degC; rel_humidity=80; pressure=101325 Pa", "did you mean 80 %"),
    ("inputs", "air_temp=10 degC; rel_humidity=0.8; pressure=1013 Pa", "did you mean 1013 hPa"),
    ("inputs", "air_temp=1e999 degC; rel_humidity=0.8; pressure=101325 Pa", "air_temp is not a number"),
    ("inputs", "air_temp=10 m**9**9**9; rel_humidity=0.8; pressure=101325 Pa", "is not a unit"),
    ("inputs", "air_temp=10 degC; rel_humidity=0.8; pressure=101325 Pa; formula=x", "no argument “formula”"),
    ("value", "", "value left empty"),
    ("value", "8.2g", "value “8.2g” is not a number"),
    ("value", "8,29", "8,29"),
    ("value", "nan", "not a finite number"),
    ("value", "inf", "not a finite number"),
    ("unit", "", "unit left empty"),
    ("unit", "deg", "measure different things"),
    ("unit", "degX", "is not a unit"),
    ("unit", "delta_degC", "a difference of two"),
    ("unit", "Pa", "measure different things"),
    ("unit", "9**9**9", "is not a unit"),
    ("tolerance", "", "tolerance left empty"),
    ("tolerance", "1%", "not written as “rel 1%” or “abs 0.5”"),
    ("tolerance", "rel 1", "not written as"),
    ("tolerance", "abs -1", "not written as"),
    ("tolerance", "rel -1%", "not written as"),
    ("tolerance", "abs 1e999", "is not finite"),
    ("tolerance", "abs 0.5 K", "not written as"),
    ("tolerance", "about 1", "not written as"),
    ("source", "", "source left empty"),
    ("kind", "", "kind left empty"),
    ("kind", "printed", "not one of published, library"),
    ("kind", "Library", "not one of published"),
]


@pytest.mark.parametrize("column, slip, sentence", SLIPS, ids=[f"{c}: {s}" for c, s, _ in SLIPS])
def test_a_wrong_cell_is_reported_with_its_line_and_other_rows_still_run(written, column, slip, sentence):
    cells = next(csv.reader([GOOD]))
    cells[runner.COLUMNS.index(column)] = slip
    bad = ",".join(f'"{cell}"' for cell in cells)
    path = written(GOOD.replace("A-1", "B-1"), bad, FALSE)
    outcomes, faults = runner.run([path])
    assert [o.id for o in outcomes] == ["B-1", "A-2"] and len(faults) == 1
    assert faults[0].startswith(f"{path}:3: ") and sentence in faults[0]
    assert runner.report(outcomes, faults)[1] == 2


@pytest.mark.parametrize(
    "line, sentence",
    [
        (GOOD + ",one,two", "more cells than the header names"),
        (GOOD.replace("psychrolib", '"psychrolib'), "quotation mark"),
        (GOOD + '"a note never closed', "quotation mark"),
        (GOOD.replace("8.29", '8"29"'), '8"29"'),
        ("A-1,heat.moist_air.wet_bulb", "left empty"),
        ("nonsense", "left empty"),
        (",,,,,,,,", "row without id"),
        (HEADER, "not one of published"),
        (GOOD.replace(",", ";"), "left empty"),
        ("\x00", "left empty"),
    ],
)
def test_a_broken_line_affects_only_itself(written, line, sentence):
    path = written(line, GOOD.replace("A-1", "B-1"), FALSE)
    outcomes, faults = runner.run([path])
    assert [o.id for o in outcomes] == ["B-1", "A-2"]
    assert len(faults) == 1 and faults[0].startswith(f"{path}:2: ") and sentence in faults[0]


def test_ids_are_unique_across_files(written):
    one, other = written(GOOD, GOOD.replace("8.29", "8.3"), name="one.csv"), written(GOOD, name="other.csv")
    outcomes, faults = runner.run([one, other])
    assert len(outcomes) == 1 and [f.split(": ", 1)[0] for f in faults] == [f"{one}:3", f"{other}:2"]
    assert all(f"A-1: this id is already used at {one}:2." in fault for fault in faults)


@pytest.mark.parametrize(
    "header, lacking",
    [
        ("id,quantity,inputs,value,unit,tolerance,source,note", "lacks kind"),
        (GOOD, "lacks id"),
        (HEADER.replace(",", ";"), "lacks id"),
        (HEADER.upper(), "lacks id"),
    ],
)
def test_a_file_without_its_header(written, header, lacking):
    good = written(FALSE, name="good.csv")
    bad = written(GOOD, header=header, name="bad.csv")
    outcomes, faults = runner.run([bad, good])
    assert [o.id for o in outcomes] == ["A-2"] and len(faults) == 1
    assert faults[0].startswith(f"{bad}:1: the header {lacking}") and HEADER in faults[0]


def test_files_as_spreadsheets_write_them(written, tmp_path):
    for encoding, end in (("utf-8-sig", "\r\n"), ("utf-8", "\r\n"), ("utf-8", "\r")):
        assert (
            check(written(GOOD, "", ",".join(c.strip() for c in FALSE.split(",")), encoding=encoding, end=end))[1] == 1
        )
    turned = "note,kind,source,tolerance,unit,value,inputs,quantity,id,my own column"
    row = (
        ',library,"a source, with a comma",abs 0.05,degC,8.29,air_temp=10 degC; rel_humidity=0.8; pressure=101325 Pa,'
        "heat.moist_air.wet_bulb,A-1,x"
    )
    assert check(written(row, header=turned))[1] == 0
    assert check(written(GOOD.removesuffix(","), header=HEADER.removesuffix(",note")))[1] == 0
    line_in_note = written(GOOD + "a note\u2028with a separator")
    assert check(line_in_note)[1] == 0
    (tmp_path / "latin.csv").write_bytes((HEADER + "\n" + GOOD + "grün\n").encode("latin-1"))
    text, code = check(tmp_path / "latin.csv", written(GOOD))
    assert code == 2 and "latin.csv: cannot be read as UTF-8 text" in text and "1 row evaluated" in text
    (tmp_path / "empty.csv").write_text("", encoding="utf-8")
    assert "empty.csv: the file is empty" in check(tmp_path / "empty.csv")[0]


def test_units_are_converted_on_the_way_in_and_out(written):
    rows = [
        # the same state in a reader's own units; 10 °C is 50 °F, 8.29 °C is 46.92 °F or 281.44 K
        GOOD.replace("10 degC", "50 degF").replace("8.29,degC,abs 0.05", "46.92,degF,abs 0.09").replace("A-1", "F-1"),
        GOOD.replace("10 degC", "283.15 K").replace("8.29,degC", "281.44,K").replace("A-1", "K-1"),
        GOOD.replace("101325 Pa", "1013.25 hPa").replace("0.8", "80 %").replace("A-1", "P-1"),
        GOOD.replace("101325 Pa", "29.9213 inHg").replace("0.8", "80%").replace("A-1", "P-2"),
        "W-1,heat.water.warming_energy,volume=219.969 imperial_gallon; start_temp=62.6 degF; end_temp=80.6 degF,"
        "41.76,MJ,rel 0.5%,own,derived,",
        "W-2,heat.water.warming_energy,volume=264.172 US_liquid_gallon; start_temp=17 degC; end_temp=27 degC,"
        "11.6,kWh,rel 0.5%,own,derived,",
        "W-3,heat.surface.evaporation,water_temp=22 degC; air_temp=10 degC; rel_humidity=0.8; wind_speed=3.6 km/h; "
        "formula=carrier,"
        "88.1,Btu/hour/ft**2,rel 1%,own,derived,",
        "W-4,season.degree_days.degree_days,daily_temps=6|10|13|16|18 degC; base_temp=64.4 degF,"
        "27,K*day,abs 0.01,own,derived,",
        "W-5,season.degree_days.degree_days,daily_temps=-4 degC; base_temp=18 degC,"
        "39.6,delta_degF*day,abs 0.01,own,derived,",
        "W-6,heat.walls.u_value,thicknesses=2|50|12 mm; conductivities=0.5 | 0.038 | 0.13 W/m/K,"
        "0.6887,W/m**2/K,rel 0.5%,own,derived,",
        "W-7,money.tariffs.hours_in_day,timezone=Europe/London; date=2025-10-26,25,hour,abs 0,IANA,derived,",
        "W-8,money.tariffs.energy_cost,energy=24 kWh; rate=280 money/MWh,672,hundredth_of_money,abs 0.01,own,derived,",
        "W-9,season.heaters.heat_pump_cop,lift=27 delta_degF; formula=staffell,"
        "5.14,dimensionless,abs 0.01,Staffell,published,",
    ]
    outcomes, faults = runner.run([written(*rows)])
    assert faults == [] and [(o.id, o.ours) for o in outcomes if not o.holds] == []
    assert len(outcomes) == len(rows)


def test_a_bare_gallon_is_refused(written):
    row = (
        "W-1,heat.water.warming_energy,volume=220 gallon; start_temp=17 degC; end_temp=27 degC,"
        "11.6,kWh,rel 1%,own,derived,"
    )
    assert "Which gallon" in check(written(row))[0]


def test_tolerances_to_the_last_digit(written):
    def holds(value, tolerance):
        row = (
            "T,heat.walls.wall_loss,area=10 m**2; u_value=0.5 W/m**2/K; water_temp=18 degC; air_temp=8 degC,"
            f"{value},W,{tolerance},own,derived,"
        )
        return runner.run([written(row)])[0][0].holds

    # ours is 50 W exactly
    assert holds(50, "abs 0") and holds(50.5, "abs 0.5") and not holds(50.51, "abs 0.5") and not holds(49.49, "abs 0.5")
    assert holds(50.5, "rel 1%") and holds(49.51, "rel 1%") and not holds(49.4, "rel 1%")
    assert not holds(0, "rel 50%") and holds(-50, "abs 100") and not holds(-50, "rel 100%")
    assert holds(50, " rel  1 % ") and holds(50, "abs 1e-6")


def test_rows_of_one_quantity_alone(written):
    rows = (GOOD, "W-7,money.tariffs.hours_in_day,timezone=Europe/London; date=2025-10-26,25,hour,abs 0,IANA,derived,")
    files = [written(*rows)]
    assert [one.id for one in runner.run(files, "money.")[0]] == ["W-7"] and len(runner.run(files)[0]) == 2


def test_files_folders_and_patterns(written, tmp_path, monkeypatch):
    written(GOOD, name="a/one.csv")
    written(FALSE, name="a/deep/two.CSV")
    written(GOOD.replace("A-1", "A-3"), name="b/three.csv")
    (tmp_path / "a" / "notes.txt").write_text("no rows", encoding="utf-8")
    (tmp_path / "nothing").mkdir()

    def names(*paths):
        files, faults = runner.find_files(paths)
        return [path.name for path in files], faults

    assert names(tmp_path / "a") == (["two.CSV", "one.csv"], [])
    assert names(tmp_path / "a" / "one.csv", tmp_path / "a" / "one.csv", tmp_path / "a") == (["one.csv", "two.CSV"], [])
    assert sorted(names(str(tmp_path / "**" / "*.csv"))[0]) == ["one.csv", "three.csv"]
    assert sorted(names(str(tmp_path / "[ab]"))[0]) == ["one.csv", "three.csv", "two.CSV"]  # a pattern may mean folders
    monkeypatch.chdir(tmp_path)
    assert names("a/one.csv", "./a/one.csv", str(tmp_path / "a" / "one.csv"), "a/*.csv") == (["one.csv"], [])
    for missing in ("no.csv", "no/*.csv", "no", "\x00"):
        assert names(missing) == ([], [f"{missing}: no such file or folder."])
    assert names("nothing") == ([], ["nothing: no .csv file in this folder."])
    text, code = check("a", "gone.csv")
    assert code == 2 and "gone.csv: no such file or folder." in text
    assert "2 rows evaluated, 1 fails, 1 could not be read." in text


def mutated(row: dict, rnd: random.Random) -> dict:
    """A row with one to three random errors."""
    odd = [
        "",
        "0",
        "-1",
        "1e308",
        "-1e308",
        "1e-308",
        "nan",
        "inf",
        "999",
        "1|2",
        "5 degC",
        "50 degF",
        "5 K",
        "9**9**9",
        "(m",
        "£",
        "\x00",
        "1e400",
        "2.5",
        "“",
        "%",
        "None",
        "[1]",
        "²",
        "abs 0",
        "rel -1%",
        "rel 1e999%",
        "24:00",
        "2025-13-01",
        "Europe/Nowhere",
        "../x",
    ]
    row = dict(row)
    for _ in range(rnd.randint(1, 3)):
        column = rnd.choice(runner.COLUMNS)
        text, way = row[column] or "", rnd.random()
        if way < 0.25:
            text = rnd.choice(odd)
        elif way < 0.6 and text:
            at = rnd.randrange(len(text))
            text = (
                text[:at] + rnd.choice(list("0123456789.-+;=|e %\t,\"'xyzµ°") + [""]) + text[at + rnd.randint(0, 1) :]
            )
        elif column == "inputs":
            parts = text.split(";")
            at = rnd.randrange(len(parts))
            name, _, value = parts[at].partition("=")
            number = rnd.choice(["0", "-1", "1e308", "-300", "1e-300", "1000000", "0.5", *odd])
            parts[at] = rnd.choice(
                [
                    f"{name}={number} {value.partition(' ')[2]}",
                    f"{rnd.choice(list(nomenclature.PARAMETERS))}={value}",
                    f"{parts[at]};{parts[at]}",
                ]
            )
            text = ";".join(parts)
        elif column == "quantity":
            text = rnd.choice([*nomenclature.RETURNS, "os.system", "heat", "..", text + "x"])
        row[column] = text
    return row


@pytest.mark.timeout(60)
def test_random_errors_never_end_in_a_traceback(written):
    rnd, rows = random.Random(20), shipped_rows()
    lines = []
    for _ in range(200):
        row = mutated(rnd.choice(rows), rnd)
        cells = [(row[column] or "").replace('"', '""') for column in runner.COLUMNS]
        line = ",".join(f'"{cell}"' for cell in cells)
        if rnd.random() < 0.2:
            at = rnd.randrange(len(line))
            line = line[:at] + rnd.choice(['"', ",", ";", "\t", ""]) + line[at + 1 :]
        lines.append(line.replace("\n", " ").replace("\r", " "))
    with warnings.catch_warnings():
        warnings.simplefilter("error")  # nor in a warning of numpy
        outcomes, faults = runner.run([written(*lines, GOOD.replace("A-1", "LAST"))])
    assert len(outcomes) + len(faults) == 201 and outcomes[-1].id == "LAST"
    assert 20 < len(outcomes) < 180
    assert all(len(fault.split(": ", 2)[-1]) > 8 for fault in faults)
    text, code = runner.report(outcomes, faults)
    assert code == 2 and len(text.splitlines()) == len(faults) + 2 * sum(not o.holds for o in outcomes) + 1


@pytest.mark.parametrize(
    "written_as, half",
    [("12.1", 0.05), ("2.220", 0.0005), ("800", 0.5), ("-3.5", 0.05), ("1.20e-3", 5e-6), ("6e4", 5000.0), (".5", 0.05)],
)
def test_half_of_the_last_printed_digit(written_as, half):
    assert explain.half_digit(written_as) == pytest.approx(half, rel=1e-12)


@pytest.mark.parametrize(
    "value, rounding", [("8.29", True), ("8.3", True), ("8.290", True), ("8.28", False), ("8", True), ("8.2", False)]
)
def test_whether_the_printed_digits_explain_a_difference(written, value, rounding):
    """The wet bulb of the good row is 8.2904 °C."""
    (outcome,) = runner.run([written(GOOD.replace("8.29", value))])[0]
    assert outcome.printed_text == value and explain.is_rounding(outcome) is rounding


def test_relative_difference_of_a_printed_zero():
    made = {
        ours: runner.CheckResult(
            "A", "heat.water.density", "", 0.0, ours, "kg", "abs 1", 1.0, "s", "derived", "", "", "0"
        )
        for ours in (0.0, 0.5)
    }
    assert made[0.0].relative == 0.0 and made[0.5].relative == float("inf")


def test_a_text_gives_the_same_results_as_its_file(written):
    path = written(GOOD, FALSE, "bad,row")
    told = []
    found, faults = runner.run_text(path.read_text(), str(path), progress=told.append)
    assert (
        (found, faults) == runner.run([path])
        and told == sorted(told)
        and len(told) == 3
        and told[0] >= 0
        and told[-1] < 1
    )
    found, faults = runner.run_text(path.read_text(), "mine.csv", {"A-1": "elsewhere.csv:7"})
    assert [one.id for one in found] == ["A-2"] and faults[
        0
    ] == "mine.csv:2: A-1: this id is already used at elsewhere.csv:7."


FORMER = "meter.spells.cv_rmse,measured=10|12|11|9; predicted=10|11|11|10; parameters=2"
NOTE = "meter.spells.cv_rmse is now called meter.savings.period_comparison.cv_rmse."


def test_a_former_name_is_evaluated_as_before_and_noted(written):
    new = FORMER.replace("meter.spells.", "meter.savings.period_comparison.")
    tail = ",0.0952,dimensionless,abs 0.05,own,derived,"
    results, errors = runner.run([written(f"N-1,{new}{tail}", f"F-1,{FORMER}{tail}", f"F-2,{FORMER}{tail}")])
    assert errors == [] and len({one.ours for one in results}) == 1
    assert {one.quantity for one in results} == {"meter.savings.period_comparison.cv_rmse"}
    assert [one.former_name for one in results] == ["", "meter.spells.cv_rmse", "meter.spells.cv_rmse"]
    text, code = runner.report(results, errors)
    assert code == 0 and text.splitlines() == [NOTE, "3 rows evaluated, 0 fail, 0 could not be read."]
    assert explain.explain_row(results[1]).rename_note == NOTE and explain.explain_row(results[0]).rename_note == ""


def test_a_former_name_leaves_the_exit_code_alone(written, capsys):
    assert main(["check", str(written(f"F-1,{FORMER},9,dimensionless,abs 0.05,own,derived,"))]) == 1
    out = capsys.readouterr().out
    assert "fails: meter.savings.period_comparison.cv_rmse(" in out and NOTE in out.splitlines()


@all_in_one(nomenclature.RENAMED)
def test_every_former_name_leads_to_a_function(former):
    assert former not in nomenclature.RETURNS and nomenclature.current_name(former) in nomenclature.RETURNS
    assert runner.function_of(former) is runner.function_of(nomenclature.current_name(former))
    assert nomenclature.rename_note(former) == f"{former} is now called {nomenclature.current_name(former)}."

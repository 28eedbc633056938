"""``mix``, ``estimate``, ``materials`` as typed, and the shop file; inch, pound by definition."""

import errno
import re
import sys
from dataclasses import replace
from pathlib import Path
from unittest.mock import Mock

import plan_folders
import pytest

from castplan import cli
from castplan.cli.quantities import read_gauge, read_length, read_uses, read_volume, read_weight
from castplan.errors import InputError
from castplan.materials.shop import EXAMPLE, load_shop
from castplan.records import Job, Shop

# Invented; the form is that of suppliers' sheets.
SHEET = """\
title = "Yard tin-cure"
chemistry = "tin-cure"
sheet = "invented"
density_g_ml = "1080 kg/m3"
ratio_a = 100
ratio_b = 5
pot_life_min = "30 to 40 min"
demould_h = 16
shore = "25 A"
"""


@pytest.fixture
def run(monkeypatch, capsys):
    """Run the command line in this process: exit code, stdout, stderr."""

    def run(*arguments, typed=""):
        import io

        monkeypatch.setattr(sys, "argv", ["castplan", *map(str, arguments)])
        monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
        with pytest.raises(SystemExit) as ended:
            cli.main()
        captured = capsys.readouterr()
        return ended.value.code or 0, captured.out, captured.err

    return run


@pytest.fixture
def sheet(tmp_path):
    path = tmp_path / "sheet.toml"
    path.write_text(SHEET, encoding="utf-8")
    return path


def test_mix_by_volume(run):
    code, out, err = run("mix", "--card", "silicone-tin-25a", "--volume", "240ml")
    assert (code, err) == (0, "")
    # 240 ml at 1.08 g/ml, 20:1: 246.857 and 12.343 g. Arithmetic only.
    assert re.search(r"A +246\.9 g", out) and re.search(r"B +12\.3 g", out)
    assert "259.2 g" in out and "9.14 oz" in out
    assert "pour within 22 min" in out and "open after 16 h" in out
    assert "H360FD" in out and "safety data sheet come first" in out


def test_mix_by_weight_with_tare_and_pigment(run):
    _, out, _ = run(
        *("mix", "--card", "polyurethane-fast-70d", "--weight", "120g", "--tare", "12"),
        *("--pigment", "2", "--scale-step", "1"),
    )
    rows = {line.split()[0]: line.split() for line in out.splitlines() if line.startswith("  ")}
    assert rows["A"][-2:] == ["75", "g"] and rows["B"][-2:] == ["132", "g"]
    assert "pigment" in rows
    # A step of 1 g: 0.5 / 63.2 + 1 / 56.8 = 2.6 %, more than 2 %.
    assert "too coarse: it reads in steps of 1 g, which puts the ratio off by at most 2.6 %" in out


def test_a_small_mix_is_made_up_as_the_shop_likes(run, tmp_path):
    small = ("mix", "--card", "polyurethane-fast-70d", "--weight", "12g", "--scale-step", "0.1")
    _, out, _ = run(*small)
    # The card's 85 g; and 15.3 g by hand: half a step on A and one on B may be 2 % off,
    # 0.05 / (10/19 m) + 0.1 / (9/19 m) = 0.02 for m = 15.3.
    assert "raised to 85.0 g" in out and "from 15.3 g on" in out
    assert re.search(r"A +44\.7 g", out)
    _, out, _ = run(*small, "--least", "scale")
    assert "raised to 15.3 g" in out
    _, out, _ = run(*small, "--least", "none")
    assert "raised" not in out and re.search(r"A +6\.32 g", out) and "too coarse" in out
    assert run(*small, "--least", "some")[0] == 2
    path = tmp_path / "shop.toml"
    path.write_text('least_mix = "none"\n', encoding="utf-8")
    assert "raised" not in run(*small, "--shop", path)[1]
    path.write_text('least_mix = "some"\n', encoding="utf-8")
    assert run(*small, "--shop", path)[0] == 2


def planned_for(folder, *told, **choices):
    """A plan's folder with other mixes and choices: each mix by name, card and millilitres."""
    plan = plan_folders.coarse_plan()
    mixes = tuple(
        replace(mix, name=name, card=card, volume_ml=volume_ml)
        for one, mix in zip(told, plan.bench.amounts.mixes, strict=False)
        for name, (card, volume_ml) in one.items()
    )
    amounts = replace(plan.bench.amounts, mixes=mixes)
    bench, job = replace(plan.bench, amounts=amounts), replace(plan.job, **choices)
    plan_folders.write(folder, replace(plan, bench=bench, job=job))


def test_mix_from_a_plan(run, tmp_path):
    planned_for(
        tmp_path,
        {"First half": ("silicone-tin-25a", 200.0)},
        {"Resin, one copy": ("polyurethane-fast-70d", 100.0)},
        shop_temperature_c=20.0,
    )
    code, out, _ = run("mix", "--plan", tmp_path)
    assert code == 0 and "First half:" in out and "Resin, one casting:" in out
    assert "At 20 C" in out
    _, out, _ = run("mix", "--plan", tmp_path, "--pour", "First half", "--temperature", "25")
    assert "Resin" not in out and "At 25 C" in out
    assert run("mix", "--plan", tmp_path, "--pour", "Third half")[0] == 2
    assert run("mix", "--plan", tmp_path / "none")[0] == 2


def test_mix_from_a_plan_weighs_on_the_scale_the_plan_was_made_for(run, tmp_path):
    shop = Shop(scale_step_g=0.5, tare_g=20.0, largest_cup_ml=1500.0)
    planned_for(tmp_path, {"First half": ("silicone-tin-25a", 600.0)}, shop=shop)
    code, out, _ = run("mix", "--plan", tmp_path)
    # 648 g; a chamber for 1500 ml takes a fifth of it, 300 ml, so two cups of 324 g:
    # A 308.57, B 15.43; with the cup of 20 g the scale of 0.5 g shows 328.5 and 344.0.
    assert code == 0 and "2 mixing cups" in out
    assert re.search(r"A +308\.5 g .*328\.5 g", out) and re.search(r"B +15\.5 g .*344\.0 g", out)
    # What is typed, and a shop file that is named, come before it.
    assert "20.0 g" not in run("mix", "--plan", tmp_path, "--tare", "0")[1]
    own = tmp_path / "shop.toml"
    own.write_text("scale_step_g = 1\n", encoding="utf-8")
    assert re.search(r"A +617 g", run("mix", "--plan", tmp_path, "--shop", own)[1])


@pytest.mark.parametrize(
    "arguments",
    [
        (),
        ("--card", "silicone-tin-25a"),
        ("--volume", "1ml"),
        ("--card", "silicone-tin-25a", "--volume", "1ml", "--weight", "1g"),
        ("--card", "silicone-tin-25a", "--volume", "240"),
        ("--card", "silicone-tin-25a", "--volume", "99999999999999l"),
        ("--card", "silicone-tin-25a", "--volume", "8 fl oz"),
        ("--card", "silicone-tin-25", "--volume", "240ml"),
        ("--card", "silicone-tin-25a", "--volume", "240ml", "--temperature", "5"),
        ("--card", "silicone-tin-25a", "--volume", "240ml", "--pigment", "100"),
    ],
)
def test_mixes_that_cannot_be(run, arguments):
    code, out, err = run("mix", *arguments)
    assert (code, out, err.count("\n")) == (2, "", 1)


def test_estimate_says_how_wide_it_is(run):
    sides = ("--length", "142", "--width", "61", "--height", "38")
    code, blind, _ = run("estimate", *sides)
    assert code == 0 and "Part 132 ml (assumed) (32.9 ml to 329 ml)" in blind
    _, wet, _ = run("estimate", *sides, "--water", "118ml", "--copies", "3")
    spreads = [
        int(re.search(r"per casting .*?; -(\d+) % to", text, flags=re.DOTALL)[1])
        for text in (blind, wet)
    ]
    assert spreads[0] > 5 * spreads[1]
    assert "Box 166 x 85 x 62 mm inside" in wet
    assert "The usual guess" in wet and "Resin for 3 castings" in wet
    _, inches, _ = run(*("estimate", "--length", "5.59in", "--width", "2.4in", "--height", "1.5in"))
    assert "Box 166 x 85 x 62" in inches


def test_estimate_wants_weight_and_density_together(run):
    sides = ("--length", "142", "--width", "61", "--height", "38")
    assert run("estimate", *sides, "--original-weight", "300g")[0] == 2
    assert run("estimate", *sides, "--original-weight", "300g", "--original-density", "2.7")[0] == 0
    named = run("estimate", *sides, "--original-weight", "300g", "--original-density", "aluminium")
    assert named == run(
        "estimate", *sides, "--original-weight", "300g", "--original-density", "2.70"
    )
    for density in ("mud", "-1", "2700", "nan"):
        arguments = ("--original-weight", "300g", "--original-density", density)
        assert run("estimate", *sides, *arguments)[0] == 2
    assert run("estimate", *sides, "--water", "3l")[0] == 2


def test_a_card_is_added_checked_replaced_removed_and_brought_back(run, sheet, shop_folder):
    path = shop_folder / "cards" / "yard-25.toml"
    code, out, _ = run("materials", "add", "yard-25", "--from", sheet)
    assert code == 0 and path.exists()
    assert "Not on the sheet:" in out and "viscosity" in out
    first = path.read_text("utf-8")
    assert "yard-25" in run("materials", "list")[1]
    assert "nothing contradicts" in run("materials", "check")[1]
    assert "246.9 g" in run("mix", "--card", "yard-25", "--volume", "240ml")[1]
    assert run("materials", "add", "yard-25", "--from", sheet)[0] == 2
    sheet.write_text(SHEET.replace("ratio_b = 5", "ratio_b = 10"), encoding="utf-8")
    assert run("materials", "add", "yard-25", "--from", sheet, "--replace")[0] == 0
    assert path.read_text("utf-8") != first
    assert run("materials", "undo", "yard-25")[0] == 0
    assert path.read_text("utf-8") == first
    assert run("materials", "remove", "yard-25")[0] == 0
    assert not path.exists()
    assert run("materials", "undo", "yard-25")[0] == 0
    assert path.read_text("utf-8") == first


def test_a_full_disk_keeps_the_card_that_was_there_and_leaves_no_other(
    run, sheet, shop_folder, monkeypatch
):
    run("materials", "add", "yard-25", "--from", sheet)
    cards = shop_folder / "cards"
    before = {path.name: path.read_bytes() for path in cards.iterdir()}
    full = Mock(side_effect=OSError(errno.ENOSPC, "No space left on device"))
    monkeypatch.setattr(Path, "write_text", full)
    code, _, said = run("materials", "add", "yard-25", "--from", sheet, "--replace")
    assert code == 4 and "No space left on device" in said and said.count("\n") == 1
    assert {path.name: path.read_bytes() for path in cards.iterdir()} == before


def test_a_new_card_is_taken_back(run, sheet, shop_folder):
    run("materials", "add", "yard-25", "--from", sheet)
    assert run("materials", "undo", "yard-25")[0] == 0
    assert "yard-25" not in run("materials", "list")[1]
    assert run("materials", "undo", "yard-9")[0] == 2


@pytest.mark.parametrize(
    "arguments",
    [
        ("show", "nothing"),
        ("check", "silicone-tin-25a"),
        ("remove", "silicone-tin-25a"),
        ("remove", "../x"),
        ("add", "Bad Name", "--from", "sheet.toml"),
        ("add", "silicone-tin-25a", "--from", "sheet.toml"),
        ("add", "ours", "--from", "none.toml"),
    ],
)
def test_cards_that_cannot_be(run, sheet, monkeypatch, arguments):
    monkeypatch.chdir(sheet.parent)
    code, out, err = run("materials", *arguments)
    assert (code, out, err.count("\n")) == (2, "", 1)


def test_a_sheet_with_a_contradiction_is_not_kept(run, sheet, shop_folder):
    sheet.write_text(SHEET.replace('"1080 kg/m3"', "1080"), encoding="utf-8")
    code, _, err = run("materials", "add", "yard-25", "--from", sheet)
    assert code == 2 and "1080 kg/m3" in err
    assert not (shop_folder / "cards").exists()
    assert run("materials", "check", "--from", sheet)[0] == 2


def test_a_card_is_asked_for(run, shop_folder):
    answers = ["Yard urethane", "invented", "polyurethane", "", "1.10", "0.99", "", "", "100"]
    answers += ["", "3 min", "", "1080", "20 min"] + [""] * 19
    code, out, _ = run("materials", "add", "yard-pu", typed="\n".join(answers) + "\n")
    assert code == 0
    assert "if the sheet says 1080 min" in out  # asked again after the slip
    kept = (shop_folder / "cards" / "yard-pu.toml").read_text("utf-8")
    assert 'title = "Yard urethane"' in kept and "ratio_b = { value = 9" in kept


def test_a_broken_card_of_ones_own_is_named(run, shop_folder):
    (shop_folder / "cards").mkdir(parents=True)
    (shop_folder / "cards" / "bad.toml").write_text("[bad]\nkind = 1\n", encoding="utf-8")
    code, _, err = run("materials", "list")
    assert code == 2 and "bad.toml" in err and "move it out" in err


def test_the_example_of_a_shop_file_is_one(tmp_path, shop_folder):
    path = tmp_path / "shop.toml"
    path.write_text(EXAMPLE, encoding="utf-8")
    shop = load_shop(path)
    assert (shop.hourly_rate, shop.scale_step_g, shop.day_end_h) == (45, 0.1, 17)
    assert shop.uses == (("clay", "sulphur-free"), ("release", "petroleum-jelly"))
    assert [(pack.mass_g, pack.price, pack.most) for pack in shop.packs] == [(1050, 32.5, 4)]
    assert vars(load_shop()) == vars(Shop())
    shop_folder.mkdir()
    (shop_folder / "shop.toml").write_text(EXAMPLE, encoding="utf-8")
    assert load_shop().currency == "EUR"


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("hourly_rate = 45", "hourly_rate = -1", "hourly_rate"),
        ("scale_step_g = 0.1", "scale_step_g = 0", "scale_step_g: 0, need a number above 0"),
        ("hourly_rate", "hourly", "hourly: a key"),
        ('part = "kit"', 'part = "both"', "pack 1: part"),
        ("mass_g = 1050", "", "pack 1: mass_g: none"),
        ("price = 32.50", "price = true", "pack 1: price"),
        ('clay = "sulphur-free"', "clay = 3", "uses"),
        ('cut_colour = "#D55E00"', 'cut_colour = "vermilion"', "cut_colour: 'vermilion'"),
        ("[uses]", "[uses", "no shop file that can be read"),
    ],
)
def test_shop_files_that_cannot_be(tmp_path, old, new, words):
    path = tmp_path / "shop.toml"
    path.write_text(EXAMPLE.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(InputError, match=re.escape(words)):
        load_shop(path)


@pytest.mark.parametrize(
    ("text", "length_mm", "tolerance_mm", "tolerance_class"),
    [
        ("shaft=12.7", 12.7, None, None),
        ("shaft = 12.7mm:m", 12.7, None, "m"),
        ("shaft=0.5in:+-0.01in", 12.7, 0.254, None),
        ("shaft=0.5in:0.1mm", 12.7, 0.1, None),
        ("shaft=40:+-0.3", 40.0, 0.3, None),
    ],
)
def test_gauges_as_typed(text, length_mm, tolerance_mm, tolerance_class):
    gauge = read_gauge(text)
    assert gauge.name == "shaft"
    assert gauge.length_mm == pytest.approx(length_mm)
    assert gauge.tolerance_mm == (None if tolerance_mm is None else pytest.approx(tolerance_mm))
    assert gauge.tolerance_class == tolerance_class


@pytest.mark.parametrize("text", ["shaft", "=12", "shaft=big", "shaft=1:x", "shaft=-1", "a=1:m:f"])
def test_gauges_that_are_none(text):
    with pytest.raises(InputError, match="--gauge: found"):
        read_gauge(text)


def test_amounts_as_typed():
    # Exact: 1 US fl oz = 29.5735295625 ml, 1 imperial fl oz = 28.4130625 ml (Weights and
    # Measures Act 1985), 1 in3 = 16.387064 ml, 1 lb = 453.59237 g.
    for text in ("8 US fl oz", "8usfloz", "8 us fl. oz"):
        assert read_volume("--v", text) == pytest.approx(8 * 29.5735295625)
    for text in ("8 imp fl oz", "8 UK fl oz", "8 imperial fl oz"):
        assert read_volume("--v", text) == pytest.approx(8 * 28.4130625)
    assert read_volume("--v", "240,5ml") == read_volume("--v", "240.5 ml") == 240.5
    assert read_volume("--v", "3 cm\u00b3") == 3
    assert read_length("--l", "3 5/16in") == pytest.approx(3.3125 * 25.4)
    assert read_length("--l", "5/16 in") == pytest.approx(0.3125 * 25.4)
    assert read_length("--l", "14,2 cm") == pytest.approx(142)
    assert read_volume("--v", "12in3") == pytest.approx(196.644768)
    assert read_volume("--v", ".5L") == 500
    assert read_weight("--w", "2 lb") == pytest.approx(907.18474)
    assert read_length("--l", "5.6in") == pytest.approx(142.24)
    assert read_length("--l", "142") == 142
    for text in ("240", "ml", "-3ml", "0ml", "3 stone", "1e400ml", ""):
        with pytest.raises(InputError, match="--v: found"):
            read_volume("--v", text)
    for text, fault in (
        ("8 fl oz", "US .29.57 ml. or imperial"),
        ("8floz", "fluid ounces are of two sizes"),
        ("240", "no unit"),
        ("3 stone", "unit stone"),
        ("1,000ml", "may be a thousand or a decimal"),
        ("1.234,5ml", "two separators in its number"),
        ("99999999999999l", "up to 1,000,000 ml"),
        ("1/0 l", "above 0"),
    ):
        with pytest.raises(InputError, match=fault):
            read_volume("--v", text)
    with pytest.raises(InputError, match="up to 100,000 mm"):
        read_length("--l", "1000000000")
    assert read_uses("clay=sulphur-free, paint = enamel") == (
        ("clay", "sulphur-free"),
        ("paint", "enamel"),
    )
    for text in ("", "clay", "clay=", "=x"):
        with pytest.raises(InputError, match="--uses: found"):
            read_uses(text)


def test_options_of_the_plan_that_make_records(tmp_path):
    from castplan.cli.job_options import read_options
    from castplan.cli.shop_options import read_shop

    path = tmp_path / "shop.toml"
    path.write_text(EXAMPLE, encoding="utf-8")
    choices = read_options(
        {"original_weight": "160g", "original_density": "2.7", "gauge": ["shaft=12.7mm:m"]}
    )
    assert (choices["original_g"], choices["original_density_g_ml"]) == (160, 2.7)
    assert choices["gauges"][0].name == "shaft"
    # What is typed wins over the file.
    shop = read_shop(path, "clay=sulphur,paint=enamel")
    assert dict(shop.uses) == {
        "clay": "sulphur",
        "paint": "enamel",
        "release": "petroleum-jelly",
    }
    assert read_shop(None, None) is Job.shop
    assert replace(shop, uses=()).currency == "EUR"

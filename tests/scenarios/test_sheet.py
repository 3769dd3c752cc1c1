"""Sites unlike the demonstration: each sized and played, against what was worked out before."""

from pathlib import Path

import pytest

from .sheet import read_sheet, sheet_files, wrong_of

FILES = sheet_files()


@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_what_must_come_out(path: Path) -> None:
    wrong = wrong_of(read_sheet(path))
    assert not wrong, f"{path.name}: " + "; ".join(wrong)


def test_every_sheet_says_what_it_is_and_where_its_figures_come_from() -> None:
    sheets = [read_sheet(path) for path in FILES]
    assert len({sheet.what for sheet in sheets}) == len(sheets)
    assert all(must.why.endswith(".") for sheet in sheets for must in sheet.musts)
    assert all(sheet.musts for sheet in sheets)


# The sheet's reader must be able to say no.


def sheet_with(name: str, old: str, new: str, folder: Path) -> list[str]:
    """What is wrong with a sheet that is changed in one place."""
    text = next(path for path in FILES if path.stem == name).read_text(encoding="utf-8")
    assert old in text
    path = folder / f"{name}.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return wrong_of(read_sheet(path))


@pytest.mark.parametrize(
    ("name", "old", "new", "complaint"),
    [
        ("cord_too_thin", 'least = "20 %"', 'least = "26 %"', "loss in the wiring of night 1 is"),
        ("cord_too_thin", 'volts = "act"', 'volts = "good"', "size says of volts: act, not good"),
        ("cord_too_thin", "thicker or shorter", "longer", "for another reason"),
        ("cistern_above_open", '[site.line]', "[site.suction]\nstop_valve = true\n\n[site.line]",
         "it was given limits"),
    ],
)  # fmt: skip
def test_what_came_otherwise_is_told(
    name: str, old: str, new: str, complaint: str, tmp_path: Path
) -> None:
    assert complaint in "; ".join(sheet_with(name, old, new, tmp_path))


def test_a_quantity_that_nobody_knows_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="nothing is called"):
        sheet_with("cord_too_thin", 'be = "loss in the wiring"', 'be = "luck"', tmp_path)
    with pytest.raises(ValueError, match="neither least nor most"):
        sheet_with("cord_too_thin", 'least = "20 %"\nmost = "27 %"', "", tmp_path)

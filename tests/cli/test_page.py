"""`cuegen page`: a hall page with its track inside, beside or without; a picture."""

from __future__ import annotations

from pathlib import Path

import pytest

from cuegen.sheet.formats import save_sheet
from tests.cli.running import CommandLine
from tests.pages.hall_pages import short_sheet, write_track


@pytest.fixture
def saved(cuegen: CommandLine) -> CommandLine:
    """The command line, with a sheet of three seconds as a.sheet.json."""
    save_sheet(short_sheet(), Path("a.sheet.json"))
    return cuegen


@pytest.fixture
def track(tmp_path: Path) -> bytes:
    return write_track(tmp_path / "a.opus", 3_000).read_bytes()


def test_both_commands_have_help(cuegen: CommandLine) -> None:
    for command in ("hall", "picture"):
        ran = cuegen.run("page", command, "--help")
        assert ran.code == 0
        assert "--out" in ran.out


def test_a_page_without_a_track_says_that_it_has_no_sound(saved: CommandLine) -> None:
    ran = saved.run("page", "hall", "a.sheet.json", "--out", "hall.html")
    assert (ran.code, ran.out) == (0, "hall.html\n")
    assert ran.err == "cuegen: no track lies beside the sheet: the page has no sound\n"
    html = Path("hall.html").read_text(encoding="utf-8")
    assert "Alder ladder &lt;thirteen&gt;" in html
    assert "<audio" not in html


def test_the_track_beside_the_sheet_stays_beside_the_page(saved: CommandLine, track: bytes) -> None:
    Path("a.opus").write_bytes(track)
    ran = saved.run("page", "hall", "a.sheet.json", "-o", "hall.html")
    assert ran.code == 0
    assert ran.err == "cuegen: keep a.opus where it is beside the page\n"
    html = Path("hall.html").read_text(encoding="utf-8")
    assert '<audio id="track" preload="auto" src="./a.opus">' in html


def test_a_track_that_is_named_can_be_put_inside(saved: CommandLine, track: bytes) -> None:
    Path("other.opus").write_bytes(track)
    ran = saved.run(
        "page", "hall", "a.sheet.json", "--audio", "other.opus", "--embed-audio", "-o", "h.html"
    )
    assert (ran.code, ran.err) == (0, "")
    assert 'src="data:audio/ogg;base64,T2dnUw' in Path("h.html").read_text(encoding="utf-8")


def test_no_audio_leaves_the_track_out_and_says_nothing(saved: CommandLine) -> None:
    Path("a.opus").write_bytes(b"whatever it is")
    ran = saved.run("page", "hall", "a.sheet.json", "--no-audio", "-o", "h.html")
    assert (ran.code, ran.err) == (0, "")
    assert "<audio" not in Path("h.html").read_text(encoding="utf-8")


def test_a_track_of_another_length_is_refused_and_no_page_written(saved: CommandLine) -> None:
    write_track(Path("a.opus"), 2_000)
    ran = saved.run("page", "hall", "a.sheet.json", "-o", "h.html")
    assert ran.code == 2
    assert "this track lasts 2.0 s, the sheet 3.0 s" in ran.err
    assert not Path("h.html").exists()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--embed-audio", "-o", "h.html"), "there is no track beside this"),
        (("--no-audio", "--embed-audio", "-o", "h.html"), "leaves out what"),
        (("-o", "h.txt"), "a page's name ends in .html"),
        (("--week", "2", "-o", "h.html"), "finished"),
    ],
)
def test_options_that_cannot_be_are_refused(
    saved: CommandLine, options: tuple[str, ...], words: str
) -> None:
    ran = saved.run("page", "hall", "a.sheet.json", *options)
    assert ran.code == 2
    assert words in ran.err
    assert saved.names() == {"a.sheet.json"}


@pytest.mark.slow
def test_a_plan_becomes_a_page_of_its_lines(cuegen: CommandLine) -> None:
    cuegen.write("p.yaml", "title: Mine\nsession: 1:30 r20\n")
    ran = cuegen.run("page", "hall", "p.yaml", "--voice", "small", "--no-audio", "-o", "h.html")
    assert ran.code == 0, ran.err
    html = Path("h.html").read_text(encoding="utf-8")
    assert '"name": "Row", "rate' not in html
    assert "<title>Mine</title>" in html
    assert '"brief": "Row, rate 20, 75 % effort"' in html


def test_a_page_for_one_rower_is_noted_and_a_picture_is_not(
    saved: CommandLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    noted: list[Path] = []
    monkeypatch.setattr("cuegen.cli.page.note_made", lambda paths, *_: noted.extend(paths))
    saved.run("page", "hall", "a.sheet.json", "--no-audio", "-o", "h.html")
    saved.run("page", "picture", "a.sheet.json", "-o", "s.svg")
    assert noted == [Path("h.html")]


def test_a_picture_is_what_its_name_ends_in(saved: CommandLine) -> None:
    for name, head in (("s.svg", b"<?xml"), ("s.png", b"\x89PNG")):
        ran = saved.run("page", "picture", "a.sheet.json", "--out", name)
        assert (ran.code, ran.out, ran.err) == (0, f"{name}\n", "")
        assert Path(name).read_bytes().startswith(head)
    ran = saved.run("page", "picture", "a.sheet.json", "--out", "s.jpg")
    assert (ran.code, Path("s.jpg").exists()) == (2, False)
    assert "cannot be written as '.jpg'" in ran.err

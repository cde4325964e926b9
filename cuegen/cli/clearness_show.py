"""`cuegen check TRACK --clearness`: how clear each line is, printed."""

from __future__ import annotations

from cuegen.cli.terminal import add_row, console, plain_table
from cuegen.clock import clock_text
from cuegen.pages.report_plots import over_text
from cuegen.verify.report import ListeningReport

CAUTION = "Set the level by ear, low enough to talk over: loud sound harms hearing."


def tell_clearness(report: ListeningReport) -> None:
    """Print what each hall leaves of all lines, then every line, the worst first."""
    out = console()
    if not report.halls:
        out.print("no line was found whose clearness can be measured", markup=False)
        return
    halls = plain_table("In the noise of", "speech over it", "STOI", "worst", "hard to hear")
    for hall in report.halls:
        middle, worst = f"{hall.median_stoi:.2f}", f"{hall.worst_stoi:.2f}"
        add_row(halls, hall.name, f"{hall.over_lu:g} LU", middle, worst, str(hall.hard))
    out.print(halls)
    lines = plain_table("", "STOI", "over all else, dB", f"in {report.halls[-1].name}")
    for cue in sorted((cue for cue in report.cues if cue.stoi), key=lambda cue: cue.stoi[-1]):
        over = "" if cue.below_db is None else over_text(cue.below_db)
        add_row(lines, clock_text(cue.planned_ms), f"{cue.stoi[-1]:.2f}", over, cue.text)
    out.print(lines)
    out.print(CAUTION, markup=False)

"""How often survey forensics finds planted mistakes and how often it suspects true surveys, as Markdown.

Run ``python tests/forensics_rates.py`` for the tables, with ``--surveys N`` of each kind (default 1000)
and ``--seed``; ``--into FILE`` puts them between the two marks of a Markdown file. The surveys are
random and seeded (tests/survey_generator.py), so the same command gives the same tables.

Intervals are Wilson's score intervals at 95 %: E. B. Wilson, Probable Inference, the Law of Succession,
and Statistical Inference, J. Am. Stat. Assoc. 22 (1927) 209-212; z = 1.959964 from memory.
"""

import argparse
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from pathlib import Path
from random import Random

from sawready.calc.forensics import Suspect, survey_suspects
from survey_figures import starting_figures
from survey_generator import ALIKE, MISTAKES, ODD, Planted

Z_95 = 1.959964
START, END = "<!-- rates: made by tests/forensics_rates.py -->", "<!-- end of rates -->"


def wilson(hits: int, tries: int, z: float = Z_95) -> tuple[float, float]:
    """Wilson's score interval for a share.

    Example:
        >>> low, high = wilson(8, 10)
        >>> round(low, 4), round(high, 4)
        (0.4902, 0.9433)
    """
    share, square = hits / tries, z * z
    middle = (share + square / (2 * tries)) / (1 + square / tries)
    half = z * sqrt(share * (1 - share) / tries + square / (4 * tries * tries)) / (1 + square / tries)
    return max(middle - half, 0.0), min(middle + half, 1.0)


@dataclass(slots=True)
class Count:
    """Planted mistakes of one kind: how many could be seen, were found, had the right value first."""

    hidden: int = 0
    seen: int = 0
    found: int = 0
    first: int = 0
    named: int = 0

    def add(self, planted: Planted, suspects: Sequence[Suspect]) -> None:
        """Count one planted mistake with what was said of its opening."""
        if not planted.is_visible:
            self.hidden += 1
            return
        self.seen += 1
        hits = [each for each in suspects if each.field in planted.fields]
        if hits:
            self.found += 1
            self.named += any(each.reason == planted.reason for each in hits)
            self.first += is_right_value(planted, hits[0])


def is_right_value(planted: Planted, suspect: Suspect) -> bool:
    """The first candidate is what stood there before, or nothing was asked for."""
    if planted.value_mm is None:
        return True
    first = suspect.candidates_mm[:1]
    return bool(first) and abs(first[0] - planted.value_mm) <= planted.within_mm


def count_mistakes(kind: str, surveys: int, seed: int) -> Count:
    """Plant mistakes of one kind until so many can be seen."""
    rng, figures, count = Random(f"{seed} {kind}"), starting_figures(), Count()
    while count.seen < surveys:
        planted = MISTAKES[kind](rng)
        if planted is not None:
            count.add(planted, survey_suspects(planted.order, figures)[planted.index])
    return count


def count_true(kind: str, surveys: int, seed: int) -> tuple[int, int]:
    """Suspected openings and all openings in true surveys of one kind."""
    rng, figures = Random(f"{seed} {kind}"), starting_figures()
    make = {**ODD, **ALIKE}[kind]
    suspected = openings = 0
    while openings < surveys:
        for suspects in survey_suspects(make(rng), figures):
            openings += 1
            suspected += bool(suspects)
    return suspected, openings


def percent(hits: int, tries: int) -> str:
    """A share with its interval, in per cent."""
    low, high = wilson(hits, tries)
    return f"{100 * hits / tries:.1f} ({100 * low:.1f}-{100 * high:.1f})"


def fine_percent(hits: int, tries: int) -> str:
    """A small share with its interval, in per cent."""
    low, high = wilson(hits, tries)
    return f"{100 * hits / tries:.2f} ({100 * low:.2f}-{100 * high:.2f})"


def tables(surveys: int, seed: int) -> str:
    """Both tables as Markdown."""
    lines = [
        "Shares in per cent with 95 % intervals. *Found*: a suspect at the right place. *Value first*: and",
        "its first candidate is what stood there. *Hidden*: planted besides, but breaking no limit of the",
        "rulebook, so that there is nothing to see.",
        "",
        "| planted mistake | seen | found | value first | reason as planted | hidden |",
        "| --- | ---: | ---: | ---: | ---: | ---: |",
    ]
    whole = Count()
    for kind in MISTAKES:
        count = count_mistakes(kind, surveys, seed)
        lines.append(_row(kind, count))
        for name in ("hidden", "seen", "found", "first", "named"):
            setattr(whole, name, getattr(whole, name) + getattr(count, name))
    lines += [_row("**all**", whole), "", "| true surveys | openings | suspected |", "| --- | ---: | ---: |"]
    suspected = openings = 0
    for kind in ODD:
        hits, tries = count_true(kind, 3 * surveys, seed)
        lines.append(f"| {kind} | {tries} | {fine_percent(hits, tries)} |")
        suspected, openings = suspected + hits, openings + tries
    lines += [
        f"| **all** | {openings} | {fine_percent(suspected, openings)} |",
        "",
        "| true or without a name, yet such as a slip could have made | openings | suspected |",
        "| --- | ---: | ---: |",
    ]
    for kind in ALIKE:
        hits, tries = count_true(kind, surveys, seed)
        lines.append(f"| {kind} | {tries} | {fine_percent(hits, tries)} |")
    return "\n".join(lines) + "\n"


def _row(kind: str, count: Count) -> str:
    """One line of the table of mistakes."""
    shares = " | ".join(percent(hits, count.seen) for hits in (count.found, count.first, count.named))
    return f"| {kind} | {count.seen} | {shares} | {count.hidden} |"


def put_into(file: Path, text: str) -> None:
    """Replace what stands between the marks of a file."""
    before, _, rest = file.read_text("utf-8").partition(START)
    _, _, after = rest.partition(END)
    file.write_text(f"{before}{START}\n\n{text}\n{END}{after}", "utf-8")


def main(arguments: Sequence[str] | None = None) -> None:
    """Make the tables."""
    parser = argparse.ArgumentParser(description="Detection and false-alarm rates of survey forensics.")
    parser.add_argument("--surveys", type=int, default=1000, help="planted mistakes of each kind")
    parser.add_argument("--seed", type=int, default=8)
    parser.add_argument("--into", type=Path, help="Markdown file to put the tables into")
    options = parser.parse_args(arguments)
    text = tables(options.surveys, options.seed)
    if options.into is None:
        sys.stdout.write(text)
    else:
        put_into(options.into, text)


if __name__ == "__main__":
    main()

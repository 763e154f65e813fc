"""Pages of the catalogue of reasons, for people at a terminal."""

import textwrap
from difflib import get_close_matches
from typing import Final

from sawready.errors import SettingsError
from sawready.rules import run
from sawready.rules.registry import ABOUT, REASONS, catalogue_pages

_WORD: Final = {"reject": "must not be cut", "query": "a person answers first", "note": "said, carries on"}
_WIDTH: Final = 96


def reason_list() -> str:
    """Every reason by family, with its usual severity and a few words."""
    lines: list[str] = []
    pages = catalogue_pages()
    widest = max(len(page.name) for page in pages)
    for about in ABOUT:
        own = [page for page in pages if page.about == about]
        if own:
            lines.append(f"About {about}")
            lines.extend(f"  {page.name:<{widest}}  {page.severity:<6}  {page.title}" for page in own)
            lines.append("")
    lines.append("sawready reasons REASON shows what it means, why it matters and what to do.")
    return "\n".join(lines)


def reason_page(name: str) -> str:
    """The page of one reason.

    Raises: SettingsError where there is no such reason; names the nearest.
    """
    page = REASONS.get(name)
    if page is None:
        near = get_close_matches(name, REASONS, n=1, cutoff=0.5)
        hint = f"; the nearest is {near[0]}" if near else ""
        raise SettingsError(f"there is no reason {name}{hint}")
    parts = [
        f"{page.name}: {page.severity} ({_WORD[page.severity]}), since {page.since}",
        page.title,
        "",
        *_block("Why it matters", page.why),
        *_block("It says", page.message),
        *_block("What to do", page.remedy),
        *_block("Figure from", page.source),
    ]
    if page.needs:
        parts.extend(_block("Needs", "; ".join(run.FACTS[need] for need in page.needs)))
        parts.append("Where one of these is missing it is listed as not applied.")
    return "\n".join(parts).rstrip()


def _block(heading: str, text: str) -> list[str]:
    return [f"{heading}:", *textwrap.wrap(text, _WIDTH, initial_indent="  ", subsequent_indent="  "), ""]

"""What `lodpipe check --tiers` prints."""

from collections import Counter
from typing import Any

from lodpipe.cli import show
from lodpipe.pipeline import Tiers
from lodpipe.publish.harvest import tiers

_STEPS = {"languages": tiers.LANGUAGES, "elements": tiers.ELEMENTS, "classes": tiers.CLASSES}
UNVERIFIED = "which properties, elements and authorities count"


def data(found: Tiers) -> dict[str, Any]:
    """Return the tiers as JSON values, with the criteria and where they are said."""
    return {
        "release": found.release,
        "records": {
            key: {
                "content": one.content,
                "metadata": one.metadata,
                "megapixels": round(one.megapixels, 3),
                "use": one.use,
                "languages": round(one.languages, 3),
                "elements": one.elements,
                "classes": one.classes,
                "parts": {name: tiers.LEVELS[level] for name, level in one.parts.items()},
            }
            for key, one in found.measured.items()
        },
        "not_sent": {key: lack.message for key, lack in found.unsent.items()},
        "criteria": {
            "content": _criteria(tiers.MEGAPIXELS, "megapixels"),
            **{name: _criteria(steps, name) for name, steps in _STEPS.items()},
        },
        "unverified": UNVERIFIED,
        "mend": {"words": found.mend[0], "records": found.mend[1]},
    }


def _criteria(steps: tuple[tuple[int, float, str], ...], unit: str) -> list[dict[str, Any]]:
    return [
        {"level": level, "least": least, "of": unit, "source": at} for level, least, at in steps
    ]


def tell(found: Tiers) -> None:
    """Print a line a record, the criteria, the sums and the mend."""
    show.tell("content  metadata  record")
    for key, one in found.measured.items():
        parts = one.parts
        count = sum(len(names) for names in one.elements.values())
        why = (
            f"{one.megapixels:.2f} megapixels, {one.use} use; "
            f"languages {one.languages:.0%} ({tiers.LEVELS[parts['languages']]}), "
            f"{count} elements of {len(one.elements)} groups ({tiers.LEVELS[parts['elements']]}), "
            f"classes {', '.join(one.classes) or 'none'} ({tiers.LEVELS[parts['classes']]})"
        )
        show.tell(f"{one.content:<8} {one.metadata:<9} {key}: {why}")
    for key, lack in found.unsent.items():
        show.tell(f"-        -         {key}: not sent, {lack.message}")
    show.tell()
    for level, least, source in tiers.MEGAPIXELS:
        use = " and a licence that limits use, tier 4 with an open one" if level == 3 else ""
        show.tell(f"content {level}: at least {least} megapixels{use}; {source}")
    for name, steps in _STEPS.items():
        for level, least, source in steps:
            amount = f"{least:.0%}" if name == "languages" else f"{least:.0f}"
            show.tell(f"metadata {tiers.LEVELS[level]}, {name}: at least {amount}; {source}")
    show.tell(f"{UNVERIFIED} is from memory: unverified")
    show.tell()
    show.tell(
        f"{len(found.measured)} records, {len(found.unsent)} not sent; content "
        + _sums(Counter(str(one.content) for one in found.measured.values()))
        + "; metadata "
        + _sums(Counter(one.metadata for one in found.measured.values()))
    )
    words, lifted = found.mend
    if words:
        show.tell(f"what lifts most records ({lifted}): {words}")


def _sums(counts: Counter[str]) -> str:
    return ", ".join(f"{counts[tier]} in {tier}" for tier in sorted(counts)) or "none"

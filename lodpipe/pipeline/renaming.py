"""Old addresses of documents that have a new one."""

from collections.abc import Collection

from lodpipe.evidence import Access
from lodpipe.findings import Finding, Report
from lodpipe.parts import IndexReader


def renamings(
    access: Access, base: str, index: IndexReader, withheld: Collection[str], report: Report
) -> dict[str, str]:
    """Return the new IRI of each old one that leads on; report rows that lead nowhere.

    Args:
        access: has the rows of renamed.csv, each with the newest of its names.
        withheld: what may not be seen: nothing leads there, and nothing is said of it.
    """
    found = {}
    for old_key, new_key, place in access.renamed:
        old, new = (key if key.startswith(base) else base + key for key in (old_key, new_key))
        if new in withheld or old in withheld:
            continue
        if index.get(new) is None:
            message = f"no document has the path `{new_key}`, so the old one leads nowhere"
            at, value = place.at("new"), new_key
        elif index.get(old) is not None:
            message = f"`{old_key}` is still there, so it does not lead on"
            at, value = place.at("old"), old_key
        else:
            found[old] = new
            continue
        report(Finding("renamed", message, at, value=value))
    return found

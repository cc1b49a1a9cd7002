"""What every manifest and collection says before and below its pictures: notices, summary, credit.

`requiredStatement` is the one text that a viewer must show, `summary` the one that it shows where
there is no room for metadata, so a notice stands first in both:
https://iiif.io/api/presentation/3.0/#requiredstatement, #summary.
"""

from collections.abc import Iterable, Sequence

from lodpipe.publish.iiif.described import credited
from lodpipe.publish.iiif.rows import description_of, notice_of
from lodpipe.publish.iiif.settings import LanguageMap, Notice, Row, Site, View, nearest, word
from lodpipe.records import Tree

STOP = ". "
"""Between the sentences of a summary and of a credit."""
SENTENCES = 4
"""Lines of metadata in a summary: who, when, where, how."""


def statements(
    notice: Notice | None, credit: LanguageMap, summary: LanguageMap, site: Site
) -> Tree:
    """Return `summary` and `requiredStatement`, each with the notice first where there is one.

    Args:
        credit: who made it, as surely as it is known, and whose it is; one text a language.
        summary: what else is said of it.
    """
    made: Tree = {}
    if notice:
        summary, credit = noticed(notice, summary), noticed(notice, credit)
    if summary:
        made["summary"] = safe(summary)
    label = notice.label if notice else word("credit", site.languages)
    made["requiredStatement"] = {"label": label, "value": safe(credit)}
    return made


def noticed(notice: Notice, texts: LanguageMap) -> LanguageMap:
    """Return texts after a notice, which no reader misses, whatever language he reads.

    A viewer shows the texts of one language only. A notice in other languages stands there in
    full: its words are the community's, and not ours to translate.
    """
    every = [text for texts_of_one in notice.text.values() for text in texts_of_one]
    found = {tag: [*own, *texts.get(tag, ())] for tag, own in notice.text.items()}
    for tag, own in texts.items():
        if tag not in found:
            found[tag] = [*every, *own]
    return found


def together(notices: Iterable[Notice], site: Site) -> Notice | None:
    """Return the notices of several things as one, each text once; None where there are none."""
    labels: list[LanguageMap] = []
    texts: LanguageMap = {}
    for notice in notices:
        if notice.label not in labels:
            labels.append(notice.label)
        for tag, own in notice.text.items():
            mine = texts.setdefault(tag, [])
            mine.extend(text for text in own if text not in mine)
    if not texts:
        return None
    first = sorted(texts, key=lambda tag: tag in site.languages)
    label = labels[0] if len(labels) == 1 else word("notices", site.languages)
    return Notice(label, {tag: texts[tag] for tag in first})


def notice_on(uri: str, view: View, site: Site) -> Notice | None:
    """Return the notice that stands before a document."""
    tree = view.get(uri)
    return notice_of(tree, uri, view, site) if tree else None


def credit_of(tree: Tree, view: View, site: Site) -> LanguageMap:
    """Return who made a thing, in hedged words, and the house with its number, in each language."""
    makers, number = credited(tree, view, site)
    return {
        tag: [
            (nearest(makers, tag) + STOP if makers else "")
            + (f"{house}, {number}" if number else house)
        ]
        for tag, (house,) in house_of(site).items()
    }


def house_of(site: Site) -> LanguageMap:
    """Return the name of the house in every language that has words."""
    names = {tag: [name] for tag, name in site.name.items()}
    return {tag: [nearest(names, tag)] for tag in word("credit", site.languages)}


def summary_of(tree: Tree, lines: Sequence[Row], site: Site) -> LanguageMap:
    """Return the description of a thing, else its first lines of metadata as sentences."""
    described = description_of(tree, site)
    if described or not lines:
        return described
    first = lines[:SENTENCES]
    return {
        tag: [STOP.join(f"{label[tag][0]}: {nearest(value, tag)}" for label, value in first) + "."]
        for tag in first[0][0]
    }


def safe(texts: LanguageMap) -> LanguageMap:
    """Return texts that no viewer takes for HTML: only one that begins with `<` counts as such.

    https://iiif.io/api/presentation/3.0/#45-html-markup-in-property-values
    """
    if all(all(text and text[0] != "<" for text in own or [""]) for own in texts.values()):
        return texts
    return {
        tag: [("\u200b" + text if text.startswith("<") else text) for text in contents if text]
        for tag, contents in texts.items()
        if any(contents)
    }

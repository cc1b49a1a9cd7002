"""The words of the mapping language: each key, where it may stand, what it takes, what it means.

The reader of mappings, the messages about unknown keys and the JSON Schema for editors are all
made from these tables, so that they cannot disagree.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Word:
    """One key of the language.

    `takes` names the form of its value, a key of `FORMS`; with `[]` behind it a list of them,
    with `{}` a mapping of names to them. Alternatives are separated by `|`.
    """

    takes: str
    means: str


Words = dict[str, Word]

MAPPING: Words = {
    "reads": Word("reads", "How to read a record: where the records are, their key, their fields."),
    "makes": Word("document[]", "The documents that a record makes, in the shape of Linked Art."),
    "claims": Word("claim[]", "What is uncertain in the source, as lines of the ledger."),
    "layout": Word("layout[]", "Rows of images.csv, layout.csv and threads.csv."),
}

READS: Words = {
    "records": Word(
        "text", "Where the records are: JSONPath, XPath, or nothing for tables and JSON Lines."
    ),
    "sheet": Word("text", "The worksheet of an XLSX file."),
    "namespaces": Word("text{}", "Prefixes of XML namespaces for the XPaths of this mapping."),
    "key": Word("text", "The field that identifies a record in its source."),
    "empty": Word("scalar[]", "Values that mean nothing."),
    "fields": Word("field{}", "Names for what is read from a record."),
    "dropped": Word("text{}", "What is left out on purpose, each with the reason."),
}

FIELD: Words = {
    "from": Word("text|text[]", "Where the value stands; of a list, the first that is not empty."),
    "as": Word("as", "What the text is: a date, a number, a size, a text in a language."),
    "kind": Word("kind", "For dates: `life` for the years of a person's life."),
    "unit": Word("unit", "For sizes: the unit, where the text has none."),
    "order": Word("text[]", "For sizes: height, width ..., where the text does not say."),
    "what": Word("text", "For sizes: what was measured, where the text does not say."),
    "compare": Word("text[]", "For dates: where the first and last day stand for machines."),
    "pattern": Word("text", "A pattern (RE2) with named groups: `(?P<no>\\d+)` gives `field.no`."),
    "split": Word("text", "What separates several values in one text."),
    "empty": Word("scalar[]", "Values that mean nothing here; replaces the list of `reads`."),
    "choose": Word("case[]", "A field of our own: the first case that holds."),
    "together": Word("field{}", "Parallel lists: columns that are read together, row by row."),
    "lead": Word("text", "The column of `together` that says how many there are."),
    "each": Word("text", "Where the elements of a list stand: JSON Pointer, JSONPath or XPath."),
    "walk": Word("text", "Where the topmost node of a tree stands."),
    "children": Word("text", "For `walk`: the member of a node that holds the nodes below it."),
    "root": Word("bool", "For `walk`: whether the topmost node counts."),
    "join": Word("text", "The name of a joined file: its rows with our key."),
    "on": Word("text", "For `join`: our field that holds the key."),
    "by": Word("text", "For `join`: the column of the joined file that holds the key."),
    "fields": Word("field{}", "Names for what is read from each element of a list."),
}

LIST_KINDS = ("together", "each", "walk", "join")
"""Keys that make a field a list of elements, each with fields of its own."""

ELEMENT_KEYS = {
    "together": ("together", "lead", "split", "choose", "empty"),
    "each": ("each", "fields", "choose", "empty"),
    "walk": ("walk", "children", "root", "fields", "choose", "empty"),
    "join": ("join", "on", "by", "fields", "choose", "empty"),
}

CASE: Words = {
    "when": Word("when", "What must hold for this case; without it, it always holds."),
    "is": Word("text|node", "The value: a text with placeholders, or a lookup."),
}

CONDITIONS: Words = {
    "lookup": Word("text", "The table has the value as a term."),
    "matches": Word("text", "The value matches a pattern (RE2), anywhere unless anchored."),
    "not": Word("test", "The opposite of another test."),
}

NODE: Words = {
    "each": Word("text", "A list: the node is made once for each of its elements."),
    "when": Word("when", "What must hold for the node to be made."),
    "node": Word("node", "With `each` or `when`: the node itself."),
    "role": Word("text", "The role of a production or modification; gives it `id` and type."),
    "ref": Word("uri", "A link to a document; its label is filled in later."),
    "term": Word("text", "A concept of lodpipe or of the project, by its term."),
    "lookup": Word("text", "A table of terms in mappings/vocab."),
    "from": Word("text", "With `lookup`: the field that is looked up."),
    "column": Word("text", "With `lookup`: the column that gives a text, not a concept."),
    "timespan": Word("text", "A field that holds a date."),
    "state": Word("bool", "With `timespan`: something that went on throughout."),
    "size": Word("text", "A field that holds sizes: a Dimension for each."),
    "language": Word("text", "A language tag; on a name or statement, the language it is in."),
}

LOOKUP_KEYS = ("lookup", "from", "column", "each", "when")
TIMESPAN_KEYS = ("timespan", "state", "language", "when")

DOCUMENT: Words = {
    "id": Word("uri", "The path of the document under the base of the site."),
    "type": Word("text", "The class of Linked Art."),
    "_label": Word("text", "What people see who look at the data."),
    "each": Word("text", "A list: one document for each of its elements."),
    "when": Word("when", "What must hold for the document to be made."),
}

CLAIM: Words = {
    "each": Word("text", "A list: one claim for each of its elements."),
    "when": Word("when", "What must hold for the claim to be made."),
    "about": Word("uri", "The thing that the claim is about."),
    "aspect": Word("text", "Which aspect of it."),
    "value": Word("text|node", "A document, or a date for the aspects that take one."),
    "value_text": Word("text|node", "The value in words, where there is no document."),
    "qualifier": Word("text|node", "How sure it is; a lookup gives standing and role too."),
    "role": Word("text|node", "In which role: photographer, printer ..."),
    "part": Word("text|node", "Which part: which sitter, which component."),
    "standing": Word("text|node", "current, proposed, former or rejected."),
    "by": Word("text|node", "Who says so; without it, who speaks in the source."),
    "on": Word("text|node", "When; without it, the day of the source."),
    "basis": Word("text|node", "On what grounds."),
    "sources": Word("text|text[]", "Documents that it rests on."),
    "replaces": Word("text|node", "The claim that it replaces."),
    "alternative_to": Word("text|node", "The first claim of a set of which one holds."),
}

LAYOUT: Words = {
    "file": Word("layout_file", "Which file the row belongs to."),
    "each": Word("text", "A list: one row for each of its elements."),
    "when": Word("when", "What must hold for the row to be made."),
}

LAYOUT_COLUMNS = {
    "images": ("thing", "file", "service", "side", "capture"),
    "layout": ("thing", "on", "order", "side", "region", "capture"),
    "threads": ("thread", "order", "thing", "region", "language", "text"),
}
"""Columns by file; `file` of images.csv is written `path` in a mapping, where `file` is taken."""

LAYOUT_URIS = ("thing", "on", "thread")
LAYOUT_MUST = {"images": ("thing",), "layout": ("thing", "on"), "threads": ("thread", "thing")}

AS = ("date", "edtf", "year", "number", "size", "url")
DATE_KINDS = ("date", "life")
STANDINGS = ("current", "proposed", "former", "rejected")
DATE_ASPECTS = ("date", "date_printed", "date_mounted", "date_captioned")
"""Aspects whose value is a date, not a document (ledger, column `value`)."""
TEXT_ASPECTS = ("title", "inscription")
"""Aspects whose value is words: a `value` goes to `value_text`."""

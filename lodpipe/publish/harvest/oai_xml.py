"""The XML of OAI-PMH answers. Records are put in as they were made, byte by byte.

https://www.openarchives.org/OAI/2.0/OAI-PMH.xsd
"""

from collections.abc import Mapping, Sequence
from xml.sax.saxutils import escape, quoteattr

from lodpipe.publish.harvest import dublin_core
from lodpipe.publish.harvest.xml import EDM_NAMESPACES, NAMESPACES, clean

NAMESPACE = "http://www.openarchives.org/OAI/2.0/"
FORMATS = {
    # prefix -> schema, namespace
    "oai_dc": (dublin_core.SCHEMA, NAMESPACES["oai_dc"]),
    "edm": ("http://www.europeana.eu/schemas/edm/EDM.xsd", EDM_NAMESPACES["edm"]),
}
MOST_SHOWN = 60


def document(now: str, url: str, echo: Mapping[str, str], body: str) -> bytes:
    """Return a whole answer.

    Args:
        echo: the arguments of the request, repeated as attributes.
    """
    parts = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<OAI-PMH xmlns="{NAMESPACE}" xmlns:xsi="{NAMESPACES["xsi"]}"'
        f' xsi:schemaLocation="{NAMESPACE} {NAMESPACE}OAI-PMH.xsd">\n',
        element("responseDate", now),
        element("request", url, echo),
        body,
        "</OAI-PMH>\n",
    )
    return "".join(parts).encode()


def element(name: str, text: str, attributes: Mapping[str, str] = {}) -> str:
    """Return an element with a text."""
    marks = "".join(f" {key}={quoteattr(clean(value))}" for key, value in attributes.items())
    return f"<{name}{marks}>{escape(clean(text))}</{name}>\n"


def wrap(name: str, parts: Sequence[str]) -> str:
    """Return an element around elements."""
    return f"<{name}>\n{''.join(parts)}</{name}>\n"


def header(identifier: str, datestamp: str, sets: Sequence[str], *, deleted: bool) -> str:
    """Return the header of a record."""
    parts = [
        element("identifier", identifier),
        element("datestamp", datestamp),
        *(element("setSpec", spec) for spec in sets),
    ]
    mark = ' status="deleted"' if deleted else ""
    return f"<header{mark}>\n{''.join(parts)}</header>\n"


def metadata_format(prefix: str) -> str:
    """Return what is said of a format."""
    schema, namespace = FORMATS[prefix]
    parts = [
        element("metadataPrefix", prefix),
        element("schema", schema),
        element("metadataNamespace", namespace),
    ]
    return wrap("metadataFormat", parts)


def shown(text: str) -> str:
    """Return what somebody sent, short enough for a message."""
    return text if len(text) <= MOST_SHOWN else text[:MOST_SHOWN] + "..."

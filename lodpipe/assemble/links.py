"""Links from a document to its pictures and to its manifest, which the layout brings.

https://linked.art/model/digital/ for pictures and image services, and
https://linked.art/model/digital/#iiif for manifests.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from lodpipe.records import Tree

MANIFEST_FORMAT = 'application/ld+json;profile="http://iiif.io/api/presentation/3/context.json"'
PRESENTATION = "http://iiif.io/api/presentation"
IMAGE_API = "http://iiif.io/api/image"


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture of a thing: address of the file, and of its IIIF image service where it has one."""

    file: str
    service: str = ""


def link(tree: Tree, manifest: str, pictures: Sequence[Picture]) -> Tree:
    """Add to a document, in place, what it `representation` and `subject_of` the layout gives.

    Args:
        manifest: IRI of its manifest; empty when it has none.
        pictures: in their order; those that the document names already are passed over.
    """
    shown = tree.setdefault("representation", []) if pictures else []
    known = {
        point.get("id")
        for item in shown
        for file in item.get("digitally_shown_by", ())
        for point in file.get("access_point", ())
    }
    shown.extend(_shown(picture) for picture in pictures if picture.file not in known)
    if manifest:
        about = tree.setdefault("subject_of", [])
        about.append(
            {
                "type": "LinguisticObject",
                "_label": "IIIF manifest",
                "digitally_carried_by": [
                    {
                        "type": "DigitalObject",
                        "access_point": [{"id": manifest, "type": "DigitalObject"}],
                        "format": MANIFEST_FORMAT,
                        "conforms_to": [{"id": PRESENTATION, "type": "InformationObject"}],
                    }
                ],
            }
        )
    return tree


def _shown(picture: Picture) -> Tree:
    file: Tree = {
        "type": "DigitalObject",
        "format": "image/jpeg",
        "access_point": [{"id": picture.file, "type": "DigitalObject"}],
    }
    if picture.service:
        file["digitally_available_via"] = [
            {
                "type": "DigitalService",
                "access_point": [{"id": picture.service, "type": "DigitalObject"}],
                "conforms_to": [{"id": IMAGE_API, "type": "InformationObject"}],
            }
        ]
    return {"type": "VisualItem", "digitally_shown_by": [file]}

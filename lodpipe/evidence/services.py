"""Image services in other places, as their kept `info.json` describe them: sizes are never typed.

Kept copies lie in the folder `services` of the evidence, under any name; each says itself which
service it is of. `lodpipe services` fetches them, and so may anybody by hand.
https://iiif.io/api/image/3.0/#5-image-information, https://iiif.io/api/image/2.1/#image-information
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import orjson

from lodpipe.errors import ValueFault
from lodpipe.findings import Finding, Report
from lodpipe.records import Place

FOLDER = "services"
_CONTEXT = re.compile(r"https?://iiif\.io/api/image/([23])/context\.json")
_LEVEL = re.compile(r"(?:level|.*/level|.*#level)([012])(?:\.json)?")


class ServiceFault(ValueFault):
    """A description of an image service that cannot be used."""

    code = "image"


@dataclass(frozen=True, slots=True)
class Service:
    """One image service: its id, the size of its picture, version of the API, level of compliance."""

    uri: str
    width: int
    height: int
    version: int
    level: int


def read_service(body: bytes) -> Service:
    """Return what an `info.json` says of its service.

    Raises:
        ServiceFault: no JSON, no version that we know, no id, size or level.
    """
    try:
        told = orjson.loads(body)
    except orjson.JSONDecodeError as error:
        raise ServiceFault(
            "this is no JSON", hint="keep the answer as the service gave it"
        ) from error
    contexts = told.get("@context") if isinstance(told, dict) else None
    version = _first(_CONTEXT, contexts)
    if not isinstance(told, dict) or version is None:
        raise ServiceFault(
            "this describes no image service that we know",
            hint="versions 2 and 3 of the IIIF Image API are read",
        )
    uri, level = told.get("id") or told.get("@id"), _first(_LEVEL, told.get("profile"))
    width, height = told.get("width"), told.get("height")
    if not isinstance(uri, str) or level is None:
        raise ServiceFault("it says no id, or no level of compliance")
    if type(width) is not int or type(height) is not int or min(width, height) <= 0:
        raise ServiceFault(f"`{uri}` says no width and height in pixels")
    return Service(uri.rstrip("/"), width, height, version, level)


def read_services(folder: Path, name: str, report: Report) -> Mapping[str, Service]:
    """Return the services of which a description is kept, by id; report what cannot be used.

    Args:
        folder: of the evidence. `name`: what messages call it.
    """
    found: dict[str, Service] = {}
    for path in sorted((folder / FOLDER).glob("*.json")):
        try:
            service = read_service(path.read_bytes())
        except ServiceFault as fault:
            place = Place(f"{name}/{FOLDER}/{path.name}")
            report(Finding(fault.code, fault.message, place, hint=fault.hint))
            continue
        found[service.uri] = service
    return found


def _first(pattern: re.Pattern[str], value: Any) -> int | None:
    """Return the number that the first text of a value has, which may be one text or a list."""
    for text in value if isinstance(value, list) else [value]:
        if isinstance(text, str) and (match := pattern.fullmatch(text)):
            return int(match[1])
    return None

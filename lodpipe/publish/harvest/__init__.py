"""What harvesters get: EDM and Dublin Core of each object, OAI-PMH answers, change feeds.

`telling` reads from a document what may be told of a thing without claims to carry the doubt;
`edm` and `dublin_core` write it down, `tiers` measures it, `renditions` makes all of a release.
"""

from lodpipe.publish.harvest.renditions import (
    EDM,
    MANIFESTS,
    OAI_DC,
    formats_of,
    renditions,
    things,
)

__all__ = ["EDM", "MANIFESTS", "OAI_DC", "formats_of", "renditions", "things"]

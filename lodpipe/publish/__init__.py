"""What leaves the house, as bytes: Linked Art JSON-LD, N-Quads, IIIF manifests, pictures."""

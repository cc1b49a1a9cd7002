"""lodpipe: from a catalogue and its uncertain attributions to checked linked data."""

__version__ = "0.1.0"

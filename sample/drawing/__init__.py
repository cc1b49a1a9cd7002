"""What draws the pages of the demo album; run `python -m drawing` in `sample/`."""

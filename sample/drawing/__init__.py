"""What draws the pages of the demo album; run `python sample/draw.py`."""

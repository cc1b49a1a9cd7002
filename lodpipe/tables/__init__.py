"""Tables as people write them: CSV, TSV and XLSX, row by row, each row with its place.

Catalogues and evidence files are read by the same code, so that a fault in either is named in
the same way. Nothing here knows what a column means.
"""

from lodpipe.tables.delimited import csv_rows
from lodpipe.tables.sheets import sheet_rows

__all__ = ["csv_rows", "sheet_rows"]

"""A technician's record read back: what was ticked, confirmed, measured and timed on site.

Lives here: the published schema of the file, its reader, its columns. May not live here: pages, scripts,
figures computed anew.
"""

from procgen.records.read import read_record
from procgen.records.schema import Record, json_schema
from procgen.records.table import COLUMNS, rows

__all__ = ["COLUMNS", "Record", "json_schema", "read_record", "rows"]

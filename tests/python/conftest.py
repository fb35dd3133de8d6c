"""The program and the parts of the reference checks, for the module as well."""

import pathlib
import sys

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "reference"))

"""The survey file: read, checked, converted to millimetres, mm/m and °C."""

from certgen.survey.load import Reading, accept, read_bytes, read_survey

__all__ = ["Reading", "accept", "read_bytes", "read_survey"]

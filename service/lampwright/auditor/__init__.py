"""A second, separate pair of eyes: takes a finished sheet and nothing else, and believes none of it.

It reads the sheet's JSON, builds the circuit again with its own assembly of the same physics, compares
every printed current, voltage and watt with its own, and walks every part through the worst corner. It
imports formulas and tables and never the planner, so that one slip cannot pass both.
"""

from lampwright.auditor.report import AuditReport, Failure, UnreadableSheetError
from lampwright.auditor.walk import audit

__all__ = ["AuditReport", "Failure", "UnreadableSheetError", "audit"]

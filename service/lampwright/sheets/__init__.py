"""Joins planner and auditor: one audited sheet with checks, faults and readings."""

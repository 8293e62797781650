"""Frozen dataclasses the planner takes and gives: SI inside, stems of the glossary as names.

An *ask* is a question with its defaults filled in; an *answer* carries findings, working and source
keys beside its figures. The contract layer turns JSON into asks and answers into JSON by name alone.
"""

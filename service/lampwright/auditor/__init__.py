"""Rebuilds a finished sheet from itself alone and walks its worst corner; never sees the planner."""

"""Lampwright plans low-voltage LED builds and returns a build sheet with its reasons."""

__version__ = "0.1.0"

"""The public names and units: JSON to dataclasses and back; no HTTP."""

"""Facts with their sources, read once and checked when read."""

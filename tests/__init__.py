"""Tests; a package of its own name, because some installed packages leave a folder "tests" behind."""

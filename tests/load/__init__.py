"""Runs under load and under failure; see ``__main__`` for reliability and ``rates`` for speed."""

"""Where formulas and facts meet: plain dataclasses in, plain dataclasses out."""

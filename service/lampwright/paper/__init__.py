"""An audited sheet as printable HTML, text, CSV and netlist; computes no electricity."""

"""An audited sheet as SVG; computes no electricity."""

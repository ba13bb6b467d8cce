"""Dye tints on printed TPU: what a coat will look like and what to mix."""

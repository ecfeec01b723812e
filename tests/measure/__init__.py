"""Figures on labelled photos: ``python -m tests.measure DATA_FOLDER``."""

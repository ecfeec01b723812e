"""The command line ``value-add``; it reads arguments, calls the library and prints."""

from scorer.commands.main import main

__all__ = ["main"]

"""The command line: with studio and web the only room that knows of files and the terminal."""

from passagework.cli.main import entry, main

__all__ = ["entry", "main"]

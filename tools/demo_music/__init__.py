"""The demo pieces in a shorthand, and the writer that turns the shorthand into MusicXML."""

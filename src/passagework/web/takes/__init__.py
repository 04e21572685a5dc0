"""Takes: brought as files, recorded or played in on the page, listened to by the workers, reported and compared."""

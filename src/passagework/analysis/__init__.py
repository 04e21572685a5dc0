"""What the music is: keys, chords, tune and voices, form, marks and terms, tempo and loudness."""

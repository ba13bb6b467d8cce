"""The page of the swatch log: its rows, the form for one, files that go out and come in."""

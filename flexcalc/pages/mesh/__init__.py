"""The page of a maker's own mesh: its file, its line, the verdict, the mesh with its channel."""

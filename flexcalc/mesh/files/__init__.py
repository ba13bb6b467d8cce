"""Mesh files, STL and 3MF, read into a surface in metres."""

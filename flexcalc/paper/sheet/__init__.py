"""The build sheet: the first page of a figure, and what a stranger needs for each limb."""

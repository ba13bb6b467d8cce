"""The channel in the limb: its path, the cut body and the proof on it, pieces to print."""

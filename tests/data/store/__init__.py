"""The tests of `data.store`."""

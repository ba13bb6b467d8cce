"""The tests of `data`, in the order of its folders."""

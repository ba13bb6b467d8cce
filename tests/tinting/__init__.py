"""The tests of `tinting`, in the order of its folders."""

"""Drawings and texts: hands on pictures to scale and a limb's part of the build sheet."""

"""Mark fields that are refused for screen readers, and link words to fields."""

from data.page.marking.mark import mark_fields

__all__ = ["mark_fields"]

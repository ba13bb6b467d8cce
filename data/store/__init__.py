"""What a user keeps: folder, database, documents, entries with undo, rescue, and design files."""

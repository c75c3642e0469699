"""lipsync: from recorded dialogue to the mouth piece on every frame."""

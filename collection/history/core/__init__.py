"""The door to the core for a history: air, limits exceeded, looking back."""

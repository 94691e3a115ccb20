"""The door of this room to the core: facts as its arrays, its answers as rows."""

"""The storage history of one car, put together as plain values for page, paper and shared link.

A ``Scope`` says what its reader may see; what is out of scope never enters the story.
"""

from collection.history.build import tell
from collection.history.scope import EVERYTHING, Scope, scope_of
from collection.history.story import Story

__all__ = ["EVERYTHING", "Scope", "Story", "scope_of", "tell"]

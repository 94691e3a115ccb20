"""When a car last moved, ran, was driven and looked after: evidence and the intervals it allows."""

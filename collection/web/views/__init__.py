"""The answer when something broke."""

"""Steps of the database's form.

A step must run on a database that ``restore`` has just filled, in a schema of any name. One that makes a
guarded table anew on SQLite sets its guards again (``models/append_only.py``). None imports a room.
"""

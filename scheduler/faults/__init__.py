"""Fault trees as data: ten symptoms, their causes, and the tests that tell them apart."""

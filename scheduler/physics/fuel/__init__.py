"""Ageing, vapour, water, dosing, cold flow."""

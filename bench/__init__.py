"""Measurements. `make bench` prints them; nothing here is a test."""

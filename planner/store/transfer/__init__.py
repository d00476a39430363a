"""Profiles in and out of the folder: zips of plain files."""

"""Pages: one HTML file each that needs no network and prints on A4.

Only this room imports matplotlib, which is slow to load and not needed for the rest.
"""

"""Pages: one HTML file each that needs no network and prints on A4.

``template`` and ``templates/`` write the HTML, ``pictures`` draws what stands in it. Only this
room imports matplotlib, which is slow to load and not needed for the rest.
"""

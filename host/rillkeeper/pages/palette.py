"""The page's colours: few, far apart in lightness, so that they also tell in black and white."""

INK = "#1c2826"
FAINT = "#5f6d6a"
RULE = "#d5dbd8"
SHADE = "#f1f4f2"
PAPER = "#ffffff"

WATER = "#1f5f8b"
WATER_FILL = "#c5dbe9"
VOLTS = "#8a5a00"
CHARGE = "#47623a"
CHARGE_FILL = "#d9e3d1"
SOIL = "#6d4a33"
SOIL_FILL = "#eadfd5"

STOP = "#a12a1e"
WARNING = "#b8730a"
NOTE = "#5f6d6a"

# Depth of water from dry to wet: light to dark in even steps.
DEPTHS = ("#f7f6ee", "#d3e4e4", "#9cc4d2", "#6ba5c4", "#4582ad")

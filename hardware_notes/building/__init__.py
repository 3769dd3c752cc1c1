"""What the build guide is made of: terminals, wires, the card and the steps; `make notes`."""
